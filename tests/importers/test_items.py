"""Item texts and the rules that name their products."""

from __future__ import annotations

import pytest

from offcut.importers.items import UNKNOWN, Meaning, item_matcher
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import ItemRule

RULES = [
    ItemRule("Heron at Dusk sticker*", "HERON-STK", ""),
    ItemRule("heron*", "HERON-PRT", ""),
    ItemRule("Print [A4] ?x", "PRINT", ""),
    ItemRule("Straße*", "STREET", ""),
    ItemRule("Gift wrap", "", "Income:Extras"),
]
COMMODITIES = {"HERON-STK", "HERON-PRT", "PRINT", "STREET", "MOTH"}


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("Heron at Dusk sticker, 3 in", Meaning("HERON-STK")),
        ("HERON AT DUSK STICKER", Meaning("HERON-STK")),
        ("Heron at Dusk, print", Meaning("HERON-PRT")),
        ("A heron", UNKNOWN),
        ("Print [A4] 2x", Meaning("PRINT")),
        ("Print A 2x", UNKNOWN),
        ("STRASSE 7", Meaning("STREET")),
        ("gift wrap", Meaning(account="Income:Extras")),
        ("Gift wrapping", UNKNOWN),
        ("MOTH", Meaning("MOTH")),
        ("moth", UNKNOWN),
        ("", UNKNOWN),
    ],
)
def test_first_rule_over_the_whole_text_wins(text: str, meaning: Meaning) -> None:
    assert item_matcher(RULES, COMMODITIES)(text) == meaning


def test_all_rules_for_undeclared_products_are_named() -> None:
    with pytest.raises(ImportRefused) as caught:
        item_matcher(RULES, {"PRINT"})

    assert [str(each).split("'")[1] for each in caught.value.problems] == [
        "Heron at Dusk sticker*",
        "heron*",
        "Straße*",
    ]

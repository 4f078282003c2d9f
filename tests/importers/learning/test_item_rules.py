"""Rules are added behind what the user wrote, and only where they say what was meant."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.items import item_matcher
from offcut.importers.learning.answers import find_unknown, learn, likely_products
from offcut.importers.learning.item_rules import (
    check_added,
    item_rule,
    read_rule,
    rules_text,
    rules_to_add,
)
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import ItemRule, load_settings
from tests.importers.shop import LEDGER, SETTINGS, Shop, new_shop

COMMODITIES = {"HERON-STK", "MOTH-STK"}
UNKNOWN = 'W1,2025-03-03,"Owl sticker",2,4.00,0.00,0.00,0.00,USD'


def refusal(answer: str) -> str:
    with pytest.raises(ImportRefused) as caught:
        read_rule(answer, COMMODITIES)
    (problem,) = caught.value.problems
    return str(problem)


@pytest.mark.parametrize(
    ("answer", "rule"),
    [
        ("Heron*=HERON-STK", ItemRule("Heron*", "HERON-STK", "")),
        (" Heron  * = HERON-STK ", ItemRule("Heron *", "HERON-STK", "")),
        ("a=b=HERON-STK", ItemRule("a=b", "HERON-STK", "")),
        ("Wrap=Income:Extras:Web", ItemRule("Wrap", "", "Income:Extras:Web")),
        (
            "Set=HERON-STK, 2 MOTH-STK",
            ItemRule("Set", "", "", ((Decimal(1), "HERON-STK"), (Decimal(2), "MOTH-STK"))),
        ),
        ("Pair=2 MOTH-STK", ItemRule("Pair", "", "", ((Decimal(2), "MOTH-STK"),))),
    ],
)
def test_answers_become_rules(answer: str, rule: ItemRule) -> None:
    assert read_rule(answer, COMMODITIES) == rule


@pytest.mark.parametrize(
    ("answer", "message"),
    [
        ("Heron", "expected an item text, an equals sign and a product or an account"),
        ("=HERON-STK", "expected an item text"),
        ("Heron=", "expected an item text"),
        ("", "expected an item text"),
        (
            "Heron=HERON-STC",
            "expected a product of the ledger, found 'HERON-STC'; write HER",
        ),
        ("Heron=ZZZ", "found 'ZZZ'; write in the ledger: commodity ZZZ with stock: \"prod"),
        ("Heron=2 HERON STK", "expected a product such as HERON-STK, found '2 HERON STK'"),
        ("Heron=0 HERON-STK", "expected a product such as HERON-STK"),
        ("Heron=HERON-STK,", "expected a product such as HERON-STK"),
        ("Heron=income:extras", "expected an account such as Income:Shipping:Web, found"),
    ],
)
def test_other_answers_are_refused(answer: str, message: str) -> None:
    assert message in refusal(answer)


def test_a_rule_that_is_there_is_not_added_again() -> None:
    heron = item_rule("Heron*", "HERON-STK", COMMODITIES)
    moth = item_rule("Moth*", "MOTH-STK", COMMODITIES)

    assert rules_to_add(
        [heron, moth, moth], [item_rule("HERON*", "HERON-STK", COMMODITIES)]
    ) == (moth,)


def test_a_text_has_one_meaning() -> None:
    with pytest.raises(ImportRefused) as caught:
        rules_to_add(
            [item_rule("heron*", "MOTH-STK", COMMODITIES)],
            [item_rule("Heron*", "HERON-STK", COMMODITIES)],
        )
    assert str(caught.value) == (
        "--rule: expected HERON-STK, as another rule for 'Heron*' says, found 'MOTH-STK'; "
        "correct the rules in offcut.toml, nothing was imported"
    )


BEFORE = [
    "",
    "\n\n",
    SETTINGS,
    SETTINGS.rstrip("\n"),
    SETTINGS.replace("\n", "\r\n"),
    "\ufeff" + SETTINGS,
    '# mine\n[[items]]\ntext = "a" # why\nproduct = "HERON-STK"\n[packing]\nWeb = "letter"',
    '[packing]\nWeb = """\n[[items]]\n"""\n',
    "[other]\nitems = []\n# no end of line",
]


@pytest.mark.parametrize("before", BEFORE)
def test_what_the_user_wrote_stays_byte_by_byte(tmp_path: Path, before: str) -> None:
    shop = new_shop(tmp_path / "shop")
    path = shop.folder / "offcut.toml"
    path.write_bytes(before.encode())
    learned = learn(shop.ledger, ["Owl *=HERON-STK", "Set=HERON-STK, 2 MOTH-STK"])

    assert len(learned.rules) == 2
    after = path.read_bytes()
    assert after.startswith(before.encode())
    old = tomllib.loads(before.removeprefix("\ufeff"))
    new = tomllib.loads(after.decode("utf-8-sig"))
    assert new.pop("items") == [
        *old.pop("items", []),
        {"text": "Owl *", "product": "HERON-STK"},
        {"text": "Set", "products": ["1 HERON-STK", "2 MOTH-STK"]},
    ]
    assert new == old
    if b"\r\n" in before.encode():
        assert after.count(b"\n") == after.count(b"\r\n")
    assert load_settings(shop.ledger).items[-2:] == learned.rules


def test_settings_are_made_where_there_are_none(shop: Shop) -> None:
    (shop.folder / "offcut.toml").unlink()
    learn(shop.ledger, ["Owl=HERON-STK"])

    assert load_settings(shop.ledger).items == (ItemRule("Owl", "HERON-STK", ""),)


@pytest.mark.parametrize(
    "before", ["items = []\n", 'items = [{text="a", product="HERON-STK"}]']
)
def test_items_as_a_list_are_refused(shop: Shop, before: str) -> None:
    path = shop.folder / "offcut.toml"
    path.write_text(before, "utf-8")
    with pytest.raises(ImportRefused) as caught:
        learn(shop.ledger, ["Owl=HERON-STK"])

    assert path.read_text("utf-8") == before
    assert str(caught.value) == (
        "offcut.toml: rules cannot be added, as items is written as a list, items = [...]; "
        "write each of its rules as a table that begins with [[items]], nothing was "
        "imported"
    )


def test_mistakes_in_the_settings_come_first(shop: Shop) -> None:
    path = shop.folder / "offcut.toml"
    path.write_text("[[items]\n", "utf-8")
    with pytest.raises(ImportRefused, match=r"offcut\.toml: expected TOML"):
        learn(shop.ledger, ["Owl=HERON-STK"])
    assert path.read_text("utf-8") == "[[items]\n"


def test_a_wrong_answer_among_others_changes_nothing(shop: Shop) -> None:
    before = shop.contents()
    with pytest.raises(ImportRefused):
        learn(shop.ledger, ["Owl=HERON-STK", "Wren=NONE"])
    assert shop.contents() == before


@given(st.lists(st.text(min_size=1), min_size=1, max_size=3, unique_by=str.casefold))
def test_any_text_is_inert_in_the_settings(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str]
) -> None:
    """TOML reads back what was written, and the rule fits the text."""
    rules = [ItemRule(text, "HERON-STK", "") for text in texts]
    path = tmp_path_factory.mktemp("toml") / "offcut.toml"
    path.write_text(SETTINGS, "utf-8")
    check_added(path, rules)
    read = tomllib.loads(rules_text(rules))["items"]

    assert read == [{"text": text, "product": "HERON-STK"} for text in texts]
    match = item_matcher(rules, COMMODITIES)
    assert all(match(text).product == "HERON-STK" for text in texts)


def test_learning_books_what_waited(shop: Shop) -> None:
    shop.run(shop.orders(UNKNOWN))
    learned = learn(shop.ledger, ["Owl*=HERON-STK"])

    assert (learned.parked_lines, learned.unknown, learned.notes) == (1, [], ())
    assert shop.balances()["Income:Sales:Web"] == Decimal("-8.00")
    assert learned.written[0].path.name == "offcut.toml"


def test_learning_again_changes_no_byte(shop: Shop) -> None:
    shop.run(shop.orders(UNKNOWN))
    learn(shop.ledger, ["Owl*=HERON-STK"])
    before = shop.contents()
    learned = learn(shop.ledger, ["Owl*=HERON-STK"])

    assert (learned.rules, learned.parked_lines, learned.written) == ((), 0, ())
    assert shop.contents() == before


def test_a_dry_run_writes_nothing(shop: Shop) -> None:
    shop.run(shop.orders(UNKNOWN))
    before = shop.contents()
    learned = learn(shop.ledger, ["Owl*=HERON-STK"], dry_run=True)

    assert (len(learned.rules), learned.parked_lines) == (1, 1)
    assert shop.contents() == before


def test_a_rule_that_fits_nothing_is_said(shop: Shop) -> None:
    shop.run(shop.orders(UNKNOWN))
    learned = learn(shop.ledger, ["Owls*=HERON-STK"])

    assert learned.notes == ("the rule for 'Owls*' fits no line that is parked",)
    assert [each.text for each in learned.unknown] == ["Owl sticker"]


def test_likely_products_are_those_with_like_names(tmp_path: Path) -> None:
    ledger = LEDGER.replace(
        "MOTH-STK\n", 'MOTH-STK\n  name: "Night moth, 3 in sticker"\n'
    ).replace("HERON-STK\n", 'HERON-STK\n  name: "Heron at Dusk, 3 in sticker"\n', 1)
    ledger += '2025-01-01 commodity VINYL\n  stock: "material"\n  name: "Heron sticker"\n'
    shop = new_shop(tmp_path / "shop", ledger=ledger, settings="")
    shop.run(shop.orders(UNKNOWN.replace("Owl", "At dusk: heron 3 in")))
    unknown = find_unknown(shop.ledger)

    assert set(unknown.products) == {"HERON-STK", "MOTH-STK"}
    likely = likely_products(unknown.texts[0].text, unknown.products)
    assert likely[0].currency == "HERON-STK"
    assert likely_products("zzz", unknown.products) == []


def test_no_rule_is_written_for_a_line_whose_amount_cannot_be_filled_in(
    shop: Shop,
) -> None:
    shop.run(shop.orders(UNKNOWN))
    path = shop.folder / "imports" / "shop-orders-2025-03.beancount"
    text = path.read_text("utf-8").replace("-8.00 USD", "").replace("8.00 USD", "")
    path.write_text(text, "utf-8")
    before = shop.contents()

    with pytest.raises(ImportRefused) as caught:
        learn(shop.ledger, ["Owl*=HERON-STK"])

    (problem,) = caught.value.problems
    assert problem.line("nothing was written") == (
        "the ledger: expected the amount of the line 'Owl sticker' of "
        "'2025-03-03 * \"Web order W1\" ^order-W1', which is left blank there and cannot "
        "be filled in; write it into the ledger, then answer again, nothing was written"
    )
    assert shop.contents() == before
    assert len(learn(shop.ledger, ["Wren*=HERON-STK"]).rules) == 1

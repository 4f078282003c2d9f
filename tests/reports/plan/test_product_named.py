"""The product that a word means."""

from __future__ import annotations

from typing import Any

import pytest

from offcut.plugins.catalogue import Item, read_catalogue
from offcut.reports.plan.product_named import product_named

LEDGER = """
2025-01-01 commodity HERON-STK
  stock: "product"
  name: "Heron sticker"
2025-01-01 commodity HERON-PRT
  stock: "product"
  name: "Heron print"
2025-01-01 commodity MOTH
  stock: "product"
  name: "Twin"
2025-01-01 commodity FERN
  stock: "product"
  name: "Twin"
2025-01-01 commodity VINYL
  stock: "material"
"""


@pytest.fixture
def catalogue(load: Any) -> dict[str, Item]:
    return read_catalogue(load(LEDGER).entries)


@pytest.mark.parametrize(
    "word", ["HERON-STK", "heron-stk", "Heron sticker", "HERON STICKER"]
)
def test_code_or_name_in_any_case(catalogue: dict[str, Item], word: str) -> None:
    assert product_named(word, catalogue).currency == "HERON-STK"


@pytest.mark.parametrize(
    ("word", "words"),
    [
        ("HERON-STC", "has no product HERON-STC; did you mean HERON-STK\\?"),
        ("heron stiker", "did you mean HERON-STK\\?"),
        ("QQQ", "has no product QQQ; there is: FERN, HERON-PRT, HERON-STK, MOTH"),
        ("twin", "names several products: write FERN or MOTH"),
        ("VINYL", "VINYL is a material, and no product"),
        ("", "has no product"),
    ],
)
def test_unknown_and_doubtful(catalogue: dict[str, Item], word: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        product_named(word, catalogue)


def test_empty_catalogue_says_how_to_declare() -> None:
    with pytest.raises(
        ValueError, match='declare it: commodity NAME with stock: "product"'
    ):
        product_named("HERON", {})

"""The catalogue: what commodity directives say of stock, and what is wrong in them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from beancount.core.amount import Amount
from hypothesis import given
from hypothesis import strategies as st

from offcut.plugins.catalogue import account_component, read_catalogue
from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints

D = Decimal


def test_an_item_has_all_that_its_directive_says(sound_ledger: Loaded) -> None:
    """
    plugin "offcut.plugins.catalogue"
    2025-01-06 commodity HERON-STK
      name: "Heron, 3 in sticker"
      stock: "product"
      design: "Heron"
      format: "sticker-3in"
      list-price: 4.00 USD
      normal-spoilage: 0.05
    """
    item = read_catalogue(sound_ledger.entries)["HERON-STK"]
    assert item.currency == "HERON-STK"
    assert (item.kind, item.name, item.design) == (
        "product",
        "Heron, 3 in sticker",
        "Heron",
    )
    assert item.format == "sticker-3in"
    assert item.list_price == Amount(D("4.00"), "USD")
    assert item.normal_spoilage == D("0.05")
    assert item.entry.currency == "HERON-STK"


def test_only_the_kind_is_needed(sound_ledger: Loaded) -> None:
    """
    plugin "offcut.plugins.catalogue"
    2025-01-06 commodity HERON-STK
      stock: "product"
    """
    item = read_catalogue(sound_ledger.entries)["HERON-STK"]
    assert (item.name, item.design, item.format) == ("HERON-STK", "HERON-STK", "")
    assert item.list_price is None
    assert item.normal_spoilage == 0


def test_a_product_without_a_design_is_a_design_by_its_name(sound_ledger: Loaded) -> None:
    """
    plugin "offcut.plugins.catalogue"
    2025-01-06 commodity HERON-STK
      name: "Heron"
      stock: "product"
    """
    assert read_catalogue(sound_ledger.entries)["HERON-STK"].design == "Heron"


def test_a_commodity_without_the_key_is_not_stock(sound_ledger: Loaded) -> None:
    """
    plugin "offcut.plugins.catalogue"
    2025-01-06 commodity USD
      name: "United States dollar"
    2025-01-06 commodity VINYL
      stock: "material"
    2025-01-06 commodity STAMP
      stock: "stamp"
    """
    kinds = {name: item.kind for name, item in read_catalogue(sound_ledger.entries).items()}
    assert kinds == {"VINYL": "material", "STAMP": "stamp"}


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ('stock: "produkt"', "did you mean product?"),
        ('stock: "Product"', "did you mean product?"),
        ("stock: 5", "stock is Decimal('5')"),
        ('stock: ""', 'write stock: "product", "material" or "stamp"'),
        ('stock: "product"\n  name: 5', "name must be a text in quotes, not 5"),
        ('stock: "product"\n  design: TRUE', "design must be a text in quotes, not True"),
        ('stock: "product"\n  format: 3 USD', "format must be a text in quotes, not 3 USD"),
        ('stock: "product"\n  list-price: 4.00', "list-price must be an amount of money"),
        (
            'stock: "product"\n  list-price: "4.00 USD"',
            "list-price must be an amount of money",
        ),
        (
            'stock: "product"\n  list-price: -4.00 USD',
            "list-price must be an amount of money",
        ),
        (
            'stock: "product"\n  normal-spoilage: 5',
            "normal-spoilage must be a number from 0 to 1",
        ),
        (
            'stock: "product"\n  normal-spoilage: -0.1',
            "normal-spoilage must be a number from 0",
        ),
        (
            'stock: "product"\n  normal-spoilage: "5%"',
            "normal-spoilage must be a number from 0",
        ),
    ],
)
def test_a_key_that_is_wrong_is_an_error_on_the_commodity(
    written: str, expected: str
) -> None:
    loaded = load_text(
        'plugin "offcut.plugins"\n\n2025-01-06 commodity HERON\n  ' + written + "\n"
    )
    ((line, message),) = complaints(loaded)
    assert line == 3
    assert message.startswith("HERON: ")
    assert expected in message


def test_what_is_wrong_in_an_item_takes_its_default(ledger: Loaded) -> None:
    """
    plugin "offcut.plugins"
    2025-01-06 commodity HERON
      stock: "product"
      name: 5
      list-price: "four"
      normal-spoilage: 7
    """
    assert len(complaints(ledger)) == 3
    item = read_catalogue(ledger.entries)["HERON"]
    assert (item.name, item.list_price, item.normal_spoilage) == ("HERON", None, D(0))


@pytest.mark.parametrize("rate", ["0", "1", "0.333"])
def test_a_rate_of_spoilage_runs_from_none_to_one_for_each_good_piece(rate: str) -> None:
    loaded = load_text(
        'plugin "offcut.plugins"\n2025-01-06 commodity HERON\n  stock: "product"\n'
        f"  normal-spoilage: {rate}\n"
    )
    assert complaints(loaded) == []
    assert read_catalogue(loaded.entries)["HERON"].normal_spoilage == D(rate)


def test_the_catalogue_takes_no_configuration() -> None:
    ((_, message),) = complaints(load_text('plugin "offcut.plugins.catalogue" "x"\n'))
    assert "takes no configuration" in message


@given(
    st.from_regex(
        r"([A-Z][A-Z0-9'._-]{0,8}[A-Z0-9])|(/[0-9'._-]{0,3}[A-Z]([A-Z0-9'._-]{0,4}[A-Z0-9])?)",
        fullmatch=True,
    )
)
def test_any_commodity_becomes_a_component_that_beancount_can_read(commodity: str) -> None:
    component = account_component(commodity)
    account = f"Assets:Stock:{component}"
    assert complaints(load_text(f"2025-01-01 open {account}\n")) == []

"""Lower of cost and net realisable value, item by item."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints, on_hand, total, value_on_hand

D = Decimal


def shop(lots: str, then: str, method: str = "FIFO") -> Loaded:
    """Load lots of PRINT, a purchase to each, and what comes after them."""
    bought = "".join(
        f'2025-01-{day:02} * "Bought"\n  Assets:Box  {lot}\n  Assets:Bank\n'
        for day, lot in enumerate(lots.split("; "), start=2)
    )
    return load_text(
        f'plugin "offcut.plugins"\nplugin "beancount.plugins.auto_accounts"\n'
        f'option "booking_method" "{method}"\n'
        f'2025-01-01 commodity PRINT\n  stock: "product"\n{bought}{then}'
    )


def worth(value: str, date: str = "2025-12-31") -> str:
    """Return a valuation."""
    return f'{date} custom "net-realisable-value" "PRINT" {value} USD\n'


# Lumen Learning, Financial Accounting (SUNY Clinton), "Lower of Cost or Net Realizable
# Value Applied", Geyer Co.: quantity, cost, net realisable value, value item by item.
GEYER = [
    ("A101", 30, "99.00", "102", "2970"),
    ("CAB500", 500, "58.00", "50", "25000"),
    ("CAB600", 15, "99.00", "50", "750"),
    ("MMM333", 64, "1255.50", "2625", "80352"),
    ("REL5", 100, "110.00", "50", "5000"),
    ("RFS212", 150, "650.00", "400", "60000"),
    ("XPS101", 160, "102.375", "80", "12800"),
]


def test_a_textbooks_stock_is_worth_its_figures_item_by_item() -> None:
    text = 'plugin "offcut.plugins"\nplugin "beancount.plugins.auto_accounts"\n'
    for item, units, cost, value, _ in GEYER:
        text += (
            f'2025-01-01 commodity {item}\n  stock: "product"\n'
            f'2025-01-02 * "Bought"\n  Assets:Box  {units} {item} {{{cost} USD}}\n'
            f"  Assets:Bank\n"
            f'2025-12-31 custom "net-realisable-value" "{item}" {value} USD\n'
        )
    loaded = load_text(text)
    assert complaints(loaded) == []
    for item, *_, worth_now in GEYER:
        assert value_on_hand(loaded, item) == D(worth_now)
    assert sum(value_on_hand(loaded, item) for item, *_ in GEYER) == D(186872)
    assert total(loaded, "Expenses:Writedown") == D(238687) - D(186872)


def test_a_value_above_cost_changes_nothing() -> None:
    loaded = shop("10 PRINT {2 USD}", worth("3"))
    assert on_hand(loaded, "PRINT") == [(D(10), D(2))]
    assert total(loaded, "Expenses:Writedown") == 0


def test_each_lot_is_carried_at_the_lower_of_its_own_cost_and_the_value() -> None:
    loaded = shop("10 PRINT {1 USD}; 10 PRINT {3 USD}", worth("2"))
    assert on_hand(loaded, "PRINT") == [(D(10), D(1)), (D(10), D(2))]
    assert total(loaded, "Expenses:Writedown:PRINT") == D(10)


def test_a_value_that_rose_again_brings_a_lot_back_to_its_cost_at_the_most() -> None:
    loaded = shop("10 PRINT {3 USD}", worth("1", "2025-06-30") + worth("9"))
    assert on_hand(loaded, "PRINT") == [(D(10), D(3))]
    assert total(loaded, "Expenses:Writedown") == 0


def test_a_value_that_rose_a_little_brings_a_lot_back_to_it() -> None:
    loaded = shop("10 PRINT {3 USD}", worth("1", "2025-06-30") + worth("2"))
    assert on_hand(loaded, "PRINT") == [(D(10), D(2))]
    assert total(loaded, "Expenses:Writedown") == D(10)


def test_an_average_that_was_written_down_comes_back_to_its_cost() -> None:
    # 10 at 3.00 carried at 1.00, then 10 more at 3.00: all of it cost 3.00.
    more = '2025-07-01 * "Bought"\n  Assets:Box  10 PRINT {3 USD}\n  Assets:Bank\n'
    loaded = shop(
        "10 PRINT {3 USD}", worth("1", "2025-06-30") + more + worth("9"), method="AVERAGE"
    )
    assert value_on_hand(loaded, "PRINT") == D(60)


def test_what_is_sold_after_a_write_down_costs_what_it_was_carried_at() -> None:
    sale = (
        '2026-01-05 * "Sale"\n  Assets:Till  8 USD\n  Income:Sales:Web  -8 USD\n'
        '    item: "PRINT"\n    quantity: 4\n'
    )
    loaded = shop("10 PRINT {3 USD}", worth("1") + sale)
    assert total(loaded, "Expenses:COGS") == D(4)


def test_a_value_is_of_the_close_of_its_day() -> None:
    sale = (
        '2025-12-31 * "Sale"\n  Assets:Till  8 USD\n  Income:Sales:Web  -8 USD\n'
        '    item: "PRINT"\n    quantity: 4\n'
    )
    loaded = shop("10 PRINT {3 USD}", worth("1") + sale)
    assert total(loaded, "Expenses:COGS") == D(12)
    assert total(loaded, "Expenses:Writedown") == D(12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('"PRINTT" 1 USD', "did you mean PRINT?"),
        ('"PRINT" 1 EUR', "PRINT costs USD"),
        ('"PRINT" -1 USD', "Write it as"),
        ('"PRINT"', "Write it as"),
        ("1 USD", "Write it as"),
    ],
)
def test_a_valuation_that_is_wrong_is_an_error_on_its_line(
    text: str, expected: str
) -> None:
    loaded = shop("10 PRINT {3 USD}", f'2025-12-31 custom "net-realisable-value" {text}\n')
    ((line, message),) = complaints(loaded)
    assert line == 9
    assert expected in message
    assert value_on_hand(loaded, "PRINT") == D(30)


def test_two_values_of_a_day_that_differ_are_an_error() -> None:
    loaded = shop("10 PRINT {3 USD}", worth("1") + worth("2"))
    assert len(complaints(loaded)) == 1

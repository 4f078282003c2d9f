"""The forms of the shelf's directives."""

from __future__ import annotations

from decimal import Decimal

import pytest
from beancount import loader
from beancount.core import data

from offcut.plugins.stock_directives import (
    Bill,
    Count,
    Malformed,
    Packing,
    Quantity,
    Record,
    Run,
    StockOut,
    read_directive,
)
from tests.conftest import load_text
from tests.plugins.books import complaints, costs

D = Decimal


def read(text: str) -> Record | None:
    """Return the record of one directive."""
    entries, errors, _ = loader.load_string(f"2025-02-03 custom {text}\n")
    assert errors == []
    (entry,) = entries
    assert isinstance(entry, data.Custom)
    return read_directive(entry)


def test_a_bill_says_its_pieces_and_what_goes_in() -> None:
    bill = read('"bill-of-materials" 6 HERON 1 VINYL 5.4 INK-ML')
    assert isinstance(bill, Bill)
    assert bill.output == Quantity(D(6), "HERON")
    assert bill.inputs == (Quantity(D(1), "VINYL"), Quantity(D("5.4"), "INK-ML"))


def test_a_run_says_all_its_quantities_in_order() -> None:
    run = read('"print-run" 58 HERON 10 VINYL\n  spoiled: 2')
    assert isinstance(run, Run)
    assert run.quantities == (Quantity(D(58), "HERON"), Quantity(D(10), "VINYL"))
    assert run.spoiled == {None: D(2)}


def test_a_run_may_say_which_product_was_spoiled() -> None:
    run = read('"print-run" 58 HERON 10 MOTH\n  spoiled: 2 MOTH')
    assert isinstance(run, Run)
    assert run.spoiled == {"MOTH": D(2)}


def test_a_run_without_spoiled_pieces_has_none() -> None:
    run = read('"print-run" 58 HERON')
    assert isinstance(run, Run)
    assert run.spoiled == {}


def test_a_packing_list_has_a_name_and_parts() -> None:
    packing = read('"packing" "letter" 1 MAILER 2 STAMP')
    assert isinstance(packing, Packing)
    assert packing.name == "letter"
    assert packing.inputs == (Quantity(D(1), "MAILER"), Quantity(D(2), "STAMP"))


def test_a_count_may_be_zero() -> None:
    count = read('"stock-count" 0 HERON')
    assert isinstance(count, Count)
    assert count.counted == Quantity(D(0), "HERON")


def test_a_stock_out_says_units_and_account() -> None:
    out = read('"stock-out" 3 HERON Expenses:Gifts')
    assert isinstance(out, StockOut)
    assert (out.taken, out.account) == (Quantity(D(3), "HERON"), "Expenses:Gifts")


def test_a_directive_of_someone_else_is_left_alone() -> None:
    assert read('"budget" Expenses:Gifts "monthly" 40.00 USD') is None


def test_a_written_sum_is_worked_out() -> None:
    count = read('"stock-count" (12 * 4 + 3) HERON')
    assert isinstance(count, Count)
    assert count.counted.units == D(51)


WRONG = [
    '"bill-of-materials" 6 HERON',
    '"bill-of-materials" "HERON" 1 VINYL',
    '"bill-of-materials" 6 HERON 0 VINYL',
    '"bill-of-materials" 6 HERON -1 VINYL',
    '"bill-of-materials" 6 HERON 1 VINYL TRUE',
    '"print-run" 58',
    '"print-run" 0 HERON',
    '"print-run" 58 HERON Expenses:Gifts',
    '"print-run" 58 HERON\n  spoiled: -1',
    '"print-run" 58 HERON\n  spoiled: "2"',
    '"print-run" 58 HERON\n  spoiled: 2025-01-01',
    '"packing" "letter"',
    '"packing" 1 MAILER',
    '"packing" Expenses:Gifts 1 MAILER',
    '"packing" "letter" 0 MAILER',
    '"packing" "letter" "box" 1 MAILER',
    '"stock-count" 5',
    '"stock-count" "HERON" 5',
    '"stock-count" -1 HERON',
    '"stock-count" 4 HERON 5 MOTH',
    '"stock-out" 3 HERON',
    '"stock-out" 3 HERON "Expenses:Gifts"',
    '"stock-out" Expenses:Gifts 3 HERON',
    '"stock-out" 0 HERON Expenses:Gifts',
    '"stock-out" 3 HERON Expenses:Gifts Expenses:More',
]


@pytest.mark.parametrize("text", WRONG)
def test_a_directive_without_its_form_is_refused(text: str) -> None:
    with pytest.raises(Malformed):
        read(text)


@pytest.mark.parametrize("text", WRONG)
def test_a_refused_directive_is_one_error_on_its_line_that_says_the_form(text: str) -> None:
    loaded = load_text(
        'plugin "offcut.plugins"\n'
        "2025-01-01 open Expenses:Gifts\n2025-01-01 open Expenses:More\n"
        f"2025-02-03 custom {text}\n"
    )
    ((line, message),) = complaints(loaded)
    assert line == 4
    assert "rite" in message or "below zero" in message


@pytest.mark.parametrize(
    "kind", ["bill-of-materials", "print-run", "packing", "stock-count", "stock-out"]
)
def test_a_directive_that_says_nothing_is_an_error_and_the_rest_is_costed(
    kind: str,
) -> None:
    """beancount itself stumbles over it later, in its handling of pads."""
    loaded = load_text(
        f"""\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity HERON
          stock: "product"
        2025-01-02 * "Bought"
          Assets:Stock:HERON  9 HERON {{1.00 USD}}
          Assets:Bank
        2025-02-03 custom "{kind}"
        2025-02-04 * "Sale"
          Assets:Bank         8.00 USD
          Income:Sales:Web   -8.00 USD
            item: "HERON"
            quantity: 2
        """
    )
    ours = [(line, message) for line, message in complaints(loaded) if line]
    ((line, message),) = ours
    assert line == 8
    assert "Write it as" in message
    assert costs(loaded) == {"Sale": D(2)}

"""The inventory roll on a terminal: whole numbers at any width, and true sentences."""

from __future__ import annotations

import io
from decimal import Decimal

import pytest
from rich.console import Console

from offcut.reports.drawing.terminal import print_statements
from offcut.reports.inventory_roll import InventoryRoll, Moved, Roll
from offcut.reports.inventory_statement import roll_statement
from offcut.reports.period import Period

D = Decimal
HERONS = Roll(
    bought=Moved(D("1234567"), D("1234567.25")),
    closing=Moved(D("1234567"), D("1234567.25")),
)
NO_STOCK = InventoryRoll({}, Roll(), D(0), D(0), D(0), "EUR")
HERONS_ONLY = InventoryRoll({"HERON-STK": HERONS}, HERONS, D(0), D(0), D(0), "USD")


def printed(roll: InventoryRoll, width: int) -> str:
    output = io.StringIO()
    statement = roll_statement(roll, Period(), [])
    print_statements(Console(file=output, width=width), [statement])
    return output.getvalue()


@pytest.mark.parametrize("width", [20, 40, 60, 80, 200])
def test_no_number_and_no_name_is_cut_short(width: int) -> None:
    text = printed(HERONS_ONLY, width)
    (units, costs) = [line for line in text.splitlines() if line.startswith("HERON")]
    name, opening, bought, *_, closing = units.split()
    assert (name, opening, bought, closing) == ("HERON-STK", "0", "1,234,567", "1,234,567")
    assert costs.split()[2] == costs.split()[-1] == "1,234,567.25"
    assert "…" not in text
    assert max(map(len, text.splitlines())) <= max(width, 70)


def test_stock_that_costs_another_currency_is_not_denied() -> None:
    text = printed(NO_STOCK, 80)
    assert "Nothing at cost in EUR was in stock on these days." in text


def test_empty_ledger_has_no_currency() -> None:
    text = printed(NO_STOCK._replace(currency=""), 80)
    assert text.startswith("Inventory roll, all dates\n")
    assert text.rstrip().endswith("Nothing at cost was in stock on these days.")

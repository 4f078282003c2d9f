"""Print the inventory roll on a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from pathlib import Path

from rich import box
from rich.console import Console
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

from offcut.plugins.stock_events import Shortage
from offcut.reports.figures import money, pieces, plain
from offcut.reports.inventory_roll import InventoryRoll, Moved, Roll
from offcut.reports.period import Period
from offcut.reports.splitting import ZERO

ENDLESS = 10_000
STATEMENT = {
    "opening": "Opening inventory",
    "bought": "Bought",
    "freight": "Freight, duty and set-up",
    "made": "Made in print runs",
    "used": "Used in print runs",
    "corrected": "Corrected by counts",
    "sold": "Cost of goods sold",
    "packed": "Packing and postage",
    "written_down": "Written down",
    "other": "Taken out otherwise",
    "closing": "Closing inventory",
}
# Movements that stand in one column of the table of items.
COLUMNS = {
    "Opening": ("opening",),
    "In": ("bought", "freight", "made"),
    "Used": ("used", "packed"),
    "Sold": ("sold",),
    "Other": ("corrected", "written_down", "other"),
    "Closing": ("closing",),
}


def print_roll(console: Console, roll: InventoryRoll, period: Period) -> None:
    """Print the roll of all items as a statement, and of each item in two tables.

    Args:
      console: Where to print.
      roll: The roll.
      period: Its days.
    """
    currency = plain(roll.currency)
    at_cost = f"at cost in {currency}" if currency else "at cost"
    console.print(Text(f"Inventory roll, {period.label}, {at_cost}", style="bold"))
    console.print()
    if not roll.items:
        console.print(Text(f"Nothing {at_cost} was in stock on these days."))
        return
    units = _items(roll, lambda moved: moved.units, pieces)
    costs = _items(roll, lambda moved: moved.value, lambda v: money(v, roll.currency))
    # Rather wider than the terminal than with a number cut short.
    endless = console.options.update(width=ENDLESS)
    widths = [Measurement.get(console, endless, table).minimum for table in (units, costs)]
    console.width = max(console.width, *widths)
    console.print(_statement(roll))
    console.print()
    console.print(Text("By item, in units"))
    console.print(units)
    console.print()
    console.print(Text(f"By item, at cost in {currency}"))
    console.print(costs)
    console.print()
    console.print(Text(tie_sentence(roll), style="" if roll.ties else "bold red"))


def print_shortages(console: Console, errors: Iterable[object]) -> None:
    """Print what left before it was recorded, from a ledger's errors.

    Args:
      console: Where to print.
      errors: The errors of loading the ledger.
    """
    shortages = [error for error in errors if isinstance(error, Shortage)]
    if not shortages:
        return
    table = _framed("Item", "Went out", "Short", "Without cost", "At")
    for each in sorted(
        shortages, key=lambda shortage: (shortage.item, shortage.entry.date)
    ):
        place = f"{Path(each.source['filename']).name}:{each.source['lineno']}"
        figures = (
            str(each.entry.date),
            pieces(each.short),
            pieces(each.open),
            plain(place),
        )
        table.add_row(Text(plain(each.item)), *map(Text, figures))
    console.print()
    console.print(Text("Went out before it was recorded as made or bought"))
    console.print(table)


def _framed(first: str, *headings: str) -> Table:
    """Return an empty table with a rule below its headings; figures stand to the right."""
    table = Table(
        box=box.HORIZONTALS, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0)
    )
    table.add_column(first, no_wrap=True, overflow="ellipsis")
    for heading in headings:
        table.add_column(heading, justify="right", no_wrap=True)
    return table


def tie_sentence(roll: InventoryRoll) -> str:
    """Return whether the roll closes and agrees with the accounts, in words."""
    accounts = f"{money(roll.cost_of_goods, roll.currency)} {roll.currency}"
    if not roll.ties:
        return (
            "THIS ROLL DOES NOT CLOSE: its movements do not lead from opening to closing, "
            f"or the goods sold are not those of the cost-of-goods accounts, {accounts}. "
            "This is a fault in offcut: do not rely on these figures, and please report it."
        )
    by_hand = ""
    if roll.by_hand:
        amount = money(roll.by_hand, roll.currency)
        by_hand = f" (of which {amount} posted by hand, without stock)"
    return (
        "The movements lead from opening to closing for every item, and the goods sold are "
        f"those of the cost-of-goods accounts, {accounts}{by_hand}."
    )


def _statement(roll: InventoryRoll) -> Table:
    """Return the lines of all items together that say something."""
    table = Table.grid(padding=(0, 0, 0, 2))
    table.add_column()
    table.add_column(justify="right", no_wrap=True)
    for name, heading in STATEMENT.items():
        value = getattr(roll.total, name).value
        if value or name in ("opening", "closing"):
            style = "bold" if name == "closing" else ""
            table.add_row(Text(heading), Text(money(value, roll.currency)), style=style)
    return table


def _items(
    roll: InventoryRoll, part: Callable[[Moved], Decimal], shown: Callable[[Decimal], str]
) -> Table:
    """Return a line for each item, by kind of movement."""
    table = _framed("Item", *COLUMNS)
    for item, one in sorted(roll.items.items()):
        figures = (shown(_sum(one, names, part)) for names in COLUMNS.values())
        table.add_row(Text(plain(item)), *map(Text, figures))
    return table


def _sum(roll: Roll, names: tuple[str, ...], part: Callable[[Moved], Decimal]) -> Decimal:
    return sum((part(getattr(roll, name)) for name in names), ZERO)

"""State the inventory roll: of all items together, and of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from pathlib import Path

from offcut.importers.splitting import ZERO
from offcut.plugins.stock_events import Shortage
from offcut.reports.books import Books
from offcut.reports.figures import money
from offcut.reports.inventory_roll import InventoryRoll, Moved, Roll, inventory_roll
from offcut.reports.period import Period
from offcut.reports.statement import Check, Line, Statement, Table
from offcut.reports.statement_cells import Column, Kind

TITLE = "Inventory roll"
# The movements that each column has; on a narrow terminal one stands for several.
COLUMNS: tuple[tuple[str, tuple[str, ...], Column], ...] = (
    ("Opening inventory", ("opening",), Column("Opening")),
    ("", ("bought", "freight", "made"), Column("In", shown="narrow")),
    ("Bought", ("bought",), Column("Bought", shown="wide")),
    ("Freight, duty and set-up", ("freight",), Column("Freight", shown="wide")),
    ("Made in print runs", ("made",), Column("Made", shown="wide")),
    ("", ("used", "packed"), Column("Used", shown="narrow")),
    ("Used in print runs", ("used",), Column("Used", shown="wide")),
    ("Packing and postage", ("packed",), Column("Packed", shown="wide")),
    ("Cost of goods sold", ("sold",), Column("Sold")),
    ("", ("corrected", "written_down", "other"), Column("Other", shown="narrow")),
    ("Corrected by counts", ("corrected",), Column("Counts", shown="wide")),
    ("Written down", ("written_down",), Column("Written down", shown="wide")),
    ("Taken out otherwise", ("other",), Column("Taken out", shown="wide")),
    ("Closing inventory", ("closing",), Column("Closing")),
)


def inventory_statement(books: Books, period: Period, currency: str) -> Statement:
    """Return the statement of the inventory roll of a period.

    Args:
      books: The books.
      period: Its days.
      currency: The currency to take; stock that cost another is left out.
    """
    roll = inventory_roll(
        *(books.entries, books.options, period, currency),
        *(books.stock_moves, books.stock_days),
    )
    return roll_statement(roll, period, books.errors)


def roll_statement(
    roll: InventoryRoll, period: Period, errors: Iterable[object]
) -> Statement:
    """Return the statement of a roll.

    Args:
      roll: The roll.
      period: Its days.
      errors: The errors of loading the ledger: what left before it was recorded is among
        them.
    """
    at_cost = f" at cost in {roll.currency}" if roll.currency else " at cost"
    whole = Table(
        title=TITLE,
        columns=(Column("At cost", "text"), Column("Amount")),
        lines=tuple(_whole(roll)) if roll.items else (),
        slug="inventory-roll",
        currency=roll.currency,
        empty=f"Nothing{at_cost} was in stock on these days.",
    )
    tables = [whole]
    if roll.items:
        tables += [
            _by_item(roll, "By item, in units", "units", lambda moved: moved.units),
            _by_item(roll, "By item, at cost", "money", lambda moved: moved.value),
        ]
    shortages = _shortages(errors)
    return Statement(
        title=TITLE,
        period=period.label,
        tables=(*tables, *shortages),
        checks=(Check(tie_sentence(roll), roll.ties),) if roll.items else (),
    )


def _whole(roll: InventoryRoll) -> Iterator[Line]:
    """Yield the lines of all items together that say something."""
    for label, movements, _ in COLUMNS:
        if not label:
            continue
        value = _sum(roll.total, movements, lambda moved: moved.value)
        if value or movements[0] in ("opening", "closing"):
            is_closing = movements[0] == "closing"
            yield Line((label, value), "total" if is_closing else "line")


def _by_item(
    roll: InventoryRoll, title: str, kind: Kind, part: Callable[[Moved], Decimal]
) -> Table:
    """Return the table of all items, in units or at cost."""
    items = sorted(roll.items.items())
    lines = [
        Line((item, *(_sum(one, movements, part) for _, movements, _ in COLUMNS)))
        for item, one in items
    ]
    if kind == "money":
        # Units of different things do not add up to anything.
        cells = (_sum(roll.total, movements, part) for _, movements, _ in COLUMNS)
        lines.append(Line(("All items", *cells), "total", sums=tuple(range(len(items)))))
    return Table(
        title=title,
        columns=(
            Column("Item", "text"),
            *(
                column._replace(kind=kind, adds_up=kind == "money")
                for _, _, column in COLUMNS
            ),
        ),
        lines=tuple(lines),
        slug=f"inventory-in-{'units' if kind == 'units' else 'money'}",
        currency=roll.currency if kind == "money" else "",
    )


def _shortages(errors: Iterable[object]) -> tuple[Table, ...]:
    """Return the table of what left before it was recorded, if anything did."""
    found = [error for error in errors if isinstance(error, Shortage)]
    if not found:
        return ()
    found.sort(key=lambda shortage: (shortage.item, shortage.entry.date))
    return (
        Table(
            title="Went out before it was recorded as made or bought",
            columns=(
                Column("Item", "text"),
                Column("Went out", "date"),
                Column("Short", "units"),
                Column("Without cost", "units"),
                Column("At", "text"),
            ),
            lines=tuple(
                Line((each.item, each.entry.date, each.short, each.open, _place(each)))
                for each in found
            ),
            slug="went-out-early",
        ),
    )


def _place(shortage: Shortage) -> str:
    """Return where the ledger says what left."""
    return f"{Path(shortage.source['filename']).name}:{shortage.source['lineno']}"


def tie_sentence(roll: InventoryRoll) -> str:
    """Return whether the roll closes and agrees with the accounts, in words.

    Args:
      roll: The roll.
    """
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


def _sum(roll: Roll, names: tuple[str, ...], part: Callable[[Moved], Decimal]) -> Decimal:
    return sum((part(getattr(roll, name)) for name in names), ZERO)

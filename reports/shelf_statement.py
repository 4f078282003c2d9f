"""State what is on the shelf: each item, each lot, what lasts too long, and the value."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import KINDS, Kind
from offcut.reports.books import Books
from offcut.reports.figures import money, pieces, plain
from offcut.reports.findings import shelf_findings
from offcut.reports.net_income import Tie
from offcut.reports.period import Period, long_date
from offcut.reports.shelf.balances import stock_balances
from offcut.reports.shelf.lots_table import ITEM, VALUE, lots_table
from offcut.reports.shelf.on_hand import (
    DEAD_DAYS,
    SLOW_WEEKS,
    ShelfLine,
    ShelfReport,
    ShelfTotal,
    shelf_report,
)
from offcut.reports.statement import Check, Headline, Line, Note, Statement, Table
from offcut.reports.statement_cells import Cell, Column

TITLE = "On the shelf"
NAMES: dict[Kind | None, str] = {
    "product": "Products",
    "material": "Materials",
    "stamp": "Stamps",
    None: "All",
}
# What is said of a shelf in a word.
OVERDRAWN, OUT, DEAD, SLOW = "below zero", "out", "dead", "slow"
TENTH = Decimal("0.1")


class _Told(NamedTuple):
    """A column of the shelf, and the products' own ones among them.

    Attributes:
      column: The column.
      of_products: Whether it says something of products only.
    """

    column: Column
    of_products: bool = False


SHELF = (
    _Told(Column("On hand", "units")),
    _Told(Column("Unit cost", "price")),
    _Told(VALUE),
    _Told(Column("Oldest, days", "units", "wide")),
    _Told(Column("Sold", "units", "wide"), of_products=True),
    _Told(Column("Used", "units", "wide")),
    _Told(Column("Sell-through", "share"), of_products=True),
    _Told(Column("Weeks left", "number")),
    _Told(Column("Last went", "date", "wide")),
    _Told(Column("Mark", "text")),
)


def shelf_statement(
    books: Books,
    period: Period,
    currency: str,
    slow_weeks: Decimal = SLOW_WEEKS,
    dead_days: int = DEAD_DAYS,
) -> Statement:
    """Return the statement of what is on the shelf at the end of a period.

    Args:
      books: The books.
      period: The days that rates are of.
      currency: The currency of the cost; stock that cost another is left out.
      slow_weeks: More weeks of cover than these are marked as slow.
      dead_days: What has not left for this many days is marked as dead.
    """
    report = shelf_report(
        *(books.entries, books.options, period),
        *(slow_weeks, dead_days, books.stock_moves),
    )
    lines = [line for line in report.lines if line.currency == currency]
    totals = {total.kind: total for total in report.totals if total.currency == currency}
    last = report.period.last
    return Statement(
        title=TITLE,
        period=f"at the close of {long_date(last)}" if last else report.period.label,
        tables=tuple(_tables(books, lines, totals, currency)),
        headlines=_headlines(totals),
        checks=_checks(books, lines, last, currency) if lines else (),
        notes=tuple(_notes(report, lines, currency)),
        findings=tuple(shelf_findings(lines, last, currency)),
    )


def _tables(
    books: Books,
    lines: Sequence[ShelfLine],
    totals: dict[Kind | None, ShelfTotal],
    currency: str,
) -> Iterator[Table]:
    """Yield the tables of the maker's own shelf, of what is in shops, and of lots."""
    if not lines:
        at_cost = f" at cost in {currency}" if currency else ""
        empty = f"Nothing{at_cost} is in stock, or was on these days."
        yield Table(TITLE, (Column("Item", "text"),), (), "shelf", currency, empty)
        return
    for kind in KINDS:
        own = [line for line in lines if line.kind == kind and not line.place]
        if own:
            name = NAMES[kind]
            yield _shelf(own, name, f"shelf-{name.lower()}", currency, kind == "product")
    consigned = [line for line in lines if line.place]
    if consigned:
        title = "On consignment in shops"
        yield _shelf(consigned, title, "shelf-consigned", currency, True, place=True)
    yield _by_kind(totals, currency)
    if any(line.lots for line in lines):
        yield lots_table(books, lines, currency)


def _shelf(
    lines: Sequence[ShelfLine],
    title: str,
    slug: str,
    currency: str,
    products: bool,
    place: bool = False,
) -> Table:
    """Return the table of one kind of item, or of what is in shops."""
    told = [products or not each.of_products for each in SHELF]
    columns = [each.column for each, wanted in zip(SHELF, told, strict=True) if wanted]
    rows = []
    for line in lines:
        shown = [cell for cell, wanted in zip(_cells(line), told, strict=True) if wanted]
        named = (line.name, line.item, *([line.place] if place else []))
        rows.append(Line((*named, *shown), code=line.item))
    value = sum((line.value for line in lines), ZERO)
    blank: list[Cell] = [value if column is VALUE else None for column in columns]
    cells = ("Total", "Total", *([None] if place else []), *blank)
    rows.append(Line(cells, "total", sums=tuple(range(len(lines)))))
    shop = [Column("Shop", "text")] if place else []
    return Table(title, (*ITEM, *shop, *columns), tuple(rows), slug, currency)


def _cells(line: ShelfLine) -> tuple[Cell, ...]:
    """Return the cells of a line in the order of SHELF."""
    oldest = max((lot.age for lot in line.lots), default=None)
    cover = line.weeks_of_cover
    return (
        line.units,
        line.average_cost,
        line.value,
        None if oldest is None or line.averages else Decimal(oldest),
        line.turned.sold,
        line.turned.used,
        line.sell_through,
        cover.quantize(TENTH, ROUND_HALF_UP, context=EXACT) if cover else None,
        line.last_left,
        _mark(line),
    )


def _mark(line: ShelfLine) -> str:
    """Return what is to be said of a shelf in a word."""
    if line.units < ZERO:
        return OVERDRAWN
    if not line.units:
        return OUT
    return DEAD if line.dead else SLOW if line.slow else ""


def _by_kind(totals: dict[Kind | None, ShelfTotal], currency: str) -> Table:
    """Return the table of what each kind is carried at, and how fast it turns."""
    kinds = [kind for kind in (*KINDS, None) if kind in totals]
    lines: list[Line] = []
    for kind in kinds:
        turned = totals[kind].turned
        # Materials and stamps are used, not sold: their cost is in that of products.
        days = turned.days_in_inventory if kind == "product" else None
        cells = (
            *(NAMES[kind], turned.opening, turned.closing, turned.cost_of_goods),
            turned.turnover if kind == "product" else None,
            None if days is None else days.to_integral_value(ROUND_HALF_UP),
        )
        if kind is None:
            lines.append(Line(cells, "total", sums=tuple(range(len(lines)))))
        else:
            lines.append(Line(cells))
    return Table(
        title="Value and turnover by kind",
        columns=(
            Column("Stock", "text"),
            Column("Opening", adds_up=True),
            Column("Closing", adds_up=True),
            Column("Cost of goods", adds_up=True),
            Column("Turnover", "number"),
            Column("Days in stock", "units"),
        ),
        lines=tuple(lines),
        slug="shelf-by-kind",
        currency=currency,
    )


def _headlines(totals: dict[Kind | None, ShelfTotal]) -> tuple[Headline, ...]:
    """Return what each kind is carried at."""
    return tuple(
        Headline(f"{NAMES[kind]}, at cost", totals[kind].value)
        for kind in (*KINDS, None)
        if kind in totals
    )


def _checks(
    books: Books, lines: Sequence[ShelfLine], last: datetime.date | None, currency: str
) -> tuple[Check, ...]:
    """Return the value on the shelf held against the accounts."""
    balances = stock_balances(books.stock_days, last)
    value = sum((line.value for line in lines), ZERO)
    tie = Tie(value, balances.get(currency, ZERO), currency)
    accounts = f"{money(tie.ledger, currency)} {currency}"
    if tie.holds:
        return (
            Check(
                f"The value on the shelf, {accounts}, is the balance of the stock accounts "
                "on that day.",
                True,
            ),
        )
    return (
        Check(
            f"THIS REPORT DOES NOT ADD UP: the value on the shelf is "
            f"{money(value, currency)} {currency}, the balance of the stock accounts "
            f"{accounts}. This is a fault in offcut: do not rely on these figures, and "
            "please report it.",
            False,
        ),
    )


def _notes(
    report: ShelfReport, lines: Sequence[ShelfLine], currency: str
) -> Iterator[Note]:
    """Yield how to read the statement."""
    if lines:
        days = report.period.label
        yield Note(
            f"Sold, used and weeks left are of {days}. Sell-through is what was sold as a "
            "share of what there was to sell: the opening stock and all that came in. "
            "Weeks left is how long the stock lasts if it goes on leaving as it did."
        )
        yield Note(
            f"Marks: slow lasts more than {pieces(report.slow_weeks)} weeks; of what is "
            f"dead, none was sold, used or given away for {report.dead_days:,} days; of "
            "what is out, none is left."
        )
        yield Note(
            "Turnover is the cost of the products sold over the average of their opening "
            "and closing stock; days in stock are the days of the period over that."
        )
    if any(line.averages and line.lots for line in lines):
        yield Note(
            "Items at a moving average are one lot, dated the day when the average was "
            "last struck; it has no age."
        )
    others: dict[str, Decimal] = {}
    for line in report.lines:
        if line.currency != currency:
            others[line.currency] = others.get(line.currency, ZERO) + line.value
    for other, value in sorted(others.items()):
        code = plain(other)
        yield Note(
            f"Besides, there is stock carried at {money(value, other)} {code}, which is "
            f"not in these figures; --currency {code} reports on it."
        )

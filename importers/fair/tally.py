"""Read a tally sheet: what was sold over the table of a fair, and for how much."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers import values
from offcut.importers.columns import read_column, read_dates, read_money
from offcut.importers.layout import Layout
from offcut.importers.money import price_reader
from offcut.importers.order_rows import PIECES_BELOW
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.records import OrderLine
from offcut.importers.rows import leave_out
from offcut.importers.source_file import SourceFile, read_source
from offcut.importers.values import ZERO

_NO_RETURNS = (
    "a piece that came back is no row of a tally: take it off the row that sold it, or "
    "book the refund in the ledger"
)


class Tally(NamedTuple):
    """What was sold at a fair on one day.

    Attributes:
      layout: The layout of the sheet.
      file: The file's name.
      day: The day.
      currency: The currency of all amounts.
      lines: What was sold; rows of one text and price are one line.
      rows: How many rows the sheet has of that day.
      other_rows: How many it has besides, of other days or left out by the layout.
    """

    layout: Layout
    file: str
    day: datetime.date
    currency: str
    lines: tuple[OrderLine, ...]
    rows: int
    other_rows: int

    @property
    def pieces(self) -> Decimal:
        """How many pieces were sold."""
        return sum([line.quantity for line in self.lines], ZERO)

    @property
    def total(self) -> Decimal:
        """What they were sold for, after reductions."""
        return sum([line.amount - line.discount for line in self.lines], ZERO)


def read_tally(
    name: str,
    contents: bytes,
    layout: Layout,
    day: datetime.date | None,
    currency: str,
) -> Tally:
    """Return the tally of a day.

    Args:
      name: The file's name.
      contents: Its bytes.
      layout: Its layout.
      day: The day; None where the sheet's own column says it.
      currency: The currency of a sheet that does not say it.

    Raises:
      ImportRefused: The sheet is not what the layout says, or has no such day.
    """
    source, left_out = leave_out(read_source(name, contents, layout))
    problems: list[Problem] = []
    dates = read_dates(source, problems) if "date" in layout.columns else []
    currencies = _currencies(source, currency, problems)
    if problems:
        raise ImportRefused(problems)
    day = _day(name, day, dates)
    if dates:
        others = {at for at, date in enumerate(dates) if date != day}
        source = source.without(others)
        currencies = [each for at, each in enumerate(currencies) if at not in others]
    else:
        others = set()
    if not source.numbers:
        message = "expected rows of what was sold, found none; fill in the sheet"
        if others:
            message = f"expected rows of {day}, found {_days(dates)}; correct --date"
        raise ImportRefused([Problem(name, None, None, message)])
    if len(set(currencies)) > 1:
        row, found = next(
            (number, each)
            for number, each in zip(source.numbers, currencies, strict=True)
            if each != currencies[0]
        )
        message = (
            f"expected {currencies[0]} as in the rows before, found {found}; write a sheet "
            "for each currency"
        )
        raise ImportRefused([Problem(name, row, source.header("currency"), message)])
    lines = _summed(_lines(source, currencies[0]))
    tally = Tally(
        layout,
        name,
        day,
        currencies[0],
        lines,
        len(source.numbers),
        len(others) + len(left_out),
    )
    if not tally.total:
        message = (
            "expected a total above zero, found 0; fill in the prices, or record what was "
            "given away as a stock-out in the ledger"
        )
        raise ImportRefused([Problem(name, None, None, message)])
    return tally


def _currencies(
    source: SourceFile, currency: str, problems: list[Problem]
) -> Sequence[str]:
    """Return the currency of each row."""
    if "currency" not in source.layout.columns:
        return [currency] * len(source.numbers)
    read = values.currency_reader(source.layout.currencies)
    return read_column(source, "currency", read, problems)


def _day(
    name: str, day: datetime.date | None, dates: Sequence[datetime.date]
) -> datetime.date:
    """Return the day that is meant.

    Raises:
      ImportRefused: Neither the user nor the sheet says which.
    """
    if day:
        return day
    if len(set(dates)) == 1:
        return dates[0]
    found = f"rows of {_days(dates)}" if dates else "none"
    message = f"expected the day of the fair, found {found}; give it by --date 2026-06-14"
    raise ImportRefused([Problem(name, None, None, message)])


def _days(dates: Iterable[datetime.date]) -> str:
    several = sorted(set(dates))
    shown = ", ".join(map(str, several[:3]))
    return f"{shown} and {len(several) - 3} days more" if len(several) > 3 else shown


def _lines(source: SourceFile, currency: str) -> list[OrderLine]:
    """Return the line of each row.

    Raises:
      ImportRefused: With a problem for each cell that is wrong.
    """
    problems: list[Problem] = []
    number = values.number_reader(source.layout.locale)
    price = price_reader(source.layout.locale)
    only = [currency] * len(source.numbers)
    items = read_column(source, "item", _item, problems)
    quantities = read_column(source, "quantity", _checked(number, _quantity), problems)
    totals = "amount" in source.layout.columns
    amounts = (
        read_money(source, "amount", only, problems, needed=True)
        if totals
        else read_column(source, "unit-price", lambda cell: price(cell, currency), problems)
    )
    discounts = read_money(source, "discount", only, problems)
    if problems:
        raise ImportRefused(problems)
    lines = []
    sign = source.layout.discount_sign
    for row, item, quantity, amount, discount in zip(
        source.numbers, items, quantities, amounts, discounts, strict=True
    ):
        exact = amount if totals else quantity * amount
        line = OrderLine(
            item, quantity, values.rounded(exact, currency), exact, sign * discount
        )
        if amount < 0:
            key = "amount" if totals else "unit-price"
            message = f"expected zero or more, found {amount}; {_NO_RETURNS}"
            problems.append(Problem(source.name, row, source.header(key), message))
        elif not 0 <= line.discount <= line.amount:
            message = (
                f"expected a reduction from 0 to {line.amount}, which the row comes to, "
                f"found {line.discount}; correct the row, or the layout's [forms] discount "
                "where it has the wrong sign"
            )
            problems.append(Problem(source.name, row, source.header("discount"), message))
        lines.append(line)
    if problems:
        raise ImportRefused(problems)
    return lines


def _item(cell: str) -> str:
    text = values.one_line(cell)
    if not text:
        raise ValueError(
            f"expected a text that says what was sold, found {quoted(cell)}; correct the "
            "row"
        )
    return text


def _checked(
    read: values.ReadNumber, check: Callable[[Decimal, str], Decimal]
) -> Callable[[str], Decimal]:
    return lambda cell: check(read(cell), cell)


def _quantity(quantity: Decimal, cell: str) -> Decimal:
    if quantity <= 0:
        raise ValueError(
            f"expected a number of pieces above zero, found {quoted(cell)}; {_NO_RETURNS}"
        )
    if quantity >= PIECES_BELOW:
        raise ValueError(
            f"expected a number of pieces below {PIECES_BELOW:,}, found {quoted(cell)}; "
            "correct the row"
        )
    return quantity.quantize(Decimal(1)) if quantity == int(quantity) else quantity


def _summed(lines: Iterable[OrderLine]) -> tuple[OrderLine, ...]:
    """Return lines with those of one text and price added up, in their order."""
    groups: dict[tuple[str, Decimal], OrderLine] = {}
    for line in lines:
        key = line.item, line.exact / line.quantity
        if key in groups:
            one = groups[key]
            sums = [a + b for a, b in zip(one[1:], line[1:], strict=True)]
            line = OrderLine(line.item, *sums)
        groups[key] = line
    return tuple(groups.values())

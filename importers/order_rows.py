"""Read the columns of a file of order lines, each different cell once."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers import values
from offcut.importers.columns import read_column, read_currencies, read_dates, read_money
from offcut.importers.discount_rates import read_discount_rates
from offcut.importers.problems import Problem, quoted
from offcut.importers.records import OrderLine, order_key
from offcut.importers.source_file import SourceFile

# Times the largest number that is read, this is within the digits of a Decimal.
PIECES_BELOW = 1_000_000
_CORRECT = "correct the row, or leave such rows out by the layout's [[leave-out]]"


class OrderRows(NamedTuple):
    """What the rows of a file have, by column; None for a column that it has not."""

    dates: Sequence[datetime.date]
    currencies: Sequence[str]
    numbers: Sequence[tuple[str, str]]
    lines: Sequence[OrderLine]
    shippings: Sequence[Decimal]
    taxes: Sequence[Decimal]
    reductions: Sequence[Decimal] | None
    coupons: Sequence[str] | None
    buyers: Sequence[str] | None


def read_rows(source: SourceFile, problems: list[Problem]) -> OrderRows:
    """Return what the rows have, which counts without problems."""
    columns = source.layout.columns
    dates = read_dates(source, problems)
    currencies = read_currencies(source, problems)
    numbers = read_numbers(source, problems)
    lines = _read_lines(source, currencies, problems)
    shippings: Sequence[Decimal] = ()
    taxes: Sequence[Decimal] = ()
    reductions = coupons = buyers = None
    if currencies:
        shippings = read_money(source, "shipping", currencies, problems)
        taxes = read_money(source, "tax", currencies, problems)
        if "order-discount" in columns:
            reductions = read_money(source, "order-discount", currencies, problems)
    if "coupon" in columns:
        coupons = read_column(source, "coupon", values.one_line, problems)
    if "buyer" in columns:
        buyers = read_column(source, "buyer", values.one_line, problems)
    return OrderRows(
        dates, currencies, numbers, lines, shippings, taxes, reductions, coupons, buyers
    )


def read_numbers(source: SourceFile, problems: list[Problem]) -> list[tuple[str, str]]:
    """Return each row's order number as the file has it, and its key."""
    prefix = source.layout.prefix

    def read(cell: str) -> tuple[str, str]:
        number = values.one_line(cell)
        key = order_key(number, prefix)
        if not key:
            raise ValueError(f"expected an order number, found {quoted(cell)}; {_CORRECT}")
        return number, key

    return read_column(source, "order", read, problems)


def _read_lines(
    source: SourceFile, currencies: Sequence[str], problems: list[Problem]
) -> list[OrderLine]:
    """Return each row's line; lines that are the same are one object."""
    number = values.number_reader(source.layout.locale)
    items = read_column(source, "item", _item, problems)
    quantities = read_column(
        source, "quantity", lambda cell: _quantity(cell, number), problems
    )
    if not currencies:
        return []
    discounts = read_money(source, "discount", currencies, problems)
    totals = "amount" in source.layout.columns
    amounts = (
        read_money(source, "amount", currencies, problems, needed=True)
        if totals
        else read_money(source, "unit-price", currencies, problems, needed=True, exact=True)
    )
    rates = read_discount_rates(source, problems)
    if problems:
        return []
    sign = source.layout.discount_sign
    known: dict[tuple[object, ...], OrderLine] = {}
    surcharges: set[tuple[object, ...]] = set()
    lines = []
    # Not strict: rates that are not there have no end.
    for cells in zip(items, quantities, amounts, discounts, currencies, rates):  # noqa: B905
        line = known.get(cells)
        if line is None:
            item, quantity, amount, discount, currency, rate = cells
            exact = amount if totals else quantity * amount
            rounded = values.rounded(exact, currency)
            off = sign * discount
            if off < 0 < quantity and rounded >= 0:
                surcharges.add(cells)
            if rate:
                off += values.rounded(rounded * rate / 100, currency)
            line = known[cells] = OrderLine(item, quantity, rounded, exact, off)
        lines.append(line)
    if surcharges:
        rows = zip(source.numbers, items, quantities, amounts, discounts, currencies, rates)  # noqa: B905
        for row, *cells_of_row in rows:
            if tuple(cells_of_row) in surcharges:
                problems.append(surcharge(source, row, "discount", cells_of_row[3]))
    return lines


def surcharge(source: SourceFile, row: int, key: str, found: object) -> Problem:
    """Return the problem of a reduction that has the sign of a surcharge."""
    written, other = "positive", "negative"
    if source.layout.discount_sign < 0:
        written, other = other, written
    message = (
        f"expected a {written} amount, which is what was taken off, found {found}; write "
        f'[forms] discount = "{other}" in the layout where the file writes reductions so, '
        "or correct the row"
    )
    return Problem(source.name, row, source.header(key), message)


def _item(cell: str) -> str:
    text = values.one_line(cell)
    if not text:
        raise ValueError(
            f"expected a text that says what was sold, found {quoted(cell)}; {_CORRECT}"
        )
    return text


def _quantity(cell: str, number: values.ReadNumber) -> Decimal:
    quantity = number(cell)
    if not quantity:
        raise ValueError(
            f"expected a number of pieces other than 0, found {quoted(cell)}; {_CORRECT}"
        )
    if abs(quantity) >= PIECES_BELOW:
        raise ValueError(
            f"expected a number of pieces below {PIECES_BELOW:,}, found {quoted(cell)}; "
            f"{_CORRECT}"
        )
    return quantity.quantize(1) if quantity == quantity.to_integral_value() else quantity

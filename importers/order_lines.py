"""Read the orders in a file of order lines."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from offcut.importers import values
from offcut.importers.columns import read_column, read_currencies, read_dates, read_money
from offcut.importers.discount_rates import read_discount_rates
from offcut.importers.order_statuses import without_other_statuses
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.records import Order, OrderLine, order_key
from offcut.importers.rows import LeftOut, leave_out, without_repeated
from offcut.importers.source_file import SourceFile
from offcut.importers.totals import Total, order_totals

# Times the largest number that is read, this is within the digits of a Decimal.
PIECES_BELOW = 1_000_000
_CORRECT = "correct the row, or leave such rows out by the layout's [[leave-out]]"


class OrderFile(NamedTuple):
    """What was read of a file of order lines.

    Attributes:
      orders: Its orders, in the order of their first rows.
      left_out: The rows that are in none of them.
      totals: The sums of all lines, whatever their order.
    """

    orders: list[Order]
    left_out: list[LeftOut]
    totals: tuple[Total, ...]


def read_orders(source: SourceFile) -> OrderFile:
    """Return the orders of a file.

    Raises:
      ImportRefused: Rows are not what the layout says.
    """
    layout = source.layout
    source, left_out = leave_out(source)
    source, repeated = without_repeated(source)
    left_out += repeated
    if "status" in layout.columns:
        source, listed_again = without_other_statuses(source)
        left_out += listed_again

    problems: list[Problem] = []
    dates = read_dates(source, problems)
    currencies = read_currencies(source, problems)
    numbers = _read_numbers(source, problems)
    lines = _read_lines(source, currencies, problems)
    if problems:
        raise ImportRefused(problems)
    shippings = read_money(source, "shipping", currencies, problems)
    taxes = read_money(source, "tax", currencies, problems)
    reductions = coupons = buyers = None
    if "order-discount" in layout.columns:
        reductions = read_money(source, "order-discount", currencies, problems)
    if "coupon" in layout.columns:
        coupons = read_column(source, "coupon", values.one_line, problems)
    if "buyer" in layout.columns:
        buyers = read_column(source, "buyer", values.one_line, problems)
    if problems:
        raise ImportRefused(problems)

    positions: dict[str, list[int]] = {}
    for at, (_, key) in enumerate(numbers):
        if key in positions:
            positions[key].append(at)
        else:
            positions[key] = [at]
    problems.extend(_disagreeing(source, "currency", currencies, positions))
    if layout.repeated:
        problems.extend(_disagreeing(source, "shipping", shippings, positions))
        problems.extend(_disagreeing(source, "tax", taxes, positions))
        if reductions:
            problems.extend(_disagreeing(source, "order-discount", reductions, positions))
    if buyers:
        problems.extend(_disagreeing(source, "buyer", buyers, positions, blank=""))
    if problems:
        raise ImportRefused(problems)

    orders = []
    for key, at_rows in positions.items():
        first = at_rows[0]
        day, shipping, tax = dates[first], shippings[first], taxes[first]
        if len(at_rows) > 1:
            day = min([dates[at] for at in at_rows])
            if not layout.repeated:
                shipping = sum([shippings[at] for at in at_rows], values.ZERO)
                tax = sum([taxes[at] for at in at_rows], values.ZERO)
        more: tuple[Any, ...] = ()
        if reductions or coupons or buyers:
            of_rows = reductions[first] if reductions else values.ZERO
            if reductions and not layout.repeated:
                of_rows = sum([reductions[at] for at in at_rows], values.ZERO)
            off = layout.discount_sign * of_rows
            if off < 0 and all(lines[at].quantity > 0 for at in at_rows):
                row = source.numbers[first]
                problems.append(_surcharge(source, row, "order-discount", of_rows))
            more = (
                off,
                _joined(coupons, at_rows, ", "),
                _joined(buyers, at_rows, ""),
            )
        orders.append(
            Order(
                layout,
                source.name,
                source.numbers[first],
                day,
                numbers[first][0],
                key,
                currencies[first],
                shipping,
                tax,
                tuple([lines[at] for at in at_rows]),
                *more,
            )
        )
    if problems:
        raise ImportRefused(problems)
    if len(set(currencies)) == 1:
        counts = {currencies[0]: Counter(lines)}
    else:
        counts = defaultdict(Counter)
        for line, currency in zip(lines, currencies, strict=True):
            counts[currency][line] += 1
    return OrderFile(orders, left_out, order_totals(orders, counts))


def _joined(column: Sequence[str] | None, at_rows: Sequence[int], mark: str) -> str:
    """Return the different texts that an order's rows have in a column."""
    texts = dict.fromkeys(column[at] for at in at_rows) if column else ()
    return mark.join(filter(None, texts))


def _read_numbers(source: SourceFile, problems: list[Problem]) -> list[tuple[str, str]]:
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
                problems.append(_surcharge(source, row, "discount", cells_of_row[3]))
    return lines


def _surcharge(source: SourceFile, row: int, key: str, found: object) -> Problem:
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


def _disagreeing(
    source: SourceFile,
    key: str,
    column: Sequence[object],
    positions: Mapping[str, Sequence[int]],
    blank: object = None,
) -> Iterator[Problem]:
    """Yield the rows whose cell is not that of their order's first row.

    Args:
      source: The file.
      key: The layout's name for the column.
      column: Its values.
      positions: The rows of each order.
      blank: A value that agrees with every other.
    """
    if key not in source.layout.columns:
        return
    for at_rows in positions.values():
        if len(at_rows) == 1:
            continue
        filled = [at for at in at_rows if column[at] != blank]
        first = column[filled[0]] if filled else blank
        for at in filled:
            if column[at] != first:
                message = (
                    f"expected {first} as in row {source.numbers[filled[0]]} of the same "
                    f"order, found {column[at]}; correct the row"
                )
                if key not in ("currency", "buyer"):
                    message += ', or write [orders] amounts = "add-up" in the layout'
                yield Problem(source.name, source.numbers[at], source.header(key), message)

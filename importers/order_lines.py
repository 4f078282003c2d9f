"""Read the orders in a file of order lines."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from offcut.importers import values
from offcut.importers.columns import problems_of_all_rows, read_currencies, read_dates
from offcut.importers.order_cancellations import without_cancelled
from offcut.importers.order_rows import OrderRows, read_numbers, read_rows, surcharge
from offcut.importers.order_statuses import without_other_statuses
from offcut.importers.problems import ImportRefused, Problem, by_row
from offcut.importers.records import Order
from offcut.importers.rows import LeftOut, leave_out, without_repeated
from offcut.importers.source_file import SourceFile
from offcut.importers.totals import Total, order_totals


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
    source, left_out = leave_out(source)
    problems: list[Problem] = []
    source = _without(without_repeated, source, left_out, problems)
    of_cancelled: list[Order] = []
    in_part: Mapping[str, tuple[str, ...]] = {}
    if "status" in source.layout.columns:
        source, marked, whole, in_part = without_cancelled(source)
        left_out += marked
        of_cancelled = _cancelled_orders(whole, problems)
        source = _without(without_other_statuses, source, left_out, problems)
    rows = read_rows(source, problems)
    if not problems:
        problems += _order_problems(source, rows)
    if problems:
        raise ImportRefused(by_row(_all_problems(source, problems)))

    orders = _orders(source, rows)
    if in_part:
        orders = [each._replace(cancelled=in_part.get(each.order, ())) for each in orders]
    lines, currencies = rows.lines, rows.currencies
    if len(set(currencies)) == 1:
        counts = {currencies[0]: Counter(lines)}
    else:
        counts = defaultdict(Counter)
        for line, currency in zip(lines, currencies, strict=True):
            counts[currency][line] += 1
    return OrderFile([*orders, *of_cancelled], left_out, order_totals(orders, counts))


def _without(
    take_out: Callable[[SourceFile], tuple[SourceFile, list[LeftOut]]],
    source: SourceFile,
    left_out: list[LeftOut],
    problems: list[Problem],
) -> SourceFile:
    """Return a file without some rows; the whole of it where there are problems."""
    try:
        source, taken_out = take_out(source)
    except ImportRefused as refused:
        problems.extend(refused.found)
    else:
        left_out.extend(taken_out)
    return source


def _all_problems(source: SourceFile, problems: Sequence[Problem]) -> list[Problem]:
    """Return the problems of all rows, and of the orders whose rows have none."""
    found = problems_of_all_rows(source, problems, read_rows)
    wrong = {problem.row for problem in found}
    keys = [values.one_line(cell) for cell in source.cells("order")]
    damaged = {key for key, row in zip(keys, source.numbers, strict=True) if row in wrong}
    sound = source.without([at for at, key in enumerate(keys) if key in damaged])
    if sound.numbers:
        found += _order_problems(sound, read_rows(sound, []))
    return found


def _order_problems(source: SourceFile, rows: OrderRows) -> Iterator[Problem]:
    """Yield what is wrong with orders whose rows can be read."""
    repeated = source.layout.repeated
    positions = _positions(rows)
    columns: list[tuple[str, Sequence[object] | None, object]] = [
        ("currency", rows.currencies, None),
        ("shipping", rows.shippings if repeated else None, None),
        ("tax", rows.taxes if repeated else None, None),
        ("order-discount", rows.reductions if repeated else None, None),
        ("buyer", rows.buyers, ""),
    ]
    for key, column, blank in columns:
        if column is not None:
            yield from _disagreeing(source, key, column, positions, blank)
    for at_rows in positions.values() if rows.reductions else ():
        of_rows = _of_order(source, rows.reductions or (), at_rows)
        off = source.layout.discount_sign * of_rows
        if off < 0 and all(rows.lines[at].quantity > 0 for at in at_rows):
            row = source.numbers[at_rows[0]]
            yield surcharge(source, row, "order-discount", of_rows)


def _positions(rows: OrderRows) -> dict[str, list[int]]:
    """Return which rows each order has, by its key."""
    positions: dict[str, list[int]] = {}
    for at, (_, key) in enumerate(rows.numbers):
        if key in positions:
            positions[key].append(at)
        else:
            positions[key] = [at]
    return positions


def _of_order(
    source: SourceFile, column: Sequence[Decimal], at_rows: Sequence[int]
) -> Decimal:
    """Return what an order has of an amount that stands on each row, or adds up."""
    if source.layout.repeated or len(at_rows) == 1:
        return column[at_rows[0]]
    return sum([column[at] for at in at_rows], values.ZERO)


def _orders(source: SourceFile, rows: OrderRows) -> list[Order]:
    """Return the orders of rows that have no problems."""
    layout = source.layout
    orders = []
    for key, at_rows in _positions(rows).items():
        first = at_rows[0]
        day = rows.dates[first]
        if len(at_rows) > 1:
            day = min([rows.dates[at] for at in at_rows])
        more: tuple[Any, ...] = ()
        if rows.reductions or rows.coupons or rows.buyers:
            off = values.ZERO
            if rows.reductions:
                off = layout.discount_sign * _of_order(source, rows.reductions, at_rows)
            more = (
                off,
                _joined(rows.coupons, at_rows, ", "),
                _joined(rows.buyers, at_rows, ""),
            )
        orders.append(
            Order(
                layout,
                source.name,
                source.numbers[first],
                day,
                rows.numbers[first][0],
                key,
                rows.currencies[first],
                _of_order(source, rows.shippings, at_rows),
                _of_order(source, rows.taxes, at_rows),
                tuple([rows.lines[at] for at in at_rows]),
                *more,
            )
        )
    return orders


def _cancelled_orders(source: SourceFile, problems: list[Problem]) -> list[Order]:
    """Return the orders of rows that are all marked as cancelled: they have no lines.

    Args:
      source: The file with these rows only.
      problems: Takes what is wrong with their days, numbers or currencies.
    """
    found: list[Problem] = []
    days = read_dates(source, found)
    currencies = read_currencies(source, found)
    numbers = read_numbers(source, found)
    problems += found
    if found:
        return []
    orders: dict[str, Order] = {}
    for row, day, currency, (number, key), item in zip(
        *(
            source.numbers,
            days,
            currencies,
            numbers,
            map(values.one_line, source.cells("item")),
        ),
        strict=True,
    ):
        where = (source.layout, source.name, row, day, number, key, currency)
        order = orders.get(key, Order(*where, values.ZERO, values.ZERO, ()))
        texts = (*order.cancelled, item)
        orders[key] = order._replace(date=min(day, order.date), cancelled=texts)
    return list(orders.values())


def _joined(column: Sequence[str] | None, at_rows: Sequence[int], mark: str) -> str:
    """Return the different texts that an order's rows have in a column."""
    texts = dict.fromkeys(column[at] for at in at_rows) if column else ()
    return mark.join(filter(None, texts))


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

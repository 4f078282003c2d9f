"""Add up what was read, by kind of movement and currency."""

from __future__ import annotations

import dataclasses
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from offcut.importers.records import Order, OrderLine, Payment
from offcut.importers.values import ZERO


@dataclasses.dataclass(frozen=True, order=True)
class Total:
    """The sums of one kind of movement in one currency.

    For payments gross, fee and net are the file's, the fee positive where one was
    charged; what is kept back as tax is in the gross and not in the net. For order lines
    gross is quantity times unit price to the last digit, fee is 0, and net is the gross
    with each line rounded to the currency's minor unit.

    Attributes:
      kind: `sale`, `refund`, …; for order lines `lines`, `cancelled lines`, `discounts`,
        `order discounts`, `shipping`, `tax`.
      currency: The currency.
      count: How many there are.
      remitted: Sales tax that the marketplace kept back.
    """

    kind: str
    currency: str
    count: int
    gross: Decimal
    fee: Decimal
    net: Decimal
    remitted: Decimal = ZERO


def payment_totals(payments: Iterable[Payment]) -> tuple[Total, ...]:
    """Return the sums of payments, sorted."""
    groups: dict[tuple[str, str], list[Payment]] = defaultdict(list)
    for payment in payments:
        groups[payment.movement, payment.currency].append(payment)
    return tuple(
        Total(
            *kind,
            len(group),
            sum([each.gross for each in group], ZERO),
            sum([each.fee for each in group], ZERO),
            sum([each.net for each in group], ZERO),
            sum([each.remitted for each in group], ZERO),
        )
        for kind, group in sorted(groups.items())
    )


def order_totals(
    orders: Iterable[Order], lines: Mapping[str, Counter[OrderLine]] | None = None
) -> tuple[Total, ...]:
    """Return the sums of orders, sorted.

    Args:
      orders: The orders.
      lines: The lines of the file that they were read from, by currency, to be added up
        instead of those that are in the orders.
    """
    groups: dict[str, list[Order]] = defaultdict(list)
    for order in orders:
        groups[order.currency].append(order)
    if lines is None:
        lines = {
            currency: Counter(line for order in group for line in order.lines)
            for currency, group in groups.items()
        }
    found = [
        total
        for currency, counts in lines.items()
        for total in _line_totals(currency, counts)
    ]
    for currency, group in groups.items():
        for kind, amounts in (
            ("order discounts", [-each.reduction for each in group if each.reduction]),
            ("shipping", [order.shipping for order in group if order.shipping]),
            ("tax", [order.tax for order in group if order.tax]),
        ):
            if amounts:
                amount = sum(amounts, ZERO)
                found.append(Total(kind, currency, len(amounts), amount, ZERO, amount))
    return tuple(sorted(found))


def merged(totals: Iterable[Total]) -> tuple[Total, ...]:
    """Return totals with those of one kind and currency added up, sorted."""
    groups: dict[tuple[str, str], list[Total]] = defaultdict(list)
    for total in totals:
        groups[total.kind, total.currency].append(total)
    return tuple(
        Total(
            *kind,
            sum(each.count for each in group),
            sum([each.gross for each in group], ZERO),
            sum([each.fee for each in group], ZERO),
            sum([each.net for each in group], ZERO),
            sum([each.remitted for each in group], ZERO),
        )
        for kind, group in sorted(groups.items())
    )


def _line_totals(currency: str, counts: Counter[OrderLine]) -> Iterator[Total]:
    """Yield the sums of lines: lines that are the same are counted, which is quick."""
    for kind, cancelled in (("lines", False), ("cancelled lines", True)):
        of_kind = [each for each in counts.items() if (each[0].quantity < 0) is cancelled]
        if of_kind:
            exact = sum([line.exact * count for line, count in of_kind], ZERO)
            amount = sum([line.amount * count for line, count in of_kind], ZERO)
            yield Total(
                kind, currency, sum(count for _, count in of_kind), exact, ZERO, amount
            )
    discounted = [(line, count) for line, count in counts.items() if line.discount]
    if discounted:
        amount = -sum([line.discount * count for line, count in discounted], ZERO)
        rows = sum(count for _, count in discounted)
        yield Total("discounts", currency, rows, amount, ZERO, amount)

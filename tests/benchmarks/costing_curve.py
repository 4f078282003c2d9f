"""How the time to cost a ledger grows with its sale lines, and with the lots of one item.

    python tests/benchmarks/costing_curve.py [--lines 1000000] [--lots 16000]

The ledger is made in memory, since parsing a million lines would say nothing of costing.
Each curve prints microseconds a line (or a lot): level means linear.
"""

from __future__ import annotations

import argparse
import datetime
import time
from decimal import Decimal

from bars import print_bar
from beancount.core import data
from beancount.core.amount import Amount
from beancount.core.position import Cost
from beancount.parser import options

from offcut.plugins.stock import cost_stock

FIRST = datetime.date(2000, 1, 1)
ITEMS = 120


def transaction(
    date: datetime.date, number: int, *postings: data.Posting
) -> data.Transaction:
    """Return a transaction as the parser would."""
    meta = {"filename": "made", "lineno": number}
    empty = frozenset[str]()
    return data.Transaction(
        meta, date, "*", None, f"No {number}", empty, empty, list(postings)
    )


def purchase(date: datetime.date, number: int, item: str, units: int) -> data.Transaction:
    """Return a purchase of one lot, at a cost of its own."""
    cost = Cost(Decimal(number % 90 + 10) / 100, "USD", date, None)
    lot = data.Posting(
        f"Assets:Stock:{item}", Amount(Decimal(units), item), cost, None, None, {}
    )
    return transaction(date, number, lot)


def sale(date: datetime.date, number: int, item: str, units: int) -> data.Transaction:
    """Return a sale of one line."""
    meta = {"filename": "made", "lineno": number, "item": item, "quantity": Decimal(units)}
    amount = Amount(Decimal(-4 * units), "USD")
    return transaction(
        date, number, data.Posting("Income:Sales:Web", amount, None, None, None, meta)
    )


def ledger(items: int, lots: int, lines: int) -> list[data.Directive]:
    """Return a ledger of so many lots in all and so many lines of one piece each."""
    names = [f"ITEM-{number}" for number in range(items)]
    entries: list[data.Directive] = [
        data.Commodity({"filename": "made", "lineno": 0, "stock": "product"}, FIRST, name)
        for name in names
    ]
    pieces = 2 * (lines // lots) + 2
    days = 3000
    for number in range(lots):
        # The first lot of each item is there before the first sale.
        date = FIRST + datetime.timedelta(days=max(0, number - items) * days // lots)
        entries.append(purchase(date, number, names[number % items], pieces))
    for number in range(lines):
        date = FIRST + datetime.timedelta(days=1 + number * days // lines)
        entries.append(sale(date, number, names[number % items], 1))
    return sorted(entries, key=data.entry_sortkey)


def seconds(entries: list[data.Directive], booking: data.Booking) -> float:
    """Return how long costing takes; every line must be costed without an error."""
    options_map = {**options.OPTIONS_DEFAULTS, "booking_method": booking}
    start = time.process_time()
    _, errors = cost_stock(entries, options_map)
    taken = time.process_time() - start
    assert not errors, errors[0]
    return taken


def main() -> None:
    """Print the curves."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--lines", type=int, default=1_000_000)
    arguments.add_argument("--lots", type=int, default=16_000)
    most = arguments.parse_args()
    for booking in (data.Booking.FIFO, data.Booking.AVERAGE):
        lines = [most.lines // 100, most.lines // 10, most.lines]
        sales = [(count, ledger(ITEMS, ITEMS * 50, count)) for count in lines]
        curve(f"{booking.value}: a sale line of {ITEMS} items", sales, booking)
        lots = [most.lots // 16, most.lots // 4, most.lots]
        of_one = [(count, ledger(1, count, 2 * count)) for count in lots]
        curve(f"{booking.value}: a lot of one item, with two sales", of_one, booking)


def curve(
    what: str, ledgers: list[tuple[int, list[data.Directive]]], booking: data.Booking
) -> None:
    """Print the microseconds for one of what grows, and the most to the middle."""
    print(f"{what}, microseconds each")
    each = []
    for count, entries in ledgers:
        each.append(seconds(entries, booking) / count * 1e6)
        print(f"{count:12,} {each[-1]:8.1f}")
    # The fewest are left out: what a ledger costs without any weighs the most there.
    _, (some, _), (most, _) = ledgers
    print_bar(f"{what}, of {most:,} / of {some:,}", each[2] / each[1], None)


if __name__ == "__main__":
    main()

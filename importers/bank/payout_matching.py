"""Match payouts with the rows of a bank statement that have the same amount.

A payout arrives 0 to 7 days after it was sent, and arrives once. Files come in any order,
so what is known now may be a part only: a row that was matched with the one payout of
its amount that was there may be wanted by another. What is matched stays matched, for it
is in the books; but of equal amounts it does not matter which row met which payout, so
they change partners where one more pair can be made by that (an augmenting path). So the
matched are always as many as can be, and when all files are in, whatever their order, all
are matched that can be.
"""

from __future__ import annotations

import datetime
from bisect import bisect_left, bisect_right
from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.bank.state import BankAccounts, Payout, Payouts, WaitingRow

DAYS = 7


class Dated(NamedTuple):
    """A payout or a row of a bank: of one amount and currency all of them.

    Attributes:
      date: Its day.
      key: What tells it from the others.
    """

    date: datetime.date
    key: str


Pair = tuple[Dated, Dated]
"""A payout and the row that it arrived by."""


def find_arrivals(
    rows: Iterable[WaitingRow], payouts: Payouts, accounts: BankAccounts
) -> dict[WaitingRow, Payout]:
    """Return the payout that each row is the arrival of.

    Args:
      rows: Rows that wait, and new ones.
      payouts: The payouts there are.
      accounts: The accounts that tell whether a row is booked as an arrival already.
    """
    sent: dict[tuple[Decimal, str], dict[Dated, Payout]] = defaultdict(dict)
    for payout in payouts.sent:
        sent[payout.amount, payout.currency][_dated(payout)] = payout
    met: dict[tuple[Decimal, str], list[Pair]] = defaultdict(list)
    for payout, arrival in payouts.met:
        if (payout.amount, payout.currency) in sent:
            met[payout.amount, payout.currency].append((_dated(payout), _dated(arrival)))
    free: dict[tuple[Decimal, str], dict[Dated, WaitingRow]] = defaultdict(dict)
    for row in rows:
        if row.whole and (row.amount, row.currency) in sent:
            free[row.amount, row.currency][Dated(row.date, row.link)] = row
    found = {}
    for key, of_amount in free.items():
        booked = [
            each for each, row in of_amount.items() if row.account in accounts.payouts
        ]
        others = [each for each in of_amount if each not in booked]
        for one, other in match_payouts(sent[key], others, booked, met[key]):
            found[of_amount[other]] = sent[key][one]
    return found


def _dated(payout: Payout) -> Dated:
    return Dated(payout.date, f"{payout.link} {payout.account}")


def match_payouts(
    payouts: Iterable[Dated],
    rows: Iterable[Dated],
    waiting: Iterable[Dated] = (),
    met: Iterable[Pair] = (),
) -> list[Pair]:
    """Return the payouts and rows that are matched now; all are of one amount.

    The pair with the fewest days between comes first. Payouts of the same day are
    interchangeable, and so are rows: they are taken by their keys.

    Args:
      payouts: Payouts that have not met a row.
      rows: Rows that have not met a payout.
      waiting: Such rows, to be matched before all others: they are booked as the arrival
        of a payout already, though not of which.
      met: Pairs that the books have.

    Returns:
      Pairs of what was free, the rows of `waiting` among them.
    """
    met_payouts = sorted({payout for payout, _ in met})
    met_rows = sorted({row for _, row in met})
    free = sorted(payouts)
    partner: dict[Dated, Dated] = {}  # the row of each payout that has one
    _grow(partner, met_rows, met_payouts)
    # Pairs of the user's own that are further apart than a payout takes have no partner
    # here, and are not to be had by others.
    known = [payout for payout in met_payouts if payout in partner]
    all_payouts = sorted([*known, *free])
    for group in (sorted(waiting), sorted(rows)):
        _nearest_first(partner, group, [each for each in free if each not in partner])
        matched = set(partner.values())
        _grow(partner, [row for row in group if row not in matched], all_payouts)

    new_rows = sorted({*partner.values()} - {*met_rows})
    new_payouts = [payout for payout in free if payout in partner]
    pairs = [
        (payout, partner[payout]) for payout in new_payouts if partner[payout] in new_rows
    ]
    # Both ends of a path: equal in number, and each is the other's in the books.
    row_ends = [row for row in new_rows if row not in {row for _, row in pairs}]
    payout_ends = [
        payout for payout in new_payouts if payout not in {payout for payout, _ in pairs}
    ]
    return sorted([*pairs, *zip(payout_ends, row_ends, strict=True)])


def _near(row: Dated, payouts: Sequence[Dated]) -> list[Dated]:
    """Return the payouts that may have arrived by a row, the latest first.

    Args:
      row: The row.
      payouts: The payouts to look among, sorted.
    """
    first = bisect_left(payouts, row.date - datetime.timedelta(DAYS), key=_date)
    after = bisect_right(payouts, row.date, key=_date)
    return sorted(payouts[first:after], key=lambda each: (row.date - each.date, each.key))


def _date(each: Dated) -> datetime.date:
    return each.date


def _nearest_first(
    partner: dict[Dated, Dated], rows: Iterable[Dated], payouts: Sequence[Dated]
) -> None:
    """Pair what is free, the fewest days apart first."""
    taken: set[Dated] = set()
    pairs = [(row, payout) for row in rows for payout in _near(row, payouts)]
    pairs.sort(key=lambda pair: (pair[0].date - pair[1].date, *pair))
    for row, payout in pairs:
        if row not in taken and payout not in partner:
            partner[payout] = row
            taken.add(row)


def _grow(
    partner: dict[Dated, Dated], rows: Iterable[Dated], payouts: Sequence[Dated]
) -> None:
    """Find a payout for each row, if need be by giving other rows another one.

    Args:
      partner: The row of each payout that has one; grows.
      rows: Rows that have none.
      payouts: The payouts to look among, sorted.
    """
    payout_of = {row: payout for payout, row in partner.items()}
    for start in rows:
        reached: dict[Dated, Dated] = {}  # by which row a payout was come to
        queue = deque([start])
        while queue:
            row = queue.popleft()
            for payout in _near(row, payouts):
                if payout in reached:
                    continue
                reached[payout] = row
                if payout in partner:
                    queue.append(partner[payout])
                    continue
                step: Dated | None = payout
                while step is not None:
                    row = reached[step]
                    partner[step] = row
                    before, payout_of[row] = payout_of.get(row), step
                    step = before
                queue.clear()
                break

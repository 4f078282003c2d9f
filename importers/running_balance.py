"""Check the balance that a file has beside its rows against what the rows come to.

Rows stand in the order of time or against it, each currency for itself. A cell may be
blank: the next one that is filled then answers for all rows since the last.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.columns import read_money
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Payment, money_moved
from offcut.importers.source_file import SourceFile
from offcut.importers.values import ZERO


class CurrencyBalance(NamedTuple):
    """What a file says of the balance of its account in one currency.

    Attributes:
      currency: The currency.
      first: The day of the earliest row.
      opening: The balance before the first row.
      last: The day of the latest row; the file may have a part of that day only.
      at_last: The balance at the beginning of that day.
      row: The id of the first row.
      newest_first: Whether the file has its rows against the order of time.
      at_end: The balance after the last row.
    """

    currency: str
    first: datetime.date
    opening: Decimal
    last: datetime.date
    at_last: Decimal
    row: str
    newest_first: bool
    at_end: Decimal = ZERO


class Balances(NamedTuple):
    """What a file says of its account's balances.

    Attributes:
      known: The balances of each currency in which they can be told.
      checks: What was checked, a sentence each.
    """

    known: tuple[CurrencyBalance, ...] = ()
    checks: tuple[str, ...] = ()


class _Row(NamedTuple):
    """A row: its payment, and the balance after it, None where the cell is blank."""

    payment: Payment
    balance: Decimal | None


class _Contradiction(NamedTuple):
    """A row whose balance is another than the rows before it come to."""

    row: _Row
    expected: Decimal


def check_balances(
    source: SourceFile, positions: Sequence[int], payments: Sequence[Payment]
) -> Balances:
    """Return what the balances of a file say, once they are found to be right.

    Args:
      source: The file.
      positions: Which row of the file each payment is.
      payments: The payments, in the file's order.

    Raises:
      ImportRefused: A balance is not what the rows before it come to.
    """
    cells = source.cells("balance")
    rows: dict[str, list[_Row]] = defaultdict(list)
    problems: list[Problem] = []
    currencies = [source.layout.currencies[0]] * len(cells)
    for at, payment in zip(positions, payments, strict=True):
        currencies[at] = payment.currency
    amounts = read_money(source, "balance", currencies, problems)
    if problems:
        raise ImportRefused(problems)
    for at, payment in zip(positions, payments, strict=True):
        balance = amounts[at] if cells[at].strip() else None
        rows[payment.currency].append(_Row(payment, balance))

    known, checks = [], []
    for currency, of_currency in rows.items():
        filled = sum(row.balance is not None for row in of_currency)
        if not filled:
            continue
        found = _opening(of_currency)
        if isinstance(found, _Contradiction):
            problems.append(_problem(source, found))
            continue
        among = f" in {currency}" if len(rows) > 1 else ""
        counted = f"{filled:,} row{'' if filled == 1 else 's'}{among}"
        checks.append(f"running balance of {counted} agrees")
        if found is None:
            checks[-1] += " read from either end: nothing is asserted"
        else:
            known.append(_balance(currency, of_currency, *found))
    if problems:
        raise ImportRefused(problems)
    return Balances(tuple(known), tuple(checks))


def _opening(rows: Sequence[_Row]) -> tuple[Decimal, bool] | _Contradiction | None:
    """Return the balance before rows and whether they are newest first.

    Where something contradicts their balances, that is returned; None where all rows are
    of one day and agree in either order, with different balances before them.
    """
    forward, backward = _walk(rows), _walk(rows[::-1])
    first, last = rows[0].payment.date, rows[-1].payment.date
    newest_first = first > last
    preferred, other = (backward, forward) if newest_first else (forward, backward)
    if isinstance(preferred, _Contradiction):
        # Days need not be in order, as where they are those of the value.
        if isinstance(other, _Contradiction):
            return preferred
        return other, not newest_first
    if first == last and not isinstance(other, _Contradiction) and other != preferred:
        return None
    return preferred, newest_first


def _walk(rows: Sequence[_Row]) -> Decimal | _Contradiction:
    """Return the balance before rows, the earliest first, or the first contradiction."""
    opening: Decimal | None = None
    moved = ZERO
    for row in rows:
        moved += money_moved(row.payment)
        if row.balance is None:
            continue
        if opening is None:
            opening = row.balance - moved
        elif opening + moved != row.balance:
            return _Contradiction(row, opening + moved)
    assert opening is not None  # at least one cell is filled
    return opening


def _balance(
    currency: str, rows: Sequence[_Row], opening: Decimal, newest_first: bool
) -> CurrencyBalance:
    """Return what the rows of a currency say, given the balance before them."""
    in_time = [row.payment for row in (rows[::-1] if newest_first else rows)]
    first = min(payment.date for payment in in_time)
    last = max(payment.date for payment in in_time)
    before = [money_moved(payment) for payment in in_time if payment.date < last]
    row = next(payment.id for payment in in_time if payment.date == first)
    at_last = sum(before, opening)
    at_end = sum([money_moved(payment) for payment in in_time], opening)
    return CurrencyBalance(
        currency, first, opening, last, at_last, row, newest_first, at_end
    )


def _problem(source: SourceFile, found: _Contradiction) -> Problem:
    row, expected = found
    message = (
        f"expected {expected}, which is what the rows come to that lead here, found "
        f"{row.balance}; a row is missing or wrong, export the file again"
    )
    return Problem(source.name, row.payment.row, source.header("balance"), message)

"""Hold the rows of the sheets against what the ledger has already."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from typing import NamedTuple

from offcut.importers.file_facts import ROW_ID
from offcut.importers.known import Known, Limits
from offcut.importers.ledger_balances import LedgerBalances
from offcut.importers.ledger_text import escaped
from offcut.importers.moving_in.balances import Balance
from offcut.importers.moving_in.invoices import Invoice
from offcut.importers.order_states import order_transactions
from offcut.importers.postings import Booking
from offcut.importers.problems import Problem
from offcut.importers.transaction_texts import postings_in, transaction_at

Sums = Mapping[tuple[str, str], Decimal]


class Row(NamedTuple):
    """A row of a sheet, as it would be booked.

    Attributes:
      place: The file's name and the row's number, as problems have them.
      source_id: What tells that the ledger has it already.
      booking: Its transaction.
    """

    place: tuple[str, int | None]
    source_id: str
    booking: Booking


def is_known(row: Row, known: Known) -> bool:
    """Return whether the ledger has a row already."""
    return escaped(row.source_id) in known.source_ids


def changed_rows(rows: Sequence[Row], known: Known) -> Iterator[Problem]:
    """Yield a problem for each row that the ledger has with other amounts.

    Args:
      rows: The rows that the ledger has.
      known: The ledger.
    """
    wanted = {escaped(row.source_id): row for row in rows}
    for contents in known.files.with_ids(wanted, len(wanted)):
        text = b"\n" + contents
        for match in ROW_ID.finditer(text):
            row = wanted.get(match[2].decode("utf-8", "replace"))
            if row is None or match[1] != b"source":
                continue
            there = _sums(transaction_at(text, match.start() + 1))
            if there != _sums(row.booking.text):
                message = (
                    f"the ledger has this row already, with {_said(there)}; if the row is "
                    "right, correct it in the ledger"
                )
                yield Problem(*row.place, None, message)


def doubled_balances(
    name: str, balances: Iterable[Balance], known: Known
) -> Iterator[Problem]:
    """Yield a problem for each opening balance of an account that has one already.

    Args:
      name: The file's name.
      balances: The rows that the ledger has not.
      known: The ledger.
    """
    of_account = {each.account for each in balances}
    ledger = LedgerBalances(known.files.values(), of_account)
    for each in balances:
        after = each.day + datetime.timedelta(days=1)
        if ledger.has_before(each.account, each.currency, after):
            there = ledger.before(each.account, each.currency, after)
            has = "something" if there is None else f"{there} {each.currency}"
            message = (
                f"the ledger has {has} in {each.account} by {each.day} already; take the "
                "row out, or what the ledger has"
            )
            yield Problem(name, each.row, "Account", message)


def doubled_invoices(
    name: str, invoices: Sequence[Invoice], known: Known
) -> Iterator[Problem]:
    """Yield a problem for each invoice that the ledger has transactions of already.

    Args:
      name: The file's name.
      invoices: The rows that the ledger has not.
      known: The ledger.
    """
    linked = order_transactions(known, {each.order for each in invoices})
    for each in invoices:
        if linked.get(each.order):
            message = (
                f"the ledger has order {each.order} already; take the row out, or what the "
                "ledger has"
            )
            yield Problem(name, each.row, "Invoice", message)


def untaken_rows(rows: Iterable[Row], known: Known) -> Iterator[Problem]:
    """Yield a problem for each row that the ledger's accounts do not take.

    Args:
      rows: The rows that the ledger has not.
      known: The ledger.
    """
    for row in rows:
        for posting in postings_in(row.booking.text):
            limits = known.limits.get(posting.account)
            if limits and (
                message := _refusal(
                    posting.account, limits, row.booking.day, posting.currency
                )
            ):
                yield Problem(*row.place, None, message)
                break


def _refusal(account: str, limits: Limits, day: str, currency: str) -> str:
    """Return why an account does not take a posting; empty where it does."""
    if day < limits.opened:
        return (
            f"{account} is opened on {limits.opened}, after {day}; put the day of its open "
            "directive earlier, or correct the row"
        )
    if limits.closed and day > limits.closed:
        return f"{account} is closed on {limits.closed}, before {day}; correct the row"
    if limits.currencies and currency not in limits.currencies:
        return (
            f"{account} takes {' and '.join(limits.currencies)} only, not {currency}; add "
            "it to its open directive, or correct the row"
        )
    return ""


def _sums(text: str) -> Sums:
    """Return what a transaction's text posts, by account and currency."""
    postings = sorted(
        (each.account, each.currency, each.number or Decimal(0))
        for each in postings_in(text)
    )
    return {
        key: sum((number for *_, number in each), Decimal(0))
        for key, each in groupby(postings, key=lambda posting: posting[:2])
    }


def _said(sums: Sums) -> str:
    """Return the first amount of a transaction in words."""
    for (account, currency), number in sums.items():
        return f"{number:f} {currency} in {account}"
    return "nothing"

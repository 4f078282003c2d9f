"""Whether each bank and cash account agrees with a balance at the month's end."""

from __future__ import annotations

import datetime
from decimal import Decimal

from beancount.core import data

from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.month import Month
from offcut.reports.close.open_items import Account
from offcut.reports.close.points import (
    TO_DO,
    ClosePoint,
    Found,
    Looked,
    Place,
    place_of,
    several,
)
from offcut.reports.figures import money

CURRENCY_COLUMN = 61


def check_banks(found: LedgerPass) -> Found:
    """Return the bank and cash accounts that no balance is asserted of.

    A `balance` of a day is of its beginning. One of the month's last day or of any later
    day counts, where it holds. An account that has nothing and did not move needs none.

    Args:
      found: What the ledger has.
    """
    month = found.month
    points, asserted, empty = [], [], []
    for account, balance in sorted(found.balances.items()):
        name, currency = account
        if found.roles[name] != "bank" or is_closed(found, name):
            continue
        shown = f"{money(balance, currency)} {currency}"
        if assertion := found.asserted.get(account):
            asserted.append(f"{name} {shown} (on {assertion.date})")
        elif not balance and account not in found.moved:
            empty.append(f"{name} ({currency})")
        else:
            before = found.asserted_before.get(account)
            last = f"last asserted on {before}" if before else "never asserted"
            points.append(
                ClosePoint(
                    TO_DO,
                    "Balance not asserted",
                    f"{name} was {last}. Hold the books' figure against the account's "
                    "statement, or what is counted; where the two agree, write this line. "
                    "Where they do not, a row is missing or is there twice.",
                    balance,
                    currency,
                    month.last,
                    *_last_place(found, account),
                    settle=balance_line(month, name, balance, currency),
                )
            )
    in_order = []
    if asserted:
        listed = several(asserted)
        in_order.append(Looked("Bank and cash asserted", f"{listed}."))
    if empty:
        in_order.append(
            Looked("Bank and cash empty", f"{several(empty)}: nothing there or moved.")
        )
    if not points and not in_order:
        nothing = "No account of a bank or of cash has anything."
        in_order.append(Looked("Bank and cash asserted", nothing))
    return Found(tuple(points), tuple(in_order))


def balance_line(month: Month, account: str, balance: Decimal, currency: str) -> str:
    """Return the directive that asserts a balance at the close of a month's last day."""
    head, number = f"{month.after} balance {account}", f"{balance:f}"
    blanks = " " * (CURRENCY_COLUMN - 4 - len(head) - len(number))
    return f"{head}{blanks}  {number} {currency}"


def is_closed(found: LedgerPass, account: str) -> bool:
    """Return whether an account is closed by the month's end."""
    closed = found.closed.get(account)
    return closed is not None and closed <= found.month.last


def _last_place(found: LedgerPass, account: Account) -> Place:
    """Return where the last posting of a bank's account by the month's end stands."""
    last = datetime.date.min
    for entry in found.money:
        if last < entry.date <= found.month.last and _posts_to(entry, account):
            last = entry.date
    return max(
        (
            place_of(posting.meta)
            for entry in found.money
            if entry.date == last
            for posting in entry.postings
            if _is_of(posting, account)
        ),
        default=Place(),
    )


def _posts_to(entry: data.Transaction, account: Account) -> bool:
    return any(_is_of(posting, account) for posting in entry.postings)


def _is_of(posting: data.Posting, account: Account) -> bool:
    units = posting.units
    return units is not None and (posting.account, units.currency) == account

"""The money that is set aside for the tax office: where it is, and what to add to it."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Sequence
from decimal import Decimal

from beancount.core import data

from offcut.importers.ledger_text import posting_text, transaction_text
from offcut.importers.splitting import EXACT, ZERO

NARRATION = "Set aside for the tax office"


def balances(
    entries: Iterable[data.Directive],
    accounts: Sequence[str],
    currency: str,
    until: datetime.date,
) -> list[Decimal]:
    """Return what accounts, each with those below it, have at the close of a day.

    Args:
      entries: The ledger's directives.
      accounts: The accounts; an empty name has nothing.
      currency: The currency; others are left out.
      until: The day.
    """
    totals = [ZERO] * len(accounts)
    # Which totals an account is in: looked up once a posting, worked out once an account.
    places: dict[str, tuple[int, ...]] = {}
    with decimal.localcontext(EXACT):
        for entry in entries:
            if not isinstance(entry, data.Transaction) or entry.date > until:
                continue
            for posting in entry.postings:
                at = places.get(posting.account)
                if at is None:
                    at = places[posting.account] = _places(posting.account, accounts)
                units = posting.units
                if (
                    at
                    and units is not None
                    and isinstance(units.number, Decimal)
                    and units.currency == currency
                ):
                    for place in at:
                        totals[place] += units.number
    return totals


def _places(account: str, accounts: Sequence[str]) -> tuple[int, ...]:
    """Return the positions of the accounts that an account is, or is below."""
    return tuple(
        place
        for place, each in enumerate(accounts)
        if each and f"{account}:".startswith(f"{each}:")
    )


def transfer(
    entries: Iterable[data.Directive],
    bank: str,
    reserve: str,
    amount: Decimal,
    currency: str,
    today: datetime.date,
) -> str:
    """Return the entry that sets money aside, as text to be added to the ledger.

    Accounts that the ledger has not opened yet are opened before it.

    Args:
      entries: The ledger's directives.
      bank: The account that the money is taken from.
      reserve: The account that it goes to.
      amount: How much, in whole minor units.
      currency: Its currency.
      today: The date of the entry.
    """
    opened = {entry.account for entry in entries if isinstance(entry, data.Open)}
    day = today.isoformat()
    opens = "".join(
        f"{day} open {account} {currency}\n"
        for account in (bank, reserve)
        if account not in opened
    )
    postings = posting_text(reserve, amount, currency)
    postings += posting_text(bank, -amount, currency)
    return opens + transaction_text(day, NARRATION, "", (), postings)

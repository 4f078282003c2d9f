"""What the banks of a ledger were used for: where payouts arrive, what rows were."""

from __future__ import annotations

from collections.abc import Iterator

from beancount.core import data

from offcut.importers.bank.likeness import Precedent, words_of
from offcut.importers.values import ZERO
from offcut.reports.close.ledger_pass import LedgerPass

USUAL_BANK = "Assets:Bank:Checking"


def bank_of(found: LedgerPass, currency: str) -> str:
    """Return the bank that payouts of a currency arrived at last, or another with it."""
    arrivals = [
        (entry.date, posting.account)
        for entry in found.money
        if any(link.startswith("payout-") for link in entry.links)
        for posting in entry.postings
        if found.roles[posting.account] == "bank"
        and posting.units is not None
        and posting.units.currency == currency
    ]
    if arrivals:
        return max(arrivals)[1]
    others = [
        name
        for name, of_it in found.balances
        if of_it == currency and found.roles[name] == "bank" and ":Cash" not in name
    ]
    return min(others, default=USUAL_BANK)


def precedents_in(found: LedgerPass) -> Iterator[Precedent]:
    """Yield the rows of banks that could be a model for others."""
    for entry in found.money:
        if len(entry.postings) == 2:
            yield from _of_two(found, entry.postings[0], entry.postings[1], entry)
            yield from _of_two(found, entry.postings[1], entry.postings[0], entry)


def _of_two(
    found: LedgerPass, bank: data.Posting, other: data.Posting, entry: data.Transaction
) -> Iterator[Precedent]:
    """Yield a transaction as a model, where one side is a bank and the other is known."""
    roles, units = found.roles, bank.units
    if units is None or units.number is None or roles[bank.account] != "bank":
        return
    if roles[other.account] in (None, "stock"):
        text = entry.payee or entry.narration or ""
        words = words_of(entry.payee or "", entry.narration or "")
        yield Precedent(entry.date, text, words, other.account, units.number > ZERO)

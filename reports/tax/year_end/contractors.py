"""List who was paid for work on contract, and who from the limit of reporting on."""

from __future__ import annotations

import decimal
from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.flows import money_transactions, weight
from offcut.reports.tax.tax_lines import TaxLines

CONTRACT_LABOUR = "contract-labor"
NOBODY = "(no payee)"


class Contractor(NamedTuple):
    """Who was paid for work.

    Attributes:
      payee: Who; `NOBODY` where the ledger names none.
      paid: How much.
      payments: In how many transactions.
    """

    payee: str
    paid: Decimal
    payments: int


def contractors(
    entries: Iterable[data.Directive], lines: TaxLines, currency: str
) -> list[Contractor]:
    """Return who was paid for work on contract, the most first.

    Args:
      entries: The directives of the year.
      lines: Which line of the form each account stands on.
      currency: The currency to take.
    """
    paid: dict[str, list[Decimal]] = {}
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            amount = ZERO
            for posting in entry.postings:
                line = lines[posting.account]
                if line is not None and line.key == CONTRACT_LABOUR:
                    number, posted = weight(posting) or (ZERO, "")
                    amount += number if posted == currency else ZERO
            if amount:
                paid.setdefault(entry.payee or NOBODY, []).append(amount)
        found = [
            Contractor(payee, sum(amounts, ZERO), len(amounts))
            for payee, amounts in paid.items()
        ]
    return sorted(found, key=lambda one: (-one.paid, one.payee))

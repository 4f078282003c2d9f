"""Find what was paid to the tax office, and the year that each payment is for.

    2026-01-15 * "The tax office" "Fourth payment"
      tax-year: "2025"
      Equity:Owner:IncomeTax    220.00 USD
      Assets:Bank:Checking

All postings to the account that the settings name are payments; a credit is a refund.
Where no `tax-year` stands on the posting or its transaction, a payment is for the year
whose last payment is due next, on its own day or after it. `local-tax` says which tax of
the maker's own place it is for, by its name in the settings.
"""

from __future__ import annotations

import datetime
import decimal
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.flows import money_transactions
from offcut.reports.tax.toml_checks import either

YEAR = "tax-year"
LOCAL = "local-tax"
# Arrears are paid for years that are long over; further back is a slip of the pen.
OLDEST = 10


class Payment(NamedTuple):
    """A payment to the tax office.

    Attributes:
      date: The day.
      text: Who was paid and what for.
      amount: Below zero for a refund.
      year: The year that `tax-year` names; empty where it names none.
      local: The local tax that it is for; empty for the national one.
      place: Where it stands: file and line.
    """

    date: datetime.date
    text: str
    amount: Decimal
    year: str
    local: str
    place: str


@dataclass(frozen=True)
class Payments:
    """What was paid to the tax office, of all years.

    Attributes:
      found: The payments in the tax's currency, the earliest first.
      others: What was paid in other currencies, which does not count.
      mistakes: What is wrong with single payments, a line each.
    """

    found: tuple[Payment, ...] = ()
    others: Mapping[str, Decimal] | None = None
    mistakes: tuple[str, ...] = ()


class Window(NamedTuple):
    """The days on which a payment counts for a year, where it does not name one.

    Attributes:
      year: The year as it is called.
      after: The last due day of the year before.
      until: The last due day of the year.
    """

    year: str
    after: datetime.date
    until: datetime.date

    def counts(self, payment: Payment) -> bool:
        """Tell whether a payment is for the year."""
        if payment.year:
            return payment.year == self.year
        return self.after < payment.date <= self.until


def tax_payments(
    entries: Iterable[data.Directive],
    account: str,
    currency: str,
    today: datetime.date,
    split_years: bool,
    local: Sequence[str] = (),
) -> Payments:
    """Return the payments up to a day.

    Args:
      entries: The ledger's directives.
      account: The account that they are booked to, with those below it; empty for none.
      currency: The currency of the tax.
      today: The last day that counts.
      split_years: Whether years are called as 2025-26, and not as 2025.
      local: The names of the local taxes.
    """
    if not account:
        return Payments()
    found: list[Payment] = []
    mistakes: list[str] = []
    others: dict[str, Decimal] = {}
    below = account + ":"
    for entry in money_transactions(entries):
        for posting in entry.postings:
            if posting.account != account and not posting.account.startswith(below):
                continue
            units = posting.units
            if units is None or not isinstance(units.number, Decimal) or entry.date > today:
                continue
            if units.currency != currency:
                others[units.currency] = EXACT.add(
                    others.get(units.currency, ZERO), units.number
                )
                continue
            meta = {**entry.meta, **(posting.meta or {})}
            payment = _payment(entry, units.number, meta)
            found.append(payment)
            for complaint in _complaints(payment, meta, split_years, local):
                mistakes.append(f"{payment.place}: {complaint}")
    return Payments(tuple(found), others, tuple(mistakes))


def _payment(entry: data.Transaction, amount: Decimal, meta: Mapping[str, Any]) -> Payment:
    text = ": ".join(each for each in (entry.payee, entry.narration) if each)
    place = f"{meta.get('filename', 'ledger')}:{meta.get('lineno', 0)}"
    local = meta.get(LOCAL) or ""
    return Payment(entry.date, text, amount, _year(meta), str(local), place)


def _year(meta: Mapping[str, Any]) -> str:
    """Return the year that metadata names, which may stand there without quotes."""
    year = meta.get(YEAR)
    if year is None:
        return ""
    return f"{year:f}" if isinstance(year, Decimal) else str(year)


def _complaints(
    payment: Payment, meta: Mapping[str, Any], split_years: bool, local: Sequence[str]
) -> Iterable[str]:
    """Yield what is wrong with a payment."""
    form = "[0-9]{4}-[0-9]{2}" if split_years else "[0-9]{4}"
    example = "2025-26" if split_years else "2025"
    if YEAR in meta:
        if not re.fullmatch(form, payment.year):
            yield (
                f'{YEAR} is "{payment.year}", which is no year; write it as '
                f'{YEAR}: "{example}"'
            )
        else:
            first = int(payment.year[:4])
            # Years that cross New Year have their last payment in the year but one.
            if not payment.date.year - OLDEST <= first <= payment.date.year:
                yield (
                    f'{YEAR} is "{payment.year}", but it was paid on {payment.date}; '
                    "correct the year, or the date"
                )
    if payment.local and payment.local not in local:
        known = f"; there is {either(local)}" if local else ""
        yield (
            f'{LOCAL} is "{payment.local}", which no [[tax.local]] of offcut.toml is '
            f"called{known}"
        )


def paid(payments: Iterable[Payment], until: datetime.date) -> Decimal:
    """Return what was paid up to a day.

    Args:
      payments: The payments.
      until: The last day.
    """
    with decimal.localcontext(EXACT):
        return sum((each.amount for each in payments if each.date <= until), ZERO)

"""Tell what sales tax was charged, given back and paid over, and by whom.

An account below `Liabilities:SalesTax` for each place that has its own tax:
`Liabilities:SalesTax:Harbourmouth`. What a marketplace keeps back and pays over itself
stands below `Assets:Clearing:RemittedTax`, and is not the shop's to pay: it is taken off
the tax that the same transaction charges.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.flows import money_transactions, weight
from offcut.reports.period import Period


@dataclass
class TaxAccount:
    """An account of sales tax over a year; what is owed is above zero.

    Attributes:
      account: The account.
      opening: Owed by the shop before the first day.
      charged: Charged to buyers.
      given_back: Given back to buyers.
      by_others: Kept back by marketplaces, which pay it over.
      paid: Paid over to a tax office.
    """

    account: str
    opening: Decimal = ZERO
    charged: Decimal = ZERO
    given_back: Decimal = ZERO
    by_others: Decimal = ZERO
    paid: Decimal = ZERO

    @property
    def closing(self) -> Decimal:
        """Owed by the shop after the last day."""
        owed = self.opening + self.charged - self.given_back
        return owed - self.by_others - self.paid


def sales_tax(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    currency: str,
) -> list[TaxAccount]:
    """Return the accounts of sales tax that anything stands in, by name.

    Args:
      entries: The ledger's directives, of all days.
      options_map: The ledger's options.
      period: The year.
      currency: The currency to take.
    """
    kinds = _Kinds(options_map)
    income = options_map["name_income"] + ":"
    found: dict[str, TaxAccount] = {}
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            if period.last is not None and entry.date > period.last:
                break  # directives stand in the order of days
            owed: dict[str, Decimal] = {}
            kept = ZERO
            for posting in entry.postings:
                kind = kinds[posting.account]
                if not kind:
                    continue
                number, posted = weight(posting) or (ZERO, "")
                if posted != currency:
                    continue
                if kind == OTHERS:
                    kept += number
                else:
                    owed[posting.account] = owed.get(posting.account, ZERO) - number
            if owed or kept:
                is_before = entry.date not in period
                # Asked only where tax is taken back, or paid over.
                is_sale = (
                    not is_before
                    and any(amount < ZERO for amount in owed.values())
                    and any(each.account.startswith(income) for each in entry.postings)
                )
                _book(owed, kept, kinds.own, found, is_before, is_sale)
    return [
        one
        for _, one in sorted(found.items())
        if one.opening or one.charged or one.given_back or one.by_others or one.paid
    ]


def _book(
    owed: Mapping[str, Decimal],
    kept: Decimal,
    own: str,
    found: dict[str, TaxAccount],
    is_before: bool,
    is_sale: bool,
) -> None:
    """Add what a transaction did."""
    for account, amount in owed.items():
        one = found.setdefault(account, TaxAccount(account))
        if is_before:
            one.opening += amount
        elif amount > ZERO:
            one.charged += amount
        elif is_sale:
            one.given_back -= amount
        else:
            one.paid -= amount
    if kept:
        account = next(iter(owed), own)
        one = found.setdefault(account, TaxAccount(account))
        if is_before:
            one.opening -= kept
        else:
            one.by_others += kept


OWN, OTHERS = "own", "others"


class _Kinds(dict[str, str]):
    """Whether an account is of sales tax, and whose; worked out at the first look-up."""

    def __init__(self, options_map: Mapping[str, Any]) -> None:
        super().__init__()
        self.own = f"{options_map['name_liabilities']}:SalesTax"
        self._others = f"{options_map['name_assets']}:Clearing:RemittedTax"

    def __missing__(self, account: str) -> str:
        kind = ""
        if f"{account}:".startswith(self.own + ":"):
            kind = OWN
        elif f"{account}:".startswith(self._others + ":"):
            kind = OTHERS
        self[account] = kind
        return kind

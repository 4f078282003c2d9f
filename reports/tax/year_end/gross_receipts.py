"""Tell what came in through each processor, gross, as its own yearly form has it.

A processor reports what buyers paid: before its fees, before refunds, with shipping and
sales tax. The books have the parts:

    sales + shipping + sales tax + orders booked before = gross
    gross - refunds - fees - other - paid out           = change of its account

A processor is an account below `Assets:Clearing`. What was paid without one stands under
the account that took it: cash, a bank, an invoice that is open.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import money_transactions, weight
from offcut.reports.tax.tax_lines import TaxLines, line_of

SALES, SHIPPING, TAX, EARLIER = "sales", "shipping", "tax", "earlier"
REFUNDS, FEES, OTHER, PAID_OUT = "refunds", "fees", "other", "paid out"
GROSS = (SALES, SHIPPING, TAX, EARLIER)
PARTS = (*GROSS, REFUNDS, FEES, OTHER, PAID_OUT)
PROCESSOR, RECEIVABLE, MONEY = "processor", "receivable", "money"
PLACES = (PROCESSOR, MONEY, RECEIVABLE)
NOWHERE = "without a payment"
# Of transactions that have none of these, nothing is a receipt.
COUNTED = {PROCESSOR, RECEIVABLE, SALES, SHIPPING, REFUNDS, EARLIER}


@dataclass
class Received:
    """What came in at an account, and what was taken off it.

    Attributes:
      account: The account; `NOWHERE` for what no account took.
      is_processor: Whether it is one that pays out what it collects.
      parts: The amounts, each as it adds to the account: fees are below zero.
      payments: How many transactions took money from buyers.
    """

    account: str
    is_processor: bool
    parts: dict[str, Decimal] = field(default_factory=lambda: dict.fromkeys(PARTS, ZERO))
    payments: int = 0

    @property
    def gross(self) -> Decimal:
        """What buyers paid."""
        return sum((self.parts[part] for part in GROSS), ZERO)

    @property
    def change(self) -> Decimal:
        """What all of it did to the account."""
        return sum(self.parts.values(), ZERO)


def gross_receipts(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    lines: TaxLines,
    currency: str,
) -> list[Received]:
    """Return what came in at each account: processors first, by name.

    Args:
      entries: The directives of the year.
      options_map: The ledger's options.
      lines: Which line of the form each account stands on.
      currency: The currency to take.
    """
    roles = _Roles(options_map, lines)
    received: dict[str, Received] = {}
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            places: dict[str, Decimal] = {}
            parts: list[tuple[str, str, Decimal]] = []
            roles_here = set()
            for posting in entry.postings:
                role = roles[posting.account]
                meta = posting.meta
                is_added = meta is not None and meta.get("filename") == SOURCE
                if posting.cost is not None or (is_added and role not in GROSS):
                    continue
                number, posted = weight(posting) or (ZERO, "")
                if posted != currency:
                    continue
                if is_added:
                    # Nobody paid stock; its account was put on the line of receipts.
                    nowhere = _of(received, NOWHERE, roles)
                    nowhere.parts[role] -= number
                    nowhere.parts[OTHER] += number
                    continue
                roles_here.add(role)
                if role in PLACES:
                    account = posting.account
                    places[account] = places.get(account, ZERO) + number
                else:
                    parts.append((role, posting.account, -number))
            if roles_here & COUNTED:
                _book(places, parts, roles, received)
    return sorted(
        (one for one in received.values() if any(one.parts.values())),
        key=lambda one: (not one.is_processor, one.account),
    )


def _book(
    places: Mapping[str, Decimal],
    parts: list[tuple[str, str, Decimal]],
    roles: _Roles,
    received: dict[str, Received],
) -> None:
    """Add a transaction to what its account received, or its accounts."""
    takers = _takers(places, roles, bool(parts))
    is_refund = any(role == REFUNDS for role, _, _ in parts)
    # What went to or came from other places of money.
    for account, number in places.items():
        if account not in takers:
            if roles[account] == RECEIVABLE:
                parts.append((EARLIER, account, -number))
                # What is paid now was booked there before, and is no longer open.
                _of(received, account, roles).parts[EARLIER] += number
            else:
                parts.append((PAID_OUT, account, -number))
    shares = _shares(takers, places, parts) if len(takers) > 1 else []
    touched = set()
    for role, account, amount in parts:
        if role == TAX and is_refund and amount < ZERO:
            role = REFUNDS
        left = amount
        for at, taker in enumerate(takers):
            if role == FEES and (own := _fee_of(account, takers)) is not None:
                share = amount if taker == own else ZERO
            elif at == len(takers) - 1:
                share = left
            else:
                share = amount * shares[at]
            left -= share
            _of(received, taker, roles).parts[role] += share
            if role in (SALES, EARLIER) and share > ZERO:
                touched.add(taker)
    for taker in touched:
        received[taker].payments += 1


def _of(received: dict[str, Received], account: str, roles: _Roles) -> Received:
    """Return what an account received so far."""
    if account not in received:
        received[account] = Received(account, roles[account] == PROCESSOR)
    return received[account]


def _takers(places: Mapping[str, Decimal], roles: _Roles, has_parts: bool) -> list[str]:
    """Return the accounts that a transaction's parts are of, processors before all."""
    processors = [each for each in places if roles[each] == PROCESSOR]
    money = [each for each in places if roles[each] == MONEY]
    both = [*processors, *money]
    if processors and has_parts and all(places[each] > ZERO for each in both):
        return both  # a day's takings in several forms
    if processors:
        return processors
    return money or [each for each in places if roles[each] == RECEIVABLE] or [NOWHERE]


def _shares(
    takers: list[str],
    places: Mapping[str, Decimal],
    parts: Iterable[tuple[str, str, Decimal]],
) -> list[Decimal]:
    """Return the share of each account in a transaction's parts, by what it took."""
    took = [places.get(taker, ZERO) for taker in takers]
    for role, account, amount in parts:
        if role == FEES and (own := _fee_of(account, takers)) is not None:
            took[takers.index(own)] -= amount
    whole = sum(took, ZERO)
    if not whole:
        return [Decimal(1), *[ZERO] * (len(takers) - 1)]
    return [each / whole for each in took]


def _fee_of(account: str, takers: list[str]) -> str | None:
    """Return the processor that an account of fees is named after: `Expenses:Fees:Card`."""
    name = account.split(":")[-1]
    return next((each for each in takers if each.split(":")[-1] == name), None)


class _Roles(dict[str, str]):
    """What an account is to a payment, worked out at the first look-up."""

    def __init__(self, options_map: Mapping[str, Any], lines: TaxLines) -> None:
        super().__init__()
        assets, liabilities = options_map["name_assets"], options_map["name_liabilities"]
        self._lines = lines
        # What comes first counts.
        self._below = (
            (f"{assets}:Clearing:RemittedTax", OTHER),
            # On its way from a processor to the bank.
            (f"{assets}:Clearing:Payouts", MONEY),
            (f"{assets}:Clearing", PROCESSOR),
            (f"{assets}:Receivable", RECEIVABLE),
            (f"{assets}:Equipment", OTHER),
            (assets, MONEY),
            (f"{liabilities}:SalesTax", TAX),
            (f"{liabilities}:Deposits", EARLIER),
            (f"{liabilities}:GiftCards", EARLIER),
        )
        self[NOWHERE] = MONEY

    def __missing__(self, account: str) -> str:
        self[account] = role = self._find(account)
        return role

    def _find(self, account: str) -> str:
        line = self._lines[account]
        if line is not None:
            key = line_of(line.key)
            part = account.split(":")[1]
            if key == "returns":
                return REFUNDS
            if key == "gross-receipts":
                return SHIPPING if part == "Shipping" else SALES
            return FEES if part == "Fees" else OTHER
        for above, role in self._below:
            if account == above or account.startswith(above + ":"):
                return role
        return OTHER

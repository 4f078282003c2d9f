"""Say what an import put into suspense beside payments that wait for their orders."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from offcut.importers.conversion_sides import NO_CONVERSIONS, KnownConversions
from offcut.importers.conversions import lone_sides
from offcut.importers.payment_settling import OF_ORDERS, PAYING
from offcut.importers.postings import NO_ORDER, ONE_SIDED, suspended
from offcut.importers.records import Payment

_SAID = {
    NO_ORDER: (
        "payment has no order number",
        "payments have no order number",
        "say what was sold there, or put the number into the file before it is imported",
    ),
    ONE_SIDED: (
        "conversion has only one side",
        "conversions have only one side",
        "import the file that has the other side, or book it there",
    ),
    "adjustment": (
        "adjustment is booked to no account",
        "adjustments are booked to no account",
        "book it there, and such rows from now on by [[book-to]] in the layout",
    ),
}


def suspense_notes(
    payments: Iterable[Payment], known: KnownConversions = NO_CONVERSIONS
) -> list[str]:
    """Return what went to suspense for want of an order, a side or an account.

    Args:
      payments: The new payments, without those of banks.
      known: What the ledger had of conversions.

    Returns:
      A sentence for each reason, account and currency, with count and sum.
    """
    found: dict[tuple[str, str, str], list[Decimal]] = defaultdict(list)
    conversions = []
    for payment in payments:
        if payment.movement == "conversion":
            conversions.append(payment)
            continue
        joins = bool(payment.order) and payment.movement in OF_ORDERS
        together = bool(payment.orders) and payment.movement in PAYING
        if not joins and not together and not payment.account:
            _add(payment, found)
    for payment in lone_sides(conversions, known):
        _add(payment, found)
    notes = []
    for (reason, account, currency), amounts in found.items():
        one, several, advice = _SAID[reason]
        what = one if len(amounts) == 1 else several
        notes.append(
            f"{len(amounts)} {what}: {sum(amounts)} {currency} is in {account}; {advice}"
        )
    return notes


def _add(payment: Payment, found: dict[tuple[str, str, str], list[Decimal]]) -> None:
    """Take in a payment, if it goes to suspense."""
    reason, amount = suspended(payment)
    if reason:
        account = payment.layout.accounts.suspense
        found[reason, account, payment.currency].append(amount)

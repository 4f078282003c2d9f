"""What buyers owe, what processors hold back, and what was paid ahead of delivery."""

from __future__ import annotations

from offcut.importers.values import ZERO
from offcut.reports.close.banks_used import bank_of
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.open_items import OpenItem
from offcut.reports.close.points import (
    TO_DO,
    TO_KNOW,
    ClosePoint,
    Found,
    Looked,
    Severity,
    counted,
    named,
)
from offcut.reports.close.settling import transfer

SALES_OF_COMMISSIONS = "Income:Sales:Commission"


def check_receivables(found: LedgerPass, days: int) -> Found:
    """Return the orders that owe something, or are owed.

    Args:
      found: What the ledger has.
      days: After how many days it is to be asked for.
    """
    items = found.open_items("receivable")
    since = [item for item in items if item.met]
    points = [_owed(found, item, days) for item in items if not item.met]
    in_order = []
    if since:
        text = f"{counted(len(since), 'order')} of the month paid since."
        in_order.append(Looked("Orders paid since", text))
    if not points:
        in_order.append(Looked("Orders are paid", "Nothing is owed at the month's end."))
    return Found(tuple(points), tuple(in_order))


def _owed(found: LedgerPass, item: OpenItem, days: int) -> ClosePoint:
    first = item.first
    age = (found.month.last - first.date).days
    severity: Severity = TO_DO if age > days else TO_KNOW
    buyer = first.entry.payee
    name = f"{item.name} ({named(buyer)})" if buyer and item.links else item.name
    if item.amount > ZERO:
        what = "Order not paid" if severity == TO_DO else "Order not paid yet"
        advice = "Ask for it, or import the file with its payment; or write this"
    else:
        what = "Buyer not paid back"
        advice = "Pay it back, or import the file with its refund; or write this"
    return ClosePoint(
        severity,
        what,
        f"{name}, in {item.account}, for {counted(age, 'day')}. {advice}, with the day of "
        "payment.",
        item.amount,
        item.currency,
        first.date,
        *first.place,
        settle=transfer(
            max(first.date, found.month.last),
            "Payment",
            item.links,
            item.account,
            bank_of(found, item.currency),
            item.amount,
            item.currency,
            found.opened,
            payee=buyer or "",
        ),
    )


def check_held(found: LedgerPass, days: int) -> Found:
    """Return what processors hold back.

    Args:
      found: What the ledger has.
      days: After how many days it is to be asked for.
    """
    points = [_held(found, item, days) for item in found.open_items("held") if not item.met]
    nothing = "Nothing is held back at the month's end, or it is released since."
    in_order = () if points else (Looked("Held money is released", nothing),)
    return Found(tuple(points), in_order)


def _held(found: LedgerPass, item: OpenItem, days: int) -> ClosePoint:
    layout = found.roles.layout_with("held", item.account)
    back = item.account.replace(":Held", ":Clearing", 1)
    age = (found.month.last - item.first.date).days
    return ClosePoint(
        TO_DO if age > days else TO_KNOW,
        "Held money not released",
        f"{item.name}, in {item.account}, for {counted(age, 'day')}. Ask the processor, or "
        "import its file; once it is released, write this with its day.",
        item.amount,
        item.currency,
        item.first.date,
        *item.first.place,
        settle=transfer(
            found.month.last,
            "Released",
            item.links,
            item.account,
            layout.accounts.clearing if layout else back,
            item.amount,
            item.currency,
            found.opened,
        ),
    )


def check_deposits(found: LedgerPass) -> Found:
    """Return what was paid ahead for work that is not delivered at the month's end.

    Args:
      found: What the ledger has.
    """
    points = [_deposit(found, item) for item in found.open_items("deposits")]
    nothing = "No work is paid ahead and not delivered."
    in_order = () if points else (Looked("Deposits", nothing),)
    return Found(tuple(points), in_order)


def _deposit(found: LedgerPass, item: OpenItem) -> ClosePoint:
    first = item.first
    channel = first.entry.meta.get("channel")
    channel = channel if isinstance(channel, str) else ""
    sales = next(
        (name for name in (f"Income:Sales:{channel}",) if name in found.opened),
        SALES_OF_COMMISSIONS,
    )
    settle = ""
    state = f"It is a liability until it is delivered; delivered on {item.met}."
    if not item.met:
        state = "It is a liability until it is delivered; on that day, write this."
        settle = transfer(
            found.month.last,
            first.entry.narration or "Delivered",
            item.links,
            item.account,
            sales,
            item.amount,
            item.currency,
            found.opened,
            payee=first.entry.payee or "",
            channel=channel,
        )
    return ClosePoint(
        TO_KNOW,
        "Deposit held",
        f"{item.name}, {named(first.entry.narration or 'paid ahead')}, in {item.account}. "
        f"{state}",
        -item.amount,
        item.currency,
        first.date,
        *first.place,
        settle=settle,
    )

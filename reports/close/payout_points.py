"""What there is to say, and to do, of payouts and of rows of banks."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from offcut.importers.bank.likeness import Precedent, nearest, words_of
from offcut.importers.bank.payout_matching import DAYS
from offcut.importers.values import ZERO
from offcut.reports.close.banks_used import bank_of
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.open_items import OpenItem
from offcut.reports.close.points import TO_DO, TO_KNOW, ClosePoint, Severity, named
from offcut.reports.close.settling import OTHER_COST, OTHER_INCOME, transfer

USUAL_PROCESSOR = "Assets:Clearing:Card"
WAY = datetime.timedelta(days=DAYS)


def on_its_way(item: OpenItem) -> ClosePoint:
    """Return the point of a payout that met its other side after the month."""
    is_sent = item.amount > ZERO
    verb = "arrived" if is_sent else "sent"
    return ClosePoint(
        TO_KNOW,
        "Payout was on its way" if is_sent else "Arrival before its payout",
        f"{item.name}, in {item.account}: {verb} on {item.met}.",
        item.amount,
        item.currency,
        item.first.date,
        *item.first.place,
    )


def not_arrived(found: LedgerPass, item: OpenItem) -> ClosePoint:
    """Return the point of a payout that no row is known of."""
    due = item.first.date + WAY
    newest = max((entry.date for entry in found.money), default=datetime.date.min)
    is_late = due <= found.month.last or due < newest
    severity: Severity = TO_DO if is_late else TO_KNOW
    bank = bank_of(found, item.currency)
    comes = item.amount > ZERO
    what = "Payout has not arrived" if comes else "Top-up has not left the bank"
    late = f"it was due by {due}" if is_late else f"it is due by {due}"
    return ClosePoint(
        severity,
        what,
        f"{item.name}, in {item.account}, of {item.first.date}: {late}. Import the bank's "
        "statement; or write this, with the day that the bank says.",
        item.amount,
        item.currency,
        item.first.date,
        *item.first.place,
        settle=transfer(
            item.first.date,
            "Arrival of a payout",
            item.links,
            item.account,
            bank,
            item.amount,
            item.currency,
            found.opened,
        ),
    )


def without_payout(found: LedgerPass, item: OpenItem) -> ClosePoint:
    """Return the point of a row that is booked as the arrival of an unknown payout."""
    processors = [
        (balance, name)
        for (name, currency), balance in sorted(found.balances.items())
        if found.roles[name] == "processor" and currency == item.currency
    ]
    processor = max(processors, default=(ZERO, USUAL_PROCESSOR))[1]
    return ClosePoint(
        TO_DO,
        "Arrival without its payout",
        f"{item.name} of {item.first.date}, in {item.account}. Import the processor's "
        "file; or write this, with the processor that it came from.",
        -item.amount,
        item.currency,
        item.first.date,
        *item.first.place,
        settle=transfer(
            item.first.date,
            "Payout",
            item.links,
            item.account,
            processor,
            item.amount,
            item.currency,
            found.opened,
        ),
    )


def same_amount(found: LedgerPass, item: OpenItem, row: OpenItem) -> ClosePoint:
    """Return the point of a payout that a row in suspense is the arrival of."""
    entry = row.first.entry
    return ClosePoint(
        TO_DO,
        "Payout and its row not matched",
        f"{item.name}, in {item.account}, of {item.first.date}; and {row.name} of "
        f"{row.first.date}, in {row.account}, has its amount. The next import matches "
        "them, or this.",
        item.amount,
        item.currency,
        item.first.date,
        *row.first.place,
        settle=transfer(
            row.first.date,
            entry.narration or "Arrival of a payout",
            (*item.links, *row.links),
            item.account,
            row.account,
            item.amount,
            item.currency,
            found.opened,
            payee=entry.payee or "",
        ),
    )


def waits(found: LedgerPass, item: OpenItem, precedents: Iterable[Precedent]) -> ClosePoint:
    """Return the point of a row that nothing is known of."""
    entry, came_in = item.first.entry, -item.amount > ZERO
    words = words_of(entry.payee or "", entry.narration or "")
    like = nearest(words, came_in, item.first.date, precedents)
    account = OTHER_INCOME if came_in else OTHER_COST
    advice = "Write what it is; the next ones like it by a rule in [[bank]]"
    if like:
        account = like.account
        advice = f"Like {named(like.what)} of {like.date}, booked to {like.account}"
    who = " / ".join(named(text) for text in (entry.payee, entry.narration) if text)
    return ClosePoint(
        TO_DO,
        "Row of the bank waits",
        f"{who or item.name}, in {item.account}. {advice}.",
        -item.amount,
        item.currency,
        item.first.date,
        *item.first.place,
        settle=transfer(
            item.first.date,
            entry.narration or "",
            item.links,
            item.account,
            account,
            item.amount,
            item.currency,
            found.opened,
            payee=entry.payee or "",
        ),
    )

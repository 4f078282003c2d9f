"""Payouts that have not met their row of a bank, and rows that wait for what they are."""

from __future__ import annotations

from offcut.importers.bank.payout_matching import find_arrivals
from offcut.importers.bank.state import BankAccounts, Payout, Payouts, WaitingRow
from offcut.reports.close.banks_used import precedents_in
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.open_items import OpenItem
from offcut.reports.close.payout_points import (
    not_arrived,
    on_its_way,
    same_amount,
    waits,
    without_payout,
)
from offcut.reports.close.points import Found, Looked, counted


def check_payouts(found: LedgerPass) -> Found:
    """Return the payouts and the rows of banks that have not met.

    Args:
      found: What the ledger has.
    """
    last = found.month.last
    # A row of a later day may be the one that a payout arrived by.
    items = found.open_items("payouts", all_days=True)
    rows = [item for item in found.open_items("suspense", all_days=True) if _is_row(item)]
    sent = {_payout(item): item for item in items if not _is_arrival(found, item)}
    waiting = {
        _row(item): item
        for item in (*(each for each in items if _is_arrival(found, each)), *rows)
    }
    accounts = BankAccounts(
        frozenset(), frozenset({item.account for item in items}), frozenset(), frozenset()
    )
    pairs = find_arrivals(waiting, Payouts(list(sent), _met(found)), accounts)
    arrives = {payout: waiting[row] for row, payout in pairs.items()}

    points = [on_its_way(item) for item in found.open_items("payouts") if item.met]
    for payout, item in sent.items():
        row = arrives.get(payout)
        if item.first.date > last:
            continue
        if row is None:
            points.append(not_arrived(found, item))
        elif row.account != item.account:
            points.append(same_amount(found, item, row))
    unknown = {
        row: item
        for row, item in waiting.items()
        if row not in pairs and item.first.date <= last
    }
    precedents = list(precedents_in(found)) if unknown else []
    for item in unknown.values():
        if found.roles[item.account] == "payouts":
            points.append(without_payout(found, item))
        else:
            points.append(waits(found, item, precedents))

    arrived = sum(
        not group.at_end and not group.total
        for groups in found.groups.get("payouts", {}).values()
        for group in groups.values()
        if group.since <= last
    ) + sum(row.account == payout.account for row, payout in pairs.items())
    in_order = []
    if arrived or not points:
        text = (
            f"{counted(arrived, 'payout')} met a row of the bank by the month's end."
            if arrived
            else "No payout is on its way."
        )
        in_order.append(Looked("Payouts have arrived", text))
    if not unknown:
        in_order.append(Looked("Rows of banks are matched", "No row of a bank waits."))
    return Found(tuple(points), tuple(in_order))


def _is_row(item: OpenItem) -> bool:
    return any(link.startswith("bank-") for link in item.links)


def _is_arrival(found: LedgerPass, item: OpenItem) -> bool:
    """Return whether an open item is a bank's side of a payout: not what was sent."""
    if item.links:
        return _is_row(item)
    roles = found.roles
    return any(roles[each.account] == "bank" for each in item.first.entry.postings)


def _payout(item: OpenItem) -> Payout:
    link = " ".join(item.links) or str(item.first.place)
    return Payout(item.first.date, link, item.account, item.amount, item.currency)


def _row(item: OpenItem) -> WaitingRow:
    """Return an open item as a row of a bank; what waits of it came in where it is owed."""
    entry = item.first.entry
    return WaitingRow(
        item.first.date,
        " ".join(item.links) or str(item.first.place),
        "",
        entry.payee or "",
        entry.narration or "",
        "",
        item.account,
        -item.amount,
        item.currency,
        whole=-item.amount == -item.first.number and len(entry.postings) == 2,
    )


def _met(found: LedgerPass) -> list[tuple[Payout, Payout]]:
    """Return the payouts that have arrived, with their arrivals."""
    pairs = []
    for (account, currency), groups in found.groups.get("payouts", {}).items():
        for group in groups.values():
            if not group.total and group.links[0].startswith("payout-"):
                amount, link = group.first.number, " ".join(group.links)
                sent = Payout(group.first.date, link, account, amount, currency)
                pairs.append((sent, sent._replace(date=group.last)))
    return pairs

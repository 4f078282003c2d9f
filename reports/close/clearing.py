"""Whether what processors keep for the maker is zero, asserted, or paid out since."""

from __future__ import annotations

import datetime

from offcut.importers.bank.payout_matching import DAYS
from offcut.importers.values import ZERO
from offcut.reports.close.bank_balances import balance_line, is_closed
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.open_items import Account, OpenItem
from offcut.reports.close.points import (
    TO_DO,
    TO_KNOW,
    ClosePoint,
    Found,
    Looked,
    counted,
    several,
)
from offcut.reports.close.settling import transfer
from offcut.reports.figures import money


def check_processors(found: LedgerPass) -> Found:
    """Return the processors' accounts with a balance that nothing confirms.

    Args:
      found: What the ledger has.
    """
    month = found.month
    points, zero, asserted = [], [], []
    for account, balance in sorted(found.balances.items()):
        name, currency = account
        if found.roles[name] != "processor" or is_closed(found, name):
            continue
        shown = f"{money(balance, currency)} {currency}"
        if assertion := found.asserted.get(account):
            asserted.append(f"{name} {shown} (on {assertion.date})")
        elif not balance:
            zero.append(f"{name} ({currency})")
        elif emptied := _emptied(found, account):
            points.append(
                ClosePoint(
                    TO_KNOW,
                    "Clearing account, paid out since",
                    f"{name} had a balance, of which nothing was left on {emptied}.",
                    balance,
                    currency,
                    month.last,
                )
            )
        else:
            points.append(
                ClosePoint(
                    TO_DO,
                    "Clearing account not at zero",
                    f"{name} holds money that no later payout takes. Look up the balance "
                    "that the processor says; where it is this one, write this line. Where "
                    "it is not, a row is missing or is there twice.",
                    balance,
                    currency,
                    month.last,
                    settle=balance_line(month, name, balance, currency),
                )
            )
    in_order = []
    if zero:
        in_order.append(Looked("Clearing accounts at zero", f"{several(zero)}."))
    if asserted:
        listed = several(asserted)
        in_order.append(Looked("Processors' balances asserted", f"{listed}."))
    if not points and not in_order:
        in_order.append(Looked("Clearing accounts at zero", "No such account is used."))
    return Found(tuple(points), tuple(in_order))


def _emptied(found: LedgerPass, account: Account) -> datetime.date | None:
    """Return the first day soon after the month at whose close nothing was left."""
    balance = found.balances[account]
    for day, moved in sorted(found.later.get(account, {}).items()):
        if (day - found.month.last).days > DAYS:
            break
        balance += moved
        if balance == ZERO:
            return day
    return None


def check_remitted(found: LedgerPass) -> Found:
    """Return what of the tax that marketplaces pay over does not pass through.

    Args:
      found: What the ledger has.
    """
    items = found.open_items("remitted")
    passed = sum(
        not group.at_end and not group.total
        for groups in found.groups.get("remitted", {}).values()
        for group in groups.values()
        if group.since <= found.month.last
    )
    points = [_remitted(found, item) for item in items]
    in_order = []
    if passed or not points:
        orders = counted(passed, "order")
        text = (
            f"{orders}: what was charged is what was kept back."
            if passed
            else "None is in the books by the month's end."
        )
        in_order.append(Looked("Tax that marketplaces pay over", text))
    return Found(tuple(points), tuple(in_order))


def _remitted(found: LedgerPass, item: OpenItem) -> ClosePoint:
    layout = found.roles.layout_with("tax_remitted", item.account)
    amount = item.amount
    if item.met:
        return ClosePoint(
            TO_KNOW,
            "Remitted tax was on its way",
            f"{item.name}, in {item.account}: settled on {item.met}.",
            amount,
            item.currency,
            item.first.date,
            *item.first.place,
        )
    if amount > ZERO:
        owed = _owed(found, item)
        if owed:
            why = f"kept back by the marketplace, and booked as owed in {owed}"
            return _remitted_point(
                found,
                item,
                f"{why}. Its orders' layout says so from now on by [orders] tax = "
                '"remitted"; this takes it out of what is owed.',
                owed,
            )
        why = "kept back by the marketplace, and not in the books as charged"
        what = "import the file of its orders; what stays is a fee"
        into = layout.accounts.fees if layout else "Expenses:Fees"
    else:
        why = "charged to the buyer, and not kept back by the marketplace"
        what = "import the file of its payments; what stays is yours to pay to the office"
        into = layout.accounts.tax if layout else "Liabilities:SalesTax"
    return _remitted_point(found, item, f"{why}. First {what}, as this books it.", into)


def _owed(found: LedgerPass, item: OpenItem) -> str:
    """Return the account in which the tax of an order is owed as well; "" where none is."""
    links = set(item.links)
    for (account, currency), groups in sorted(found.groups.get("tax", {}).items()):
        if currency == item.currency:
            of_order = [each.total for each in groups.values() if links & {*each.links}]
            if sum(of_order, ZERO) <= -item.amount:
                return account
    return ""


def _remitted_point(
    found: LedgerPass, item: OpenItem, advice: str, into: str
) -> ClosePoint:
    amount = item.amount
    return ClosePoint(
        TO_DO,
        "Remitted tax not at zero",
        f"{item.name}, in {item.account}: {advice}",
        amount,
        item.currency,
        item.first.date,
        *item.first.place,
        settle=transfer(
            item.first.date,
            "Sales tax that did not pass through",
            item.links,
            item.account,
            into,
            amount,
            item.currency,
            found.opened,
        ),
    )

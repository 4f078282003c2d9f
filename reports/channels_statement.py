"""State where things were sold: channels, fairs, buyers on invoice, and what they owe."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Iterator, Sequence

from offcut.importers.splitting import EXACT, ZERO
from offcut.importers.values import minor_unit
from offcut.reports.books import Books
from offcut.reports.figures import money, plain
from offcut.reports.findings import fair_losses, overdue
from offcut.reports.flows import money_transactions, weight
from offcut.reports.net_income import Tie
from offcut.reports.order_table import in_period, of_currency
from offcut.reports.outlets.buyers import buyers, buyers_of_orders
from offcut.reports.outlets.buyers_table import buyers_table
from offcut.reports.outlets.channels import channels
from offcut.reports.outlets.channels_table import channels_table
from offcut.reports.outlets.fairs import fairs
from offcut.reports.outlets.fairs_table import fairs_table
from offcut.reports.outlets.owed_table import owed_table
from offcut.reports.outlets.receivables import (
    RECEIVABLE,
    OpenInvoice,
    open_invoices,
    receivable_balance,
)
from offcut.reports.outlets.sums import exact_sum
from offcut.reports.period import Period
from offcut.reports.statement import Check, Note, Statement

TITLE = "Channels, fairs and buyers"
_SIGNS = Note(
    "Costs are negative, so a channel's amounts add up to its contribution. Other is what "
    "it cost to be there, table fees, travel, advertising, subscriptions and giveaways; "
    "of the line without a channel it is all that belongs to none. Margin is the "
    "contribution's share of sales and shipping."
)
_CARRIAGE = Note(
    "Carriage is shipping charged to buyers less postage and packaging.", "narrow"
)
_FAIRS = Note(
    "A fair counts whole, with its table paid before and its card payments after. What is "
    "left of a sale after goods, fees and packing pays for the table and the way there: "
    "break-even is the sales that just do."
)
_BUYERS = Note(
    "Buyers are the payees of invoices that a receivable account was debited with. What "
    "was paid goes to the order that it names, and to the oldest invoice first."
)


def channels_statement(
    books: Books, period: Period, currency: str, today: datetime.date
) -> Statement:
    """Return the statement of channels.

    Args:
      books: The ledger.
      period: The days; what is owed is as at the close of the last, or of today.
      currency: The currency of all amounts.
      today: Today.
    """
    day = min(period.last or today, today)
    invoices = open_invoices(books.on_account, books.options, day)
    mine = [each for each in invoices if each.currency == currency]
    whole = of_currency(books.table, currency)
    rows = in_period(whole, period)
    sold = channels(rows)
    expenses = str(books.options["name_expenses"])
    been_at = fairs(whole, period, currency, expenses)
    shops = buyers(books.on_account, books.options, rows, mine, currency)
    folder = books.path.resolve().parent
    tables = [channels_table(sold, rows, folder, currency)]
    notes = [_SIGNS, _CARRIAGE] if sold else []
    if been_at:
        tables.append(fairs_table(been_at, whole, folder, currency, expenses))
        notes.append(_FAIRS)
    if shops:
        root = f"{books.options['name_assets']}:{RECEIVABLE}"
        names = buyers_of_orders(books.on_account, root)
        tables.append(buyers_table(shops, names, rows, folder, day, currency))
        notes.append(_BUYERS)
    if mine:
        tables.append(owed_table(mine, day, currency, folder))
    ledger = books.net_income(period).get(currency, ZERO)
    total = exact_sum(each.contribution for each in sold)
    tie = Tie(total, ledger, currency)
    checks = [Check(tie.sentence, tie.holds)]
    if invoices:
        checks.append(_owed_check(books, invoices, currency, day))
    return Statement(
        title=TITLE,
        period=period.label,
        tables=tuple(tables),
        checks=tuple(checks),
        notes=(*notes, *_elsewhere(invoices, currency)),
        findings=(*fair_losses(been_at, currency), *overdue(mine, day, currency)),
    )


def _owed_check(
    books: Books, invoices: Sequence[OpenInvoice], currency: str, day: datetime.date
) -> Check:
    """Return what is owed, held against the balance of the accounts."""
    root = f"{books.options['name_assets']}:{RECEIVABLE}"
    owed = receivable_balance(invoices, currency)
    with decimal.localcontext(EXACT):
        balance = sum(
            (
                weighed[0]
                for entry in money_transactions(books.on_account)
                if entry.date <= day
                for posting in entry.postings
                if posting.account.startswith(root)
                and (weighed := weight(posting)) is not None
                and weighed[1] == currency
            ),
            ZERO,
        )
        holds = abs(owed - balance) * 2 < minor_unit(currency)
    of_accounts = f"{money(balance, currency)} {currency}"
    if holds:
        sentence = f"What is owed adds up to {of_accounts}, the balance of {root} that day."
    else:
        sentence = (
            f"WHAT IS OWED DOES NOT ADD UP: {money(owed, currency)} {currency} against "
            f"{of_accounts}, the balance of {root}. This is a fault in offcut."
        )
    return Check(sentence, holds)


def _elsewhere(invoices: Iterable[OpenInvoice], currency: str) -> Iterator[Note]:
    """Yield what is owed in other currencies."""
    for other in sorted({each.currency for each in invoices} - {currency}):
        amount = money(receivable_balance(invoices, other), other)
        code = plain(other)
        yield Note(f"Besides, {amount} {code} is owed; --currency {code} shows it.")

"""State where things were sold: channels, fairs, buyers on invoice, and what they owe."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.importers.values import minor_unit
from offcut.reports.books import Books
from offcut.reports.figures import money, plain
from offcut.reports.flows import money_transactions, weight
from offcut.reports.net_income import Tie
from offcut.reports.order_table import in_period, of_currency
from offcut.reports.outlets.buyers import Buyer, buyers
from offcut.reports.outlets.channels import Channel, channels
from offcut.reports.outlets.fairs import Fair, fairs
from offcut.reports.outlets.receivables import (
    RECEIVABLE,
    OpenInvoice,
    open_invoices,
    receivable_balance,
)
from offcut.reports.period import Period, long_date
from offcut.reports.sources import (
    ALL_ORDERS,
    behind,
    more_text,
    place_from,
    rest_of,
)
from offcut.reports.statement import (
    Bar,
    Cell,
    Chart,
    Check,
    Column,
    Line,
    Note,
    Source,
    Statement,
    Table,
)

TITLE = "Channels, fairs and buyers"
# More lines than these are summed up in one.
MOST_LINES = 40


class Band(NamedTuple):
    """Days since the invoice; common practice, no source.

    Attributes:
      heading: What stands above its column.
      first: The least days.
      last: The most days; None where there are none.
    """

    heading: str
    first: int
    last: int | None


BANDS = (
    Band("Up to 30 days", -(10**9), 30),
    Band("31-60", 31, 60),
    Band("61-90", 61, 90),
    Band("Over 90", 91, None),
)
NO_CHANNEL = "No channel"
CHANNELS = (
    Column("Channel", "text"),
    Column("Orders", "units", "wide"),
    Column("Pieces", "units", "wide", adds_up=True),
    Column("Sales", adds_up=True),
    Column("Shipping", shown="wide", adds_up=True),
    Column("Fees", adds_up=True),
    Column("Post, pack", adds_up=True),
    Column("Goods", adds_up=True),
    Column("Other", adds_up=True),
    Column("Contribution", adds_up=True, is_result=True),
    Column("Margin", "share"),
    Column("An order", shown="wide"),
)
_SIGNS = Note(
    "Costs are negative, so a channel's amounts add up to its contribution. Other is what "
    "it cost to be there, table fees, travel, advertising, subscriptions and giveaways; "
    "of the line without a channel it is all that belongs to none. Margin is the "
    "contribution's share of sales and shipping."
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
    tables = [_channels(sold, rows, folder, currency)]
    notes = [_SIGNS] if sold else []
    if been_at:
        tables.append(_fairs(been_at, currency))
        notes.append(_FAIRS)
    if shops:
        tables.append(_buyers(shops, day, currency))
        notes.append(_BUYERS)
    if mine:
        tables.append(_ages(mine, day, currency, folder))
    ledger = books.net_income(period).get(currency, ZERO)
    total = _sum(each.contribution for each in sold)
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
    )


def _channels(
    sold: Sequence[Channel], rows: pd.DataFrame, folder: Path, currency: str
) -> Table:
    """Return the table of channels."""
    lines = list(_channel_lines(sold, rows, folder))
    chart = None
    if lines:
        together = Channel(
            "Total",
            sum(each.orders for each in sold),
            *(
                _sum(getattr(each, name) for each in sold)
                for name in Channel.__dataclass_fields__
                if name not in ("name", "orders")
            ),
        )
        positions = tuple(range(len(lines)))
        # Sales without an order's number would be counted in an average order.
        cells = (*_channel_cells(together)[:-1], None)
        lines.append(Line(cells, "total", sums=positions))
        chart = Chart(
            tuple(
                Bar(each.name, each.income, each.contribution) for each in sold if each.name
            ),
            whole="what buyers paid",
            part="contribution",
        )
    return Table(
        title="Channels",
        columns=CHANNELS,
        lines=tuple(lines),
        slug="channels",
        currency=currency,
        empty="No income and no costs on these days.",
        chart=chart,
    )


def _channel_lines(
    sold: Iterable[Channel], rows: pd.DataFrame, folder: Path
) -> Iterator[Line]:
    """Yield the line of each channel, with what is behind it."""
    found = behind(rows, rows["channel"].where(rows["channel"] != "", NO_CHANNEL), folder)
    # Each transaction as a channel of its own is summed up in the same way.
    each = found.rows.assign(channel=found.rows["at"].map(str))
    sums = {int(part.name): part for part in channels(each)}
    for channel in sold:
        name = channel.name or NO_CHANNEL
        cells = _channel_cells(channel)
        sources = []
        for at in found.figures[name]:
            transaction = found.transactions[at]
            amounts = (
                cell if column.adds_up else None
                for cell, column in zip(
                    _channel_cells(sums[at])[1:], CHANNELS[1:], strict=True
                )
            )
            sources.append(Source((transaction.name, *amounts), transaction.place))
        if more := found.left_out.get(name, 0):
            sources.append(rest_of(cells, sources, [more_text(more)], ALL_ORDERS, more))
        yield Line(cells, sources=tuple(sources))


def _channel_cells(channel: Channel) -> tuple[Cell, ...]:
    return (
        channel.name or NO_CHANNEL,
        Decimal(channel.orders) if channel.orders else None,
        channel.pieces,
        channel.sales,
        channel.shipping,
        channel.fees,
        channel.delivery,
        channel.goods,
        channel.selling,
        channel.contribution,
        channel.margin,
        channel.each_order,
    )


def _fairs(been_at: Sequence[Fair], currency: str) -> Table:
    """Return the table of fairs."""
    lines = []
    for fair in been_at[:MOST_LINES]:
        held = fair.break_even
        lines.append(
            Line(
                (
                    fair.event,
                    fair.first,
                    fair.pieces,
                    fair.sales,
                    held.variable if held else None,
                    -fair.fixed,
                    fair.result,
                    held.needed if held else None,
                    held.beyond if held else None,
                )
            )
        )
    rest = been_at[MOST_LINES:]
    if rest:
        lines.append(
            Line(
                (
                    f"{len(rest)} earlier fairs",
                    None,
                    _sum(fair.pieces for fair in rest),
                    _sum(fair.sales for fair in rest),
                    _sum(fair.break_even.variable for fair in rest if fair.break_even),
                    -_sum(fair.fixed for fair in rest),
                    _sum(fair.result for fair in rest),
                    None,
                    None,
                )
            )
        )
    return Table(
        title="Fairs",
        columns=(
            Column("Fair", "text"),
            Column("First day", "date", "wide"),
            Column("Pieces", "units", adds_up=True),
            Column("Sales", adds_up=True),
            Column("Goods, fees", adds_up=True),
            Column("Table, travel", adds_up=True),
            Column("Earned", adds_up=True, is_result=True),
            Column("Break-even"),
            Column("Beyond it", shown="wide", is_result=True),
        ),
        lines=tuple(lines),
        slug="fairs",
        currency=currency,
    )


def _buyers(shops: Sequence[Buyer], day: datetime.date, currency: str) -> Table:
    """Return the table of buyers on invoice."""
    lines = [
        Line(
            (
                shop.name,
                Decimal(shop.invoices),
                shop.pieces,
                shop.sales,
                shop.contribution,
                shop.contribution / shop.sales if shop.sales > ZERO else None,
                shop.owed,
                Decimal((day - shop.oldest).days) if shop.oldest else None,
            )
        )
        for shop in shops[:MOST_LINES]
    ]
    rest = shops[MOST_LINES:]
    if rest:
        lines.append(
            Line(
                (
                    f"{len(rest):,} more buyers",
                    Decimal(sum(shop.invoices for shop in rest)),
                    _sum(shop.pieces for shop in rest),
                    _sum(shop.sales for shop in rest),
                    _sum(shop.contribution for shop in rest),
                    None,
                    _sum(shop.owed for shop in rest),
                    None,
                )
            )
        )
    return Table(
        title="Buyers on invoice",
        columns=(
            Column("Buyer", "text"),
            Column("Invoices", "units", adds_up=True),
            Column("Pieces", "units", adds_up=True),
            Column("Sales", adds_up=True),
            Column("Contribution", adds_up=True, is_result=True),
            Column("Margin", "share"),
            Column("Owed", adds_up=True),
            Column("Days", "units"),
        ),
        lines=tuple(lines),
        slug="buyers-on-invoice",
        currency=currency,
    )


def _ages(
    invoices: Sequence[OpenInvoice], day: datetime.date, currency: str, folder: Path
) -> Table:
    """Return the table of what is owed, by the days since the invoice."""
    lines = []
    for each in invoices[:MOST_LINES]:
        cells = (_invoice_name(each), each.date, *_banded([each], day))
        source = Source(cells, place_from(folder, each.file, each.line))
        lines.append(Line(cells, code=each.account, sources=(source,)))
    rest = invoices[MOST_LINES:]
    if rest:
        lines.append(Line((f"{len(rest):,} more invoices", None, *_banded(rest, day))))
    if len(lines) > 1:
        positions = tuple(range(len(lines)))
        total = ("Total", None, *_banded(invoices, day))
        lines.append(Line(total, "total", sums=positions))
    return Table(
        title=f"Owed on {long_date(day)}, by days since the invoice",
        columns=(
            Column("Order and buyer", "text"),
            Column("Invoice", "date"),
            *(Column(band.heading, adds_up=True) for band in BANDS),
            Column("Owed", adds_up=True),
        ),
        lines=tuple(lines),
        slug="receivables",
        currency=currency,
    )


def _invoice_name(invoice: OpenInvoice) -> str:
    """Return what an open invoice is called: its order and its buyer."""
    named = [text for text in (invoice.order, invoice.buyer) if text]
    name = ", ".join(named) or invoice.account
    return f"{name}: paid too much" if invoice.amount < ZERO else name


def _banded(invoices: Iterable[OpenInvoice], day: datetime.date) -> list[Decimal | None]:
    """Return what invoices come to in each band of days, and in all."""
    several = list(invoices)
    cells: list[Decimal | None] = []
    for band in BANDS:
        in_band = [
            each.amount
            for each in several
            if band.first <= each.age(day)
            and (band.last is None or each.age(day) <= band.last)
        ]
        cells.append(_sum(in_band) if in_band else None)
    return [*cells, _sum(each.amount for each in several)]


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


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    """Return the sum of amounts, to the last digit."""
    with decimal.localcontext(EXACT):
        return sum(amounts, ZERO)

"""Write what was sold away from the screen: at fairs, to a shop, on commission."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from decimal import Decimal as D

from making import shop, story
from making.ledger_text import BANK, Entry, Leg, Meta, directive, transaction
from making.trade import Movement, Order, cents

TAX = "Liabilities:SalesTax"
CASH, READER = "Assets:Cash", "Assets:Clearing:Reader"
READER_FEE = D("0.026")

FAIRS = """\
Fairs: tables, the way there, and what was sold over the table.

The tag of a fair ties its costs to its sales. Prices at a table include sales tax.
What was sold is from the tally sheet; the cash was counted, the card reader pays
the rest to the bank two days later, less its fee. The cents that are left over when
tax is taken out of each price are on the last line.
"""
WHOLESALE = """\
Wholesale: one shop that buys at half of my list prices and pays in thirty days or so.

It resells what it buys, and so pays no sales tax to me.
"""
COMMISSIONS = """\
Commissions: pieces drawn for one customer.

Half is paid with the order; until the piece is handed over that is money I owe.
What is used up for it comes out of the materials.
"""
AFTERWARDS = """\
Afterwards: what happened to an order of the web shop or the market after its sale.

The link of the order puts each cost with the order that it belongs to.
"""


def fairs() -> Iterator[Entry]:
    """Yield the costs and sales of all fairs."""
    for fair in story.FAIRS:
        tag = f"#event-{fair.event}"
        comment = fair.comment
        for cost in fair.costs:
            yield transaction(
                story.day(cost.date),
                f"{fair.name}: {cost.narration.lower()}",
                [Leg(cost.account, D(cost.amount)), Leg(BANK, -D(cost.amount))],
                payee=cost.payee,
                marks=tag,
                meta=(("channel", "Fair"),),
                comment=comment,
            )
            comment = ""
        for fair_day in fair.days:
            yield from _fair_day(fair, fair_day, tag)


def _fair_day(fair: story.Fair, fair_day: story.FairDay, tag: str) -> Iterator[Entry]:
    """Yield a day's sales, and their money on its way to the bank."""
    date = story.day(fair_day.date)
    sold = [(number, code) for number, code in story.pieces(fair_day.sold)]
    taken = sum((n * _list_price(code) for n, code in sold), D("0.00"))
    tax = taken - cents(taken / (1 + shop.SALES_TAX))
    cash = D(fair_day.cash)
    fee = cents((taken - cash) * READER_FEE)
    by_reader = taken - cash - fee
    lines = _net_lines("Fair", sold, taken - tax)
    yield transaction(
        date,
        f"{fair.name}: {fair_day.title}",
        [
            Leg(CASH, cash),
            Leg(READER, by_reader),
            Leg("Expenses:Fees:Reader", fee),
            Leg(TAX, -tax),
            *lines,
        ],
        marks=tag,
        meta=(("channel", "Fair"),),
    )
    yield transaction(
        date + datetime.timedelta(days=2),
        "Card sales and cash paid in",
        [Leg(BANK, by_reader + cash), Leg(READER, -by_reader), Leg(CASH, -cash)],
        payee=fair.name,
        marks=tag,
    )


def _list_price(code: str) -> D:
    return shop.price(shop.BY_CODE[code], "Fair")


def _net_lines(channel: str, sold: list[tuple[int, str]], net: D) -> list[Leg]:
    """Return sale lines at list price without the tax in them; cents go to the last."""
    amounts = [cents(n * _list_price(code) / (1 + shop.SALES_TAX)) for n, code in sold]
    amounts[-1] += net - sum(amounts)
    return [
        _sale_line(channel, n, code, amount)
        for (n, code), amount in zip(sold, amounts, strict=True)
    ]


def _sale_line(channel: str, number: int, code: str, amount: D) -> Leg:
    meta: Meta = (("item", code), ("quantity", number))
    return Leg(f"Income:Sales:{channel}", -amount, meta=meta)


def wholesale() -> Iterator[Entry]:
    """Yield the shop's orders, their labels and their payments."""
    receivable = "Assets:Receivable:Wholesale"
    for order in story.WHOLESALE:
        date, link = story.day(order.date), f"^order-{order.number}"
        lines = [
            _sale_line("Wholesale", number, code, number * _list_price(code) / 2)
            for number, code in story.pieces(order.sold)
        ]
        total = -sum((line.number for line in lines), D("0.00"))
        meta: Meta = (("channel", "Wholesale"),)
        yield transaction(
            date,
            f"Invoice {order.number}",
            [Leg(receivable, total), *lines],
            payee=story.STATIONER,
            marks=link,
            meta=meta,
            comment=order.comment,
        )
        yield transaction(
            date,
            f"Parcel label, {order.number}",
            [Leg("Expenses:Postage:Labels", D(order.label)), Leg(BANK, -D(order.label))],
            payee=shop.POST_OFFICE,
            marks=link,
            meta=meta,
        )
        if order.paid:
            yield transaction(
                story.day(order.paid),
                f"Invoice {order.number}, paid",
                [Leg(BANK, total), Leg(receivable, -total)],
                payee=story.STATIONER,
                marks=link,
            )


def commissions() -> Iterator[Entry]:
    """Yield deposits, hand-overs and materials."""
    owed = "Liabilities:Deposits"
    for each in story.COMMISSIONS:
        link = f"^order-{each.number}"
        meta: Meta = (("channel", "Commission"),)
        price = D(each.price)
        deposit = cents(price / 2)
        tax = cents(price * shop.SALES_TAX) if each.home else D("0.00")
        yield transaction(
            story.day(each.ordered),
            f"{each.title}: deposit",
            [Leg(BANK, deposit), Leg(owed, -deposit)],
            marks=link,
            meta=meta,
        )
        yield transaction(
            story.day(each.done),
            f"{each.title}: handed over",
            [
                Leg(BANK, price - deposit + tax),
                Leg(owed, deposit),
                *([Leg(TAX, -tax)] if tax else []),
                Leg("Income:Sales:Commission", -price),
            ],
            marks=link,
            meta=meta,
        )
        used = f'custom "stock-out" {each.materials} Expenses:COGS:Commissions'
        yield directive(story.day(each.done), used, meta=meta)


def afterwards(orders: Iterable[Order], movements: Iterable[Movement]) -> Iterator[Entry]:
    """Yield tracking bought and pieces that came back, but for the last month.

    The last month's orders are still in the inbox.
    """
    for order in orders:
        if f"{order.date:%Y-%m}" != shop.LAST_MONTH and order.total >= shop.TRACKED_FROM:
            yield transaction(
                order.date,
                f"Tracking for {order.number}",
                [
                    Leg("Expenses:Postage:Tracking", shop.TRACKING),
                    Leg(BANK, -shop.TRACKING),
                ],
                payee=shop.POST_OFFICE,
                marks=f"^order-{order.number}",
                meta=(("channel", order.channel),),
            )
    comment = (
        "The refund itself comes with the payments (imports/), for the order as a whole.\n"
        "Here it becomes the refund of a piece, which goes back on the shelf at its cost."
    )
    for each in sorted(movements, key=lambda each: each.date):
        if not each.back or f"{each.date:%Y-%m}" == shop.LAST_MONTH:
            continue
        account = f"Income:Refunds:{each.channel}"
        back: Meta = (("item", each.back), ("quantity", 1))
        yield transaction(
            each.date,
            f"{each.order}: {each.back} came back in good order",
            [Leg(account, -each.gross, meta=back), Leg(account, each.gross)],
            marks=f"^order-{each.order}",
            meta=(("channel", each.channel),),
            comment=comment,
        )
        comment = ""

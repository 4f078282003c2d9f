"""Write what only the bank account shows: payouts, taxes, drawings, other bills."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal as D

from making import shop, story
from making.ledger_text import (
    BANK,
    RESERVE,
    Entry,
    Leg,
    amount_line,
    directive,
    transaction,
)
from making.selling_files import TAX
from making.trade import Movement, Order, month_days

HEAD = """\
Bank: payouts, sales tax, drawings and the bills of running a shop.

The balance of each quarter is from the bank's statement.
"""
PAYERS = {"Web": "The card processor", "Market": "The market"}
DAY = datetime.timedelta(days=1)
SATURDAY = 5
SALES_TAX_DAY = 20  # of the month after a quarter
QUARTER_STARTS = (1, 4, 7, 10)


def bank(
    elsewhere: Iterable[Entry], orders: Iterable[Order], movements: Iterable[Movement]
) -> list[Entry]:
    """Return the entries of bank.beancount.

    Args:
      elsewhere: The entries of the other files.
      orders: The orders of all channels.
      movements: The payments of all channels.
    """
    elsewhere = list(elsewhere)
    charged = [(entry.date, -entry.change(TAX)) for entry in elsewhere]
    charged += [(order.paid, order.tax) for order in orders]
    entries = [
        _capital(),
        *_payouts(movements),
        *_hosting(),
        *_bills(),
        *_drawings(),
        *_set_aside(),
        *_estimated_tax(),
        *_sales_tax(charged),
    ]
    return [*entries, *_balances([*entries, *elsewhere])]


def _capital() -> Entry:
    amount = story.OPENING_CAPITAL
    return transaction(
        shop.OPENING,
        "Savings to begin with",
        [Leg(BANK, amount), Leg("Equity:Capital", -amount)],
        comment="Everything before this day was a hobby.",
    )


def _payouts(movements: Iterable[Movement]) -> Iterator[Entry]:
    """Yield payouts as they reach the bank."""
    for each in movements:
        date = each.date + 2 * DAY
        while date.weekday() >= SATURDAY:
            date += DAY
        if each.kind == "payout" and date <= shop.LAST_DAY:
            yield transaction(
                date,
                each.text,
                [Leg(BANK, -each.gross), Leg("Assets:Clearing:Payouts", each.gross)],
                payee=PAYERS[each.channel],
                marks=f"^payout-{each.reference}",
            )


def _hosting() -> Iterator[Entry]:
    for month in shop.MONTHS:
        date = story.day(f"{month}-05")
        legs = [Leg("Expenses:Office:Hosting", story.HOSTING), Leg(BANK, -story.HOSTING)]
        yield transaction(date, "Web shop, one month", legs, payee="The web host")


def _bills() -> Iterator[Entry]:
    for bill in story.BILLS:
        amount = D(bill.amount)
        yield transaction(
            story.day(bill.date),
            bill.narration,
            [Leg(bill.account, amount, meta=bill.meta), Leg(BANK, -amount)],
            payee=bill.payee,
            comment=bill.comment,
        )


def _drawings() -> Iterator[Entry]:
    """Yield what the owner takes out each month, once there is enough to take."""
    for month in shop.MONTHS:
        amounts = [amount for since, amount in story.DRAWINGS.items() if since <= month]
        if amounts:
            legs = [Leg("Equity:Drawings", amounts[-1]), Leg(BANK, -amounts[-1])]
            yield transaction(story.day(f"{month}-25"), "For rent and soup", legs)


def _set_aside() -> Iterator[Entry]:
    """Yield what is put by for the owner's income tax."""
    for date, amount in story.TAX_SET_ASIDE.items():
        legs = [Leg(RESERVE, amount), Leg(BANK, -amount)]
        yield transaction(story.day(date), "Set aside for the tax office", legs)


def _estimated_tax() -> Iterator[Entry]:
    """Yield the owner's own income tax: paid on account, and with the return."""
    payee = "The tax office"
    for date, amount in story.ESTIMATED_TAX.items():
        account = RESERVE if date > min(story.TAX_SET_ASIDE) else BANK
        legs = [Leg("Equity:Drawings:Tax", amount), Leg(account, -amount)]
        title = "My income tax, estimated: a drawing, not a cost of the shop"
        yield transaction(story.day(date), title, legs, payee=payee)
    amount = story.TAX_WITH_RETURN
    yield transaction(
        story.day(story.TAX_RETURN_DAY),
        "My income tax, what was left to pay with the return",
        [Leg("Equity:Drawings:Tax", amount), Leg(RESERVE, -amount)],
        payee=payee,
        meta=(("tax-year", story.TAX_RETURN_YEAR),),
    )


def _sales_tax(charged: Iterable[tuple[datetime.date, D]]) -> Iterator[Entry]:
    """Yield the sales tax charged in each quarter, paid in the month after it."""
    quarters: dict[tuple[int, int], D] = defaultdict(D)
    for date, amount in charged:
        quarters[date.year, (date.month + 2) // 3] += amount
    for (year, quarter), amount in sorted(quarters.items()):
        due = datetime.date(year + quarter // 4, quarter % 4 * 3 + 1, SALES_TAX_DAY)
        if due <= shop.LAST_DAY:
            legs = [Leg(TAX, amount), Leg(BANK, -amount)]
            title = f"Sales tax for {year}, quarter {quarter}"
            yield transaction(due, title, legs, payee="The tax office")


def _balances(entries: list[Entry]) -> Iterator[Entry]:
    """Yield what the statements say at the start of each quarter.

    Raises:
      ValueError: The account was overdrawn, and the tables have to be changed.
    """
    for month in shop.MONTHS:
        start = month_days(month)[0].replace(day=1)
        balance = sum((e.change(BANK) for e in entries if e.date < start), D("0.00"))
        if balance < 0:
            raise ValueError(f"The bank account is overdrawn on {start}: {balance}")
        if start.month in QUARTER_STARTS:
            yield _balance(start, BANK, balance)
            kept = sum((e.change(RESERVE) for e in entries if e.date < start), D("0.00"))
            yield _balance(start, RESERVE, kept)
            for account in ("Card", "Market"):
                yield _balance(start, f"Assets:Clearing:{account}", D("0.00"))


def _balance(date: datetime.date, account: str, amount: D) -> Entry:
    return directive(date, amount_line(f"balance {account}", amount, indent=11))

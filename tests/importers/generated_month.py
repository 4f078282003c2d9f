"""Make the files of a month of a made-up shop: payments, orders, a bank's statement."""

from __future__ import annotations

import csv
import random
from collections.abc import Iterable, Iterator
from decimal import Decimal
from pathlib import Path

from tests.importers.shop import ORDERS, PAYMENTS

MARKET_PAYMENTS = (
    "Posted;Entry;Order number;Details;Amount;Charges;Payable;Money;Entry number"
)
MARKET_ORDERS = "Order number;Posted;Goods;Pieces;Price each;Reduction;Delivery;Tax;Money"
BANK = "Booked,Counterparty,Purpose,Amount,Balance,Currency,Entry"
ITEMS = ("Heron at Dusk", "Moth, large", 'Moth "small"', "Gift wrap", "Unheard of")
CENT = Decimal("0.01")


def write_month(
    folder: Path, month: str = "2025-03", orders: int = 20, seed: int = 1
) -> list[Path]:
    """Write a month's files: card payments and shop orders, market payments and orders.

    The last is the statement of the bank where their payouts arrive. Among the payments
    are refunds, fees, disputes, holds, tips, gift cards, deposits, a conversion, an order
    that is paid twice, a payment without its lines and lines without their payment. The
    same arguments give the same bytes; months of one seed have different orders.

    Args:
      folder: Where to write them.
      month: The month, as ISO 8601 writes it.
      orders: How many orders each channel has.
      seed: The seed.
    """
    draw = random.Random(f"{month} {seed}")
    paths = []
    for prefix, mark, money, lines in (
        ("W", ",", PAYMENTS, ORDERS),
        ("M", ";", MARKET_PAYMENTS, MARKET_ORDERS),
    ):
        market = prefix == "M"
        first = int(month.replace("-", "")) * 1000
        payments: list[list[object]] = []
        rows: list[list[object]] = []
        for number in range(first, first + orders):
            order = f"{prefix}{number}"
            day = f"{month}-{draw.randint(1, 27):02d}"
            owed = shipping = Decimal(draw.choice(("0", "2.50", "4.00")))
            tax = CENT * draw.randint(0, 99)
            owed += tax
            for _ in range(draw.choice((1, 1, 2, 3))):
                pieces, price = draw.choice((1, 1, 2)), draw.choice(("4.00", "9.50"))
                discount = draw.choice((Decimal(0), Decimal("0.50")))
                owed += pieces * Decimal(price) - discount
                line = [order, day, draw.choice(ITEMS), pieces, price, discount]
                rows.append([*line, shipping, tax, "USD"])
            if number % 7 == 3:
                rows.append([f"{order}-unpaid", day, ITEMS[0], 1, "4.00", 0, 0, 0, "USD"])
            parts = [owed] if number % 5 else [owed - 1, Decimal(1)]
            for part in parts:
                payments.append([day, "sale", order, f"Order {order}", part])
            if number % 6 == 0:
                payments.append([f"{month}-28", "refund", order, "Sorry", -owed])
            if number % 8 == 0:
                payments.append([f"{month}-28", "sale", f"{order}-no-lines", "", 5])
        for kind, amount in (("payout", -40), ("dispute", -9), ("reversal", 9)):
            payments.append([f"{month}-28", kind, "", f"A {kind}", Decimal(amount)])
        payments.append([f"{month}-28", "fee", "", "Listing", Decimal("-0.20")])
        if not market:
            payments.extend(_rarer(month, f"{prefix}{first}"))
        draw.shuffle(payments)
        table = [
            _payment(row, at, prefix, market) for at, row in enumerate(payments, first)
        ]
        if market:
            for row in rows:
                row[1] = _local(str(row[1]))
        names = ("market-payments", "market-orders") if market else ("payments", "orders")
        for name, head, body in zip(names, (money, lines), (table, rows), strict=True):
            paths.append(_write(folder / f"{name}-{month}.csv", head, body, mark))
    paths.append(_write(folder / f"bank-{month}.csv", BANK, _bank(month), ","))
    return paths


def _rarer(month: str, order: str) -> Iterator[list[object]]:
    """Yield payments of the kinds that are not every month's, in an order of their own."""
    for kind, number, amount in (
        *(("hold", "", "-3"), ("release", "", "2"), ("tip", "", "2"), ("gift", "", "10")),
        *(("charge", "", "-15"), ("deposit", f"{order}-to-come", "20")),
        *(("used", f"{order}-gift", "4"), ("sale", f"{order}-gift", "1")),
    ):
        yield [f"{month}-27", kind, number, f"Some {kind}", Decimal(amount)]
    for amount, currency in ((Decimal(-10), "USD"), (Decimal("9.20"), "EUR")):
        yield [f"{month}-27", "conversion", "", "To euros", amount, currency]


def _bank(month: str) -> Iterator[list[object]]:
    """Yield a statement's entries: both payouts, a bill, and the balance after each."""
    balance = Decimal(1000) + 5 * int(month[-2:])
    for at, (who, amount) in enumerate((("Card", 40), ("Market", 40), ("Mill", -75))):
        balance += amount
        day = f"{month}-{29 if month[-2:] != '02' else 28}"
        yield [day, who, "By transfer", amount, balance, "USD", f"B{month}-{at}"]


WORDS = {
    "sale": ("Sale", "Order"),
    "refund": ("Refund", "Return"),
    "fee": ("Fee", "Charge"),
    "payout": ("Payout", "Transfer"),
    "dispute": ("Dispute", "Claim"),
    "reversal": ("Dispute reversal", "Claim closed"),
    "hold": ("Hold", ""),
    "release": ("Release", ""),
    "tip": ("Tip", ""),
    "gift": ("Gift card sold", ""),
    "used": ("Gift card used", ""),
    "charge": ("Dispute fee", ""),
    "deposit": ("Deposit", ""),
    "conversion": ("Conversion", ""),
}


def _payment(row: list[object], at: int, prefix: str, market: bool) -> list[object]:
    day, kind, order, text, gross, *other = row
    currency = other[0] if other else "USD"
    gross = Decimal(str(gross)).quantize(CENT)
    fee = (gross * Decimal("0.03")).quantize(CENT) if kind == "sale" else Decimal(0)
    word = WORDS[str(kind)][market]
    when, charged = (_local(str(day)), -fee) if market else (day, fee)
    return [
        *(when, word, order, text, gross, charged, gross - fee, currency),
        f"{prefix}P{at}",
    ]


def _local(day: str) -> str:
    return "/".join(reversed(day.split("-")))


def _write(path: Path, head: str, rows: Iterable[list[object]], mark: str) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(f"{head}\n")
        csv.writer(file, delimiter=mark, lineterminator="\n").writerows(rows)
    return path

"""Write orders and payments as the CSV files that the shop's owner downloads."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal as D

from making import shop
from making.trade import Movement, Order

Table = Iterable[Sequence[object]]

CARD_HEADER = "Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference"
SHOP_HEADER = "Order,Date,Item,Quantity,Unit price,Discount,Shipping,Sales tax,Currency"
MARKET_HEADER = (
    "Posted;Entry;Order number;Details;Amount;Charges;Payable;Money;Entry number"
)
MARKET_ORDERS_HEADER = (
    "Order number;Posted;Goods;Pieces;Price each;Reduction;Delivery;Tax;Money"
)

CARD_WORDS = {
    "sale": "Sale",
    "refund": "Refund",
    "payout": "Payout",
    "dispute": "Dispute",
    "reversal": "Dispute reversal",
}
MARKET_WORDS = {
    "sale": "Order",
    "refund": "Return",
    "listings": "Charge",
    "advertising": "Advertising",
    "payout": "Transfer",
}


def csv_files(
    orders: dict[str, list[Order]], movements: dict[str, list[Movement]]
) -> dict[str, dict[str, str]]:
    """Return the text of each file, by month and by its name."""
    files: dict[str, dict[str, str]] = {}
    for month in shop.MONTHS:
        in_month = _in(month)
        card = [each for each in movements["Web"] if in_month(each.date)]
        market = [each for each in movements["Market"] if in_month(each.date)]
        web_orders = [each for each in orders["Web"] if in_month(each.date)]
        market_orders = [each for each in orders["Market"] if in_month(each.date)]
        files[month] = {
            f"card-payments-{month}.csv": _text(CARD_HEADER, _card_rows(card)),
            f"shop-orders-{month}.csv": _text(SHOP_HEADER, _shop_rows(web_orders)),
            f"market-payments-{month}.csv": _text(MARKET_HEADER, _market_rows(market)),
            f"market-orders-{month}.csv": _text(
                MARKET_ORDERS_HEADER, _market_order_rows(market_orders)
            ),
        }
    return files


def _in(month: str) -> Callable[[datetime.date], bool]:
    return lambda date: f"{date:%Y-%m}" == month


def _text(header: str, rows: Table) -> str:
    """Return the text of a CSV file; the header's delimiter is the file's."""
    delimiter = ";" if ";" in header else ","
    file = io.StringIO()
    file.write(f"{header}\n")
    csv.writer(file, delimiter=delimiter, lineterminator="\n").writerows(rows)
    return file.getvalue()


def _card_rows(movements: Iterable[Movement]) -> Iterator[Sequence[object]]:
    for each in movements:
        word = CARD_WORDS[each.kind]
        money = (each.gross, each.fee, each.net)
        yield each.date, word, each.order, each.text, *money, "USD", each.reference


def _shop_rows(orders: Iterable[Order]) -> Iterator[Sequence[object]]:
    for order in orders:
        for line in order.lines:
            goods = (line.text, line.quantity, line.price, line.discount)
            yield order.number, order.date, *goods, order.shipping, order.tax, "USD"


def _market_rows(movements: Iterable[Movement]) -> Iterator[Sequence[object]]:
    for each in movements:
        word = MARKET_WORDS[each.kind]
        # Charges are written as what they take from the account.
        money = (each.gross, D("0.00") - each.fee, each.net)
        date = f"{each.date:%d/%m/%Y}"
        yield date, word, each.order, each.text, *money, "USD", each.reference


def _market_order_rows(orders: Iterable[Order]) -> Iterator[Sequence[object]]:
    for order in orders:
        for line in order.lines:
            goods = (line.text, line.quantity, line.price, line.discount)
            date = f"{order.date:%d/%m/%Y}"
            yield order.number, date, *goods, order.shipping, order.tax, "USD"

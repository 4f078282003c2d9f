"""Make up the orders and payments of the own shop and of the market."""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Iterator
from decimal import ROUND_HALF_UP
from decimal import Decimal as D
from typing import NamedTuple

from making import shop
from making.chance import Chance

CENT = D("0.01")
CHANNELS = ("Web", "Market")
FIRST_NUMBER = {"Web": 1001, "Market": 20401}
NUMBER_FORM = {"Web": "W{}", "Market": "M-{}"}
PAYMENT_FORM = {"Web": "P-{:05}", "Market": "E-{:05}"}
PAYOUT_FORM = {"Web": "T-{:03}", "Market": "X-{:03}"}

REFUNDS = 0.018  # of orders
RETURNED = 0.5  # of the larger pieces refunded: nobody posts a single sticker back
RETURNED_FROM = D("9.00")
LATE = 0.1  # of the market's orders: those that come in after hours
LINES = ((1, 58), (2, 27), (3, 15))
PIECES = ((1, 78), (2, 16), (3, 6))
DISPUTE_AFTER = datetime.date(2025, 9, 10)
DISPUTE_FROM = D("35.00")


class Line(NamedTuple):
    """One line of an order; the product is empty where the text is no product."""

    text: str
    product: str
    quantity: int
    price: D
    discount: D

    @property
    def amount(self) -> D:
        """What the line comes to, after its discount."""
        return self.quantity * self.price - self.discount


class Order(NamedTuple):
    """One order and all that was charged for it."""

    channel: str
    number: str
    date: datetime.date
    paid: datetime.date
    lines: tuple[Line, ...]
    shipping: D
    tax: D

    @property
    def total(self) -> D:
        """What the buyer paid."""
        return sum((line.amount for line in self.lines), self.shipping + self.tax)


class Movement(NamedTuple):
    """One row of a payments file; the fee is what was charged.

    Attributes:
      kind: A layout's word for it: sale, refund, fee, payout, dispute, reversal.
      back: The piece that came back with a refund and can be sold again; else empty.
      reference: What the file calls the row; empty until all rows are known.
    """

    channel: str
    kind: str
    date: datetime.date
    order: str
    text: str
    gross: D
    fee: D
    back: str = ""
    reference: str = ""

    @property
    def net(self) -> D:
        """What the account gained."""
        return self.gross - self.fee


def cents(amount: D) -> D:
    """Round an amount half up to cents."""
    return amount.quantize(CENT, ROUND_HALF_UP)


def month_days(month: str) -> list[datetime.date]:
    """Return the days of a month on which the shop is open."""
    year, number = map(int, month.split("-"))
    days = range(1, calendar.monthrange(year, number)[1] + 1)
    dates = [datetime.date(year, number, day) for day in days]
    return [date for date in dates if date >= shop.FIRST_ORDER]


def make_orders(channel: str) -> list[Order]:
    """Return a channel's orders of all months, the first one first."""
    orders: list[Order] = []
    for month, counts in shop.MONTHS.items():
        chance = Chance(f"{channel} orders {month}")
        dates = month_days(month)
        count = counts[CHANNELS.index(channel)]
        for date in sorted(dates[chance.below(len(dates))] for _ in range(count)):
            number = NUMBER_FORM[channel].format(FIRST_NUMBER[channel] + len(orders))
            orders.append(_make_order(channel, number, date, chance))
    if channel == "Web":
        _list_something_new(orders)
    return orders


def _make_order(channel: str, number: str, date: datetime.date, chance: Chance) -> Order:
    """Make up one order."""
    on_sale = [
        (product, product.web if channel == "Web" else product.market)
        for product in shop.PRODUCTS
        if product.launch <= date
    ]
    wanted = chance.pick(LINES)
    reduced = channel == "Web" and chance.happens(0.06)
    chosen: dict[str, Line] = {}
    while len(chosen) < wanted:
        product = chance.pick(on_sale)
        price = shop.price(product, channel)
        quantity = chance.pick(PIECES) if price < D("10.00") else 1
        discount = cents(quantity * price / 10) if reduced else D("0.00")
        text = shop.listing(product, channel)
        chosen[product.code] = Line(text, product.code, quantity, price, discount)
    lines = list(chosen.values())
    if channel == "Web" and date.month in (11, 12) and chance.happens(0.07):
        lines.append(Line(shop.GIFT_WRAP, "", 1, shop.GIFT_WRAP_PRICE, D("0.00")))
    goods = sum((line.amount for line in lines), D("0.00"))
    free = channel == "Web" and goods >= shop.FREE_SHIPPING_FROM
    shipping = D("0.00") if free else shop.SHIPPING[channel]
    # The market collects the sales tax of its orders and pays it itself.
    home = channel == "Web" and chance.happens(shop.HOME_ORDERS)
    tax = cents(goods * shop.SALES_TAX) if home else D("0.00")
    late = channel == "Market" and chance.happens(LATE)
    paid = date + datetime.timedelta(days=1 if late else 0)
    return Order(channel, number, date, paid, tuple(lines), shipping, tax)


def _list_something_new(orders: list[Order]) -> None:
    """Put the text that no rule knows into two orders at the end."""
    new = Line(shop.UNKNOWN_TEXT, "", 1, shop.UNKNOWN_PRICE, D("0.00"))
    late = [at for at, order in enumerate(orders) if order.date >= shop.UNKNOWN_SINCE]
    for at in (late[1], late[-2]):
        order = orders[at]
        orders[at] = order._replace(lines=(*order.lines, new), tax=D("0.00"))


def make_movements(channel: str, orders: list[Order]) -> list[Movement]:
    """Return the rows of a channel's payments files, the first one first."""
    movements = [_sale(order) for order in orders]
    movements += _refunds(channel, orders)
    if channel == "Web":
        movements += _dispute(orders)
    else:
        movements += _charges()
    movements = sorted(
        (each for each in movements if each.date <= shop.LAST_DAY),
        key=lambda each: (each.date, each.order, each.kind),
    )
    numbered = [
        each._replace(reference=PAYMENT_FORM[channel].format(at))
        for at, each in enumerate(movements, 1)
    ]
    return sorted([*numbered, *_payouts(channel, numbered)], key=lambda each: each.date)


def _fee(channel: str, gross: D) -> D:
    """Return what is charged for a payment."""
    if channel == "Web":
        return cents(gross * shop.CARD_FEE) + shop.CARD_FEE_EACH
    return cents(gross * shop.MARKET_FEE) + shop.MARKET_FEE_EACH


def _sale(order: Order) -> Movement:
    """Return the payment of an order."""
    fee = _fee(order.channel, order.total)
    text = f"{order.channel} order {order.number}"
    return Movement(order.channel, "sale", order.paid, order.number, text, order.total, fee)


def _refunds(channel: str, orders: list[Order]) -> Iterator[Movement]:
    """Yield refunds of a line here and there, of orders without sales tax."""
    chance = Chance(f"{channel} refunds")
    for order in orders:
        if not chance.happens(REFUNDS) or order.tax:
            continue
        line = order.lines[0]
        amount = line.amount / line.quantity
        if amount != cents(amount):
            continue
        # The card processor keeps its fee; the market gives its share back.
        fee = D("0.00") if channel == "Web" else -cents(amount * shop.MARKET_FEE)
        returned = amount >= RETURNED_FROM and chance.happens(RETURNED)
        back = line.product if returned else ""
        date = order.paid + datetime.timedelta(days=6 + chance.below(12))
        text = f"Refund, order {order.number}"
        yield Movement(channel, "refund", date, order.number, text, -amount, fee, back)


def _dispute(orders: list[Order]) -> Iterator[Movement]:
    """Yield the one payment that a buyer disputed, and its happy end."""
    order = next(
        order
        for order in orders
        if order.date > DISPUTE_AFTER and order.total > DISPUTE_FROM and not order.tax
    )
    opened = order.date + datetime.timedelta(days=17)
    closed = opened + datetime.timedelta(days=40)
    text = f"Dispute, order {order.number}"
    common = ("Web", "dispute", opened, order.number)
    yield Movement(*common, text, -order.total, shop.DISPUTE_FEE)
    text = f"Dispute decided for you, order {order.number}"
    yield Movement("Web", "reversal", closed, order.number, text, order.total, D("0.00"))


def _charges() -> Iterator[Movement]:
    """Yield what the market charges each month for no order."""
    for month in shop.MONTHS:
        end = month_days(month)[-1]
        spent = {
            "listings": shop.MARKET_LISTINGS,
            "advertising": shop.MARKET_ADVERTISING.get(month),
        }
        for kind, fee in spent.items():
            if fee:
                text = f"{kind.capitalize()} in {end:%B}"
                yield Movement("Market", kind, end, "", text, D("0.00"), fee)


def _payouts(channel: str, movements: list[Movement]) -> Iterator[Movement]:
    """Yield a payout of all that there is, on the last day of each month."""
    for at, month in enumerate(shop.MONTHS, 1):
        end = month_days(month)[-1]
        net = sum(
            (each.net for each in movements if f"{each.date:%Y-%m}" == month), D("0.00")
        )
        text = f"Payout for {end:%B}"
        reference = PAYOUT_FORM[channel].format(at)
        yield Movement(
            channel, "payout", end, "", text, -net, D("0.00"), reference=reference
        )

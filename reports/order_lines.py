"""Read a transaction as order lines: what was sold, and each line's part of the rest."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import ZERO, split_in_cents
from offcut.importers.values import minor_unit
from offcut.reports.account_columns import (
    AMOUNT_COLUMNS,
    COST_OF_GOODS,
    DISCOUNT,
    GROSS,
    OTHER,
    REFUND,
    AccountPlaces,
    Place,
)
from offcut.reports.allocation import Allocation
from offcut.reports.flows import weight

# What is taken off the lines' prices is split by what they sold for, by whatever rule the
# rest is.
OFF_PRICES = frozenset({GROSS, DISCOUNT, REFUND})

ORDER_LINK = "order-"
EVENT_TAG = "event-"


class Flow(NamedTuple):
    """An income or expense posting.

    Attributes:
      amount: Positive where it adds to the profit.
      currency: The amount's currency.
      place: Where postings of its account go in the table.
      item: The commodity that it is about; empty where it names none.
      is_line: Whether it sells or takes back pieces of an item, known or not.
      account: The posting's account.
      meta: The posting's metadata.
    """

    amount: Decimal
    currency: str
    place: Place
    item: str
    is_line: bool
    account: str
    meta: Mapping[str, Any]

    @property
    def is_about_item(self) -> bool:
        """Whether it can only belong to the item that it names, not to its order."""
        return bool(self.item) and (
            self.place.is_income or self.place.column == COST_OF_GOODS
        )

    @property
    def waits(self) -> bool:
        """Whether it stands in suspense by itself: a payment, or what of it is too much."""
        return self.place.is_suspense and not self.is_line and not self.item


NO_AMOUNTS = [ZERO] * len(AMOUNT_COLUMNS)


@dataclass(slots=True)
class Row:
    """A row of the order table while its amounts come together.

    Attributes:
      order: The order's number.
      date: The date of the transaction.
      channel: Where it was sold.
      event: The fair that it belongs to.
      product: The commodity sold.
      account: The account of a row whose product is not known.
      currency: The currency of the amounts.
      file: The file with the transaction.
      line: The line where it begins.
      amounts: By AMOUNT_COLUMNS.
      quantity: Pieces sold; negative for pieces that came back.
      value: What it was sold for, its own discounts and refunds of that day taken off:
        its weight when an amount is split over the order by sales value.
      is_sale: Whether pieces were sold, not taken back.
      abroad: The same line's amounts in currencies other than its own.
    """

    order: str
    date: datetime.date
    channel: str
    event: str
    product: str
    account: str
    currency: str
    file: str
    line: int
    amounts: list[Decimal] = field(default_factory=NO_AMOUNTS.copy)
    quantity: Decimal = ZERO
    value: Decimal = ZERO
    is_sale: bool = False
    abroad: dict[str, Row] | None = None

    def add(self, column: int, amount: Decimal, currency: str) -> None:
        """Add an amount to a column, in its own currency."""
        if currency == self.currency:
            self.amounts[column] += amount
            return
        if self.abroad is None:
            self.abroad = {}
        if currency not in self.abroad:
            self.abroad[currency] = self.again(self.date, currency, self.file, self.line)
        self.abroad[currency].amounts[column] += amount

    def sell(self, column: int, amount: Decimal, quantity: object) -> None:
        """Make it the line of pieces that were sold, or that came back.

        As for the stock plugin, a debit takes pieces back, and so does a refund of nothing.

        Args:
          column: That of the posting's account.
          amount: What they were sold for.
          quantity: What the posting says how many they are.
        """
        pieces = _pieces(quantity)
        self.is_sale = amount > ZERO or (not amount and column != REFUND)
        self.quantity = pieces if self.is_sale else -pieces
        self.amounts[GROSS if column == OTHER else column] = amount

    @property
    def sold_for(self) -> Decimal:
        """What it was sold for, what was taken off that included."""
        amounts = self.amounts
        return abs(amounts[GROSS] + amounts[DISCOUNT] + amounts[REFUND])

    def again(self, date: datetime.date, currency: str, file: str, line: int) -> Row:
        """Return a new row about the same line, with no amounts."""
        return Row(
            *(self.order, date, self.channel, self.event, self.product, self.account),
            *(currency, file, line),
        )

    def in_all_currencies(self) -> list[Row]:
        """Return the row, and those of its amounts in other currencies."""
        return [self, *self.abroad.values()] if self.abroad else [self]


def flows_of(entry: data.Transaction, places: AccountPlaces) -> list[Flow]:
    """Return the income and expense postings of a transaction.

    Args:
      entry: A booked transaction.
      places: The places of the ledger's accounts.
    """
    flows = []
    for posting in entry.postings:
        account, units, cost, price, _, meta = posting
        place = places[account]
        if place is None:
            continue
        if cost is None and price is None and units is not None:  # as nearly all are
            number, currency = units
            if not isinstance(number, Decimal):
                continue  # An error of the ledger left no amount.
        else:
            weighed = weight(posting)
            if weighed is None:
                continue
            number, currency = weighed
        item, is_line = place.product, False
        if meta:
            named = meta.get("item")
            if isinstance(named, str):
                item = named
            if place.is_income and place.column != DISCOUNT:
                is_line = "item-text" in meta or (item != "" and "quantity" in meta)
        flows.append(Flow(-number, currency, place, item, is_line, account, meta or {}))
    return flows


def order_lines(
    entry: data.Transaction, flows: Sequence[Flow], allocation: Allocation
) -> list[Row]:
    """Return a row for each line that a transaction sells or takes back, complete.

    What names an item goes to its own line; the lines share the rest.

    Args:
      entry: A transaction.
      flows: Its income and expense postings.
      allocation: By what they share it.

    Returns:
      The rows, in the order of the postings; none where it has no lines, and then its
      postings are in no row yet.
    """
    selling = [flow for flow in flows if flow.is_line]
    if not selling:
        return []
    order = next(iter(orders_of(entry)), "")
    event = event_of(entry)
    lines = [_open_line(entry, flow, order, event) for flow in selling]
    items = {line.product for line in lines}
    rest = []
    for flow in flows:
        if flow.is_line:
            continue
        if flow.item and flow.item not in items and flow.is_about_item:
            lines.append(_open_line(entry, flow, order, event))
        else:
            rest.append(flow)
    shared = give(lines, rest)
    # Before the rest is shared: what they were sold for by themselves.
    for line in lines:
        line.value = line.sold_for
    share(lines, [line.value for line in lines], shared, allocation)
    return lines


def _open_line(entry: data.Transaction, flow: Flow, order: str, event: str) -> Row:
    """Return the row of an order line, with the posting that it comes from."""
    line = Row(
        order,
        entry.date,
        channel_of(entry, flow),
        event,
        flow.item,
        "" if flow.item else flow.account,
        flow.currency,
        entry.meta["filename"],
        entry.meta["lineno"],
    )
    if flow.is_line:
        line.sell(flow.place.column, flow.amount, flow.meta.get("quantity"))
    else:
        line.amounts[flow.place.column] = flow.amount
    return line


def give(lines: Sequence[Row], flows: Iterable[Flow]) -> list[Flow]:
    """Add postings that name an item to the item's lines.

    Args:
      lines: The lines of an order.
      flows: Postings about it.

    Returns:
      The postings that none of the lines can have for itself.
    """
    shared = []
    for flow in flows:
        own = [line for line in lines if line.product == flow.item] if flow.item else []
        if len(own) == 1:
            own[0].add(flow.place.column, flow.amount, flow.currency)
        elif own:
            pieces = [abs(line.quantity) for line in own]
            _split(own, pieces, flow.place.column, flow.amount, flow.currency)
        else:
            shared.append(flow)
    return shared


def share(
    lines: Sequence[Row],
    values: Sequence[Decimal],
    flows: Iterable[Flow],
    allocation: Allocation,
) -> None:
    """Split postings over all lines, a column at a time.

    Args:
      lines: The lines of an order; at least one where there is a posting.
      values: What each line was sold for.
      flows: The postings that they share.
      allocation: By what they share them.
    """
    totals: dict[tuple[int, str], Decimal] = {}
    for flow in flows:
        key = (flow.place.column, flow.currency)
        totals[key] = totals.get(key, ZERO) + flow.amount
    share_totals(lines, values, totals, allocation)


def share_totals(
    lines: Sequence[Row],
    values: Sequence[Decimal],
    totals: Mapping[tuple[int, str], Decimal],
    allocation: Allocation,
) -> None:
    """Split amounts over all lines; see `share`.

    Args:
      lines: The lines.
      values: What each was sold for.
      totals: What they share, by column and currency.
      allocation: By what they share it.
    """
    if len(lines) == 1:
        for (column, currency), amount in totals.items():
            lines[0].add(column, amount, currency)
    elif totals:
        weights = allocation.of_lines(lines, values)
        for (column, currency), amount in totals.items():
            by = values if column in OFF_PRICES else weights
            _split(lines, by, column, amount, currency)


def _split(
    lines: Sequence[Row],
    weights: Sequence[Decimal],
    column: int,
    amount: Decimal,
    currency: str,
) -> None:
    """Split an amount over lines."""
    if len(lines) == 1:
        lines[0].add(column, amount, currency)
        return
    parts = split_in_cents(amount, weights, minor_unit(currency))
    for line, part in zip(lines, parts, strict=True):
        line.add(column, part, currency)


def orders_of(entry: data.Transaction) -> list[str]:
    """Return the orders that a transaction is linked to, in the alphabet's order.

    Args:
      entry: A transaction.
    """
    orders = [
        link[len(ORDER_LINK) :] for link in entry.links if link.startswith(ORDER_LINK)
    ]
    return sorted(orders) if len(orders) > 1 else orders


def event_of(entry: data.Transaction) -> str:
    """Return the fair that a transaction is tagged with; empty where it is not.

    Args:
      entry: A transaction.
    """
    if not entry.tags:
        return ""
    events = [tag[len(EVENT_TAG) :] for tag in entry.tags if tag.startswith(EVENT_TAG)]
    return min(events, default="")


def channel_of(entry: data.Transaction, flow: Flow | None = None) -> str:
    """Return where something was sold; empty where nothing says so.

    Args:
      entry: A transaction, whose metadata may say so.
      flow: One of its postings, whose metadata comes first and whose account last.
    """
    named = flow.meta.get("channel") if flow else None
    if not isinstance(named, str):
        named = entry.meta.get("channel")
    if isinstance(named, str):
        return named
    return flow.place.channel if flow else ""


def _pieces(value: object) -> Decimal:
    """Return the number of a `quantity`; the stock plugin reports what is none."""
    if isinstance(value, str):
        try:
            value = Decimal(value)
        except decimal.InvalidOperation:
            return ZERO
    return value if isinstance(value, Decimal) and value.is_finite() else ZERO

"""Keep what each order has open while an import books it."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping

from offcut.importers.layout import Accounts
from offcut.importers.open_amounts import OpenAmount
from offcut.importers.order_states import OrderState, order_states, paid_together
from offcut.importers.records import Order, Payment

Key = tuple[str, str]
"""A channel and the key of an order."""


def orders_of(records: Iterable[Payment | Order]) -> set[str]:
    """Return the keys of the orders that records name."""
    found = set()
    for record in records:
        if record.order:
            found.add(record.order)
        elif isinstance(record, Payment):
            found.update(record.orders)
    return found


def find_states(
    texts: Mapping[str, list[str]], records: Iterable[Payment | Order]
) -> dict[Key, OrderState]:
    """Return what a ledger has of orders.

    Args:
      texts: The texts of the transactions with each order's link, by the order's key.
      records: The payments and orders that name them.
    """
    records = list(records)
    channels: dict[str, Accounts] = {}
    if texts:
        for record in records:
            channels.setdefault(record.layout.channel, record.layout.accounts)
    concerned: dict[str, list[str]] = {}
    wanted = orders_of(records) & texts.keys()
    while wanted:
        order = wanted.pop()
        concerned[order] = texts[order]
        for other in paid_together(texts[order]):
            if other in texts and other not in concerned:
                wanted.add(other)
    return {
        (channel, order): state
        for channel, accounts in channels.items()
        for order, state in order_states(concerned, channel, accounts).items()
    }


class _Together:
    """Orders that were paid together, or one alone."""

    __slots__ = ("amounts", "members")

    def __init__(self, amounts: dict[str, OpenAmount], members: list[OpenOrder]) -> None:
        self.amounts = amounts
        self.members = members


@dataclasses.dataclass(slots=True)
class OpenOrder:
    """One order.

    Attributes:
      key: Its key.
      lines: Whether its lines are there, or booked now.
      together: What it is paid together with.
    """

    key: str
    lines: bool
    together: _Together

    def amount(self, currency: str) -> OpenAmount:
        """Return what is open in a currency."""
        amounts = self.together.amounts
        if currency not in amounts:
            amounts[currency] = OpenAmount()
        return amounts[currency]

    def returns(self, currency: str) -> bool:
        """Return whether its lines say what was cancelled."""
        totals = self.amount(currency).orders.get(self.key)
        return totals is not None and totals.returns

    @property
    def all_lines(self) -> bool:
        """Whether the lines of all orders are there that were paid with this one."""
        return all(member.lines for member in self.together.members)


class OpenOrders:
    """What all orders of an import have open, from what the ledger has of them on.

    Args:
      states: What the ledger has.
      payments: New payments for several orders.
    """

    def __init__(
        self, states: Mapping[Key, OrderState], payments: Iterable[Payment] = ()
    ) -> None:
        self._orders: dict[Key, OpenOrder] = {}
        # Orders of one payment in the ledger share what is open.
        shared: dict[int, _Together] = {}
        for key, state in states.items():
            together = shared.get(id(state.open))
            if together is None:
                amounts = {key: amount.copy() for key, amount in state.open.items()}
                together = shared[id(state.open)] = _Together(amounts, [])
            order = OpenOrder(key[1], state.lines, together)
            together.members.append(order)
            self._orders[key] = order
        for payment in payments:
            channel = payment.layout.channel
            first, *others = [self[channel, order] for order in payment.orders]
            for other in others:
                _unite(first, other)

    def __contains__(self, key: Key) -> bool:
        """Return whether there is anything of an order yet."""
        return key in self._orders

    def __getitem__(self, key: Key) -> OpenOrder:
        order = self._orders.get(key)
        if order is None:
            together = _Together({}, [])
            order = OpenOrder(key[1], False, together)
            together.members.append(order)
            self._orders[key] = order
        return order


def _unite(one: OpenOrder, other: OpenOrder) -> None:
    """Make two orders, and what each is paid together with, one."""
    if one.together is other.together:
        return
    joined = other.together
    for currency, amount in joined.amounts.items():
        one.amount(currency).add(amount)
    for member in joined.members:
        member.together = one.together
    one.together.members.extend(joined.members)

"""Refuse to book an order to other accounts than those in which the ledger has it open.

What an order owes, has paid too much or has paid ahead is looked for in the accounts of
its layout. Where an earlier import had others, of another layout or before the layout was
changed, it would not be found, and stand open for ever.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.layout import Layout
from offcut.importers.order_postings import LINE_KEYS
from offcut.importers.order_states import is_of, paid_together
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Order, Payment
from offcut.importers.transaction_texts import header, postings_in

# As layouts have them that name no others.
_USUAL = {
    "receivable": r"Assets:Receivable:[^\s;]+",
    "suspense": r"Income:Suspense:[^\s;]+",
    "deposits": r"Liabilities:Deposits(?::[^\s;]+)?",
}


# What they begin with.
_BEGINNINGS = {
    "receivable": "Assets:Receivable:",
    "suspense": "Income:Suspense:",
    "deposits": "Liabilities:Deposits",
}


class _Others(NamedTuple):
    """What of a channel a layout does not name.

    Attributes:
      accounts: What these accounts look like, by what they are for.
      beginnings: What usual ones begin with, each with the layout's own as a posting has
        it.
      unusual: Others that layouts name.
    """

    accounts: Mapping[str, re.Pattern[str]]
    beginnings: tuple[tuple[str, str], ...]
    unusual: tuple[str, ...]

    def may_be_in(self, text: str) -> bool:
        """Return whether a text may have one: to count is quicker than to look."""
        for beginning, own in self.beginnings:
            if text.count(beginning) != text.count(own):
                return True
        return any(account in text for account in self.unusual)


def check_order_accounts(
    texts: Mapping[str, list[str]],
    records: Iterable[Payment | Order],
    layouts: Iterable[Layout],
) -> None:
    """Check that orders are open in the accounts of their layouts, and in no others.

    Args:
      texts: The texts of the transactions with each order's link, by the order's key.
      records: What is imported of these orders.
      layouts: All layouts: what they name is what earlier imports may have named.

    Raises:
      ImportRefused: An order is open in another account; a line for each.
    """
    if not texts:
        return
    layouts = list(layouts)
    by_layout: dict[Layout, _Others] = {}
    problems: dict[tuple[str, str], Problem] = {}
    done = set()
    for record in records:
        layout = record.layout
        for order in _orders_of(record):
            if order not in texts or (layout, order) in done:
                continue
            done.add((layout, order))
            if layout not in by_layout:
                by_layout[layout] = _others(layout, layouts)
            others = by_layout[layout]
            if not any(map(others.may_be_in, texts[order])):
                continue
            for key, account, amount in _open_elsewhere(order, texts, layout, others):
                message = (
                    f"expected {getattr(layout.accounts, key)} as {key} of the "
                    f"{layout.channel} order {order}, as in {layout.name}, found {amount} "
                    f"in {account} in the ledger; name that account in the layout's "
                    "[accounts], or move the amount in the ledger"
                )
                problem = Problem(record.file, record.row, None, message)
                problems.setdefault((layout.channel, account), problem)
    if problems:
        raise ImportRefused(problems.values())


def _orders_of(record: Payment | Order) -> tuple[str, ...]:
    several = record.orders if isinstance(record, Payment) else ()
    return several or ((record.order,) if record.order else ())


def _others(layout: Layout, layouts: Iterable[Layout]) -> _Others:
    """Return the accounts that earlier imports of a layout's channel may have named."""
    accounts, beginnings, unusual = {}, [], set()
    for key, usual in _USUAL.items():
        ours = getattr(layout.accounts, key)
        named = {
            getattr(each.accounts, key)
            for each in layouts
            if each.kind in ("payments", "order-lines") and each.channel == layout.channel
        }
        either = "|".join([*map(re.escape, sorted(named)), usual])
        own = rf"{re.escape(ours)}(?![^\s;])"
        accounts[key] = re.compile(rf"(?!{own})(?:{either})(?![^\s;])")
        beginning = _BEGINNINGS[key]
        # A posting has an amount, and a blank before it, or is looked at more closely.
        is_usual = ours.startswith(beginning)
        beginnings.append((beginning, f" {ours} " if is_usual else "\0"))
        unusual |= {each for each in named - {ours} if not each.startswith(beginning)}
    return _Others(accounts, tuple(beginnings), tuple(sorted(unusual)))


def _open_elsewhere(
    order: str, texts: Mapping[str, list[str]], layout: Layout, others: _Others
) -> Iterator[tuple[str, str, str]]:
    """Yield what each account is for in which an order is open, its name and how much."""
    together, wanted = {order}, [order]
    while wanted:
        for other in paid_together(texts[wanted.pop()]):
            if other in texts and other not in together:
                together.add(other)
                wanted.append(other)
    sums: dict[tuple[str, str, str], Decimal] = defaultdict(Decimal)
    for text in {text for each in together for text in texts[each]}:
        meta = header(text)
        if "source-id" not in meta and "lines-id" not in meta:
            continue  # by hand, it may be anything
        if not is_of(layout.channel, text):
            continue
        for account, number, currency, noted, _ in postings_in(text):
            if number is None or not LINE_KEYS.isdisjoint(noted):
                continue
            for key, pattern in others.accounts.items():
                if pattern.fullmatch(account):
                    sums[key, account, currency] += number
    for (key, account, currency), amount in sums.items():
        if amount:
            yield key, account, f"{amount} {currency}"

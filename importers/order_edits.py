"""Find what changed in orders that the ledger has, and book the changes.

Buyers change and cancel orders after they have paid; the shop's next export has the new
lines. What the ledger has stays as it is: a further transaction takes out the lines that
are gone and adds those that are new, with an id of its own (`shop-orders/W1042#2`).

What a careful bookkeeper would not book on the word of one file is told, and not booked:

- A file with the order otherwise may be an older one. It is taken for the newer word only
  where it has a later order than any that the ledger has of the source (`order_age`), or
  where the user says so; the report says what it undoes.
- But what was cancelled stays cancelled: lines that cancel others, or are marked as
  cancelled, are the later word by themselves. And where all that a file has not are
  cancelled lines, it is surely older, and nothing is to be said of it.
- A file may have a part of an order only, as where its lines are split over two exports.
  A file has not the whole order where it shares no line with the ledger, not even one
  of the same product or text; where it has cancelled lines of what it does not list;
  and where it has just the lines that an edit has added. The next file with all lines
  brings what is missing. (That a file has some of the lines, and no others, is taken for
  an edit: lines that are gone look the same. The report says what was booked.)
- Where a user has changed an order's transactions by hand so that its lines cannot be
  told, nothing is booked either.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.booked_lines import (
    Unreadable,
    lines_transactions,
    read_stages,
    with_known_items,
)
from offcut.importers.booked_orders import booked_currencies, booked_total, may_differ
from offcut.importers.layout import Accounts
from offcut.importers.ledger_text import escaped
from offcut.importers.line_comparison import Changes, cancelling, compare, is_discount
from offcut.importers.line_postings import (
    LinePosting,
    LinePostings,
    Match,
    charges,
    line_postings,
)
from offcut.importers.order_parts import lacks_cancelled_lines, only_cancels, part_of_order
from offcut.importers.order_postings import discount_meta
from offcut.importers.postings import WritePosting, lines_id
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Order, OrderLine, order_total
from offcut.importers.transaction_texts import day_of, header
from offcut.importers.values import ZERO


class Edit(NamedTuple):
    """What to book for an order that was edited.

    Attributes:
      order: The order as the file has it.
      number: Which transaction of the order's lines it is, from 2.
      postings: The postings of the changes.
      owed: What more the buyer owes for it; negative where it is less.
      tax: The sales tax in it.
      returns: Whether something was cancelled, or the order became less.
      added: The lines that are new.
      before: What the lines came to in the ledger.
      products: Products that only the file names, in lines that agree in all else and
        were left as they are.
      undoes: Whether it undoes an edit.
      packing: The packing list that the ledger has used for it.
      day: The day to book it on: what is gone cannot come back before it went, which
        may have been on the day of the payment.
    """

    order: Order
    number: int
    postings: tuple[LinePosting, ...]
    owed: Decimal
    tax: Decimal
    returns: bool
    added: tuple[OrderLine, ...]
    before: Decimal
    products: tuple[str, ...]
    undoes: bool
    packing: str
    day: datetime.date


class ChangedOrder(NamedTuple):
    """An order that the ledger has otherwise than a file, of which nothing is booked.

    Attributes:
      order: The order as the file has it.
      before: What its lines come to in the ledger.
      now: What they come to in the file.
      products: Products that only the file names, where all else agrees.
      is_older: Whether the file has what the ledger had before an edit.
      part: What the file has, where that is not the whole order.
      age: Where it may be older, -1 where its last order is of an earlier day than the
        last that the ledger has, and 0 where it has no later one; else 1.
    """

    order: Order
    before: Decimal
    now: Decimal
    products: tuple[str, ...] = ()
    is_older: bool = False
    part: str = ""
    age: int = 1


class Edits(NamedTuple):
    """What became of the orders that the ledger has already.

    Attributes:
      edits: What to book.
      changed: What is not booked, and has to be told.
    """

    edits: list[Edit]
    changed: list[ChangedOrder]


def find_edits(
    orders: Iterable[tuple[Order, Sequence[str]]],
    poster: Callable[[Order], Callable[[OrderLine], LinePostings]],
    match: Match,
    write: WritePosting,
    age: Callable[[Order], int] = lambda order: 0,
) -> Edits:
    """Return what files have otherwise than the ledger.

    Args:
      orders: Orders whose lines the ledger has, each with the texts of the transactions
        that have the order's link.
      poster: Returns what says what an order's line is booked to.
      match: Says what an item text means.
      write: Writes a posting.
      age: Compares the age of an order's file with that of what the ledger has of its
        source: 1 where the file is newer by its days, -1 where it is older, else 0.

    Raises:
      ImportRefused: Two files have an order edited in different ways.
    """
    found = Edits([], [])
    seen: dict[str, Order] = {}
    problems = []
    orders = list(orders)
    cancelled = {lines_id(order) for order, _ in orders if order.is_cancelled}
    for order, texts in orders:
        if lines_id(order) in cancelled and not order.is_cancelled:
            continue  # another file of the import has the later word
        if not may_differ(order, texts, poster(order), write):
            continue
        edit = _find_edit(order, texts, match, age)
        if isinstance(edit, ChangedOrder):
            found.changed.append(edit)
        elif edit:
            before = seen.setdefault(lines_id(order), order)
            if before.is_cancelled and before is not order:
                continue  # in another file, too
            if before is order:
                found.edits.append(edit)
            elif before != order._replace(file=before.file, row=before.row):
                message = (
                    f"expected the same order as in {before.file}, row {before.row}; "
                    "import the newer file alone, or put the order's lines into one file "
                    "where each has a part of them"
                )
                problems.append(Problem(order.file, order.row, None, message))
    if problems:
        raise ImportRefused(problems)
    return found


def _find_edit(
    order: Order,
    texts: Sequence[str],
    match: Match,
    age: Callable[[Order], int],
) -> Edit | ChangedOrder | None:
    """Return what is to be booked or told of an order; None where nothing changed."""
    accounts, currency = order.layout.accounts, order.currency
    name = escaped(lines_id(order))
    now = order_total(order)
    before = booked_total(texts, name, accounts)
    try:
        stages = read_stages(texts, name, currency, accounts)
        stages[-1] = with_known_items(stages[-1], texts, currency, accounts)
    except Unreadable:
        same = before == now and booked_currencies(texts, name, accounts) <= {currency}
        return None if same else ChangedOrder(order, before, now)
    last = compare(stages[-1], order, match, accounts)
    products = tuple(dict.fromkeys(last.renamed))
    if last.is_none:
        return ChangedOrder(order, before, now, products) if products else None
    if lacks_cancelled_lines(last, order, match):
        return None
    earlier = [compare(stage, order, match, accounts) for stage in stages[:-1]]
    undoes = any(each.is_none for each in earlier)
    if undoes and age(order) <= 0:
        return ChangedOrder(order, before, now, is_older=True)
    if (
        not undoes
        and not order.is_cancelled
        and (part := part_of_order(stages, last, order, match))
    ):
        return ChangedOrder(order, before, now, part=part)
    if age(order) <= 0 and not only_cancels(last, order, match):
        return ChangedOrder(order, before, now, age=age(order))
    postings = tuple(_postings(last, order, match, accounts))
    owed = -sum([posting.amount for posting in postings], ZERO)
    returns = owed < 0 or any(
        posting.account == accounts.refunds
        or str(dict(posting.meta).get("quantity", "")).startswith("-")
        for posting in postings
    )
    return Edit(
        order,
        len(stages) + 1,
        postings,
        owed,
        last.tax,
        returns,
        tuple(last.added),
        before,
        products,
        undoes,
        next(filter(None, (header(text).get("packing", "") for text in texts)), ""),
        max([order.date, *map(day_of, lines_transactions(texts, name))]),
    )


def _postings(
    changes: Changes, order: Order, match: Match, accounts: Accounts
) -> Iterable[LinePosting]:
    """Yield the postings that make the ledger's order the file's."""
    yield from charges(
        order._replace(
            tax=changes.tax,
            shipping=changes.shipping,
            reduction=changes.discounts.get("", ZERO),
        )
    )
    for item, amount in changes.discounts.items():
        if item:
            yield LinePosting(accounts.discounts, amount, discount_meta(item))
    for gone in changes.gone:
        yield cancelling(gone, accounts)
    for line in changes.added:
        for posting in line_postings(line, match(line.item), accounts, order.currency):
            if not is_discount(posting, accounts):
                yield posting

"""Find what changed in orders that the ledger has, and book the changes.

Buyers change and cancel orders after they have paid; the shop's next export has the new
lines. What the ledger has stays as it is: a further transaction takes out the lines that
are gone and adds those that are new, with an id of its own (`shop-orders/W1042#2`).

A file with what the ledger had before an edit is an older one, and changes nothing. Where
a user has changed an order's transactions by hand so that its lines cannot be told,
nothing is booked, and the report says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.booked_lines import (
    Unreadable,
    lines_transactions,
    read_stages,
    with_known_items,
)
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
from offcut.importers.order_states import LINE_KEYS, is_line, postings_in
from offcut.importers.postings import WritePosting, lines_id
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Order, OrderLine, order_total
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
    """

    order: Order
    number: int
    postings: tuple[LinePosting, ...]
    owed: Decimal
    tax: Decimal
    returns: bool
    added: tuple[OrderLine, ...]
    before: Decimal


class ChangedOrder(NamedTuple):
    """An order that the ledger has otherwise than a file, of which nothing is booked.

    Attributes:
      order: The order as the file has it.
      before: What its lines come to in the ledger.
      now: What they come to in the file.
      products: Products that only the file names, where all else agrees.
      is_older: Whether the file has what the ledger had before an edit.
    """

    order: Order
    before: Decimal
    now: Decimal
    products: tuple[str, ...] = ()
    is_older: bool = False


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
) -> Edits:
    """Return what files have otherwise than the ledger.

    Args:
      orders: Orders whose lines the ledger has, each with the texts of the transactions
        that have the order's link.
      poster: Returns what says what an order's line is booked to.
      match: Says what an item text means.
      write: Writes a posting.

    Raises:
      ImportRefused: Two files have an order edited in different ways.
    """
    found = Edits([], [])
    seen: dict[str, Order] = {}
    problems = []
    for order, texts in orders:
        if not _may_differ(order, texts, poster(order), write):
            continue
        edit = _find_edit(order, texts, match)
        if isinstance(edit, ChangedOrder):
            found.changed.append(edit)
        elif edit:
            before = seen.setdefault(lines_id(order), order)
            if before is order:
                found.edits.append(edit)
            elif before != order._replace(file=before.file, row=before.row):
                message = (
                    f"expected the same order as in {before.file}, row {before.row}; "
                    "import the newer file alone"
                )
                problems.append(Problem(order.file, order.row, None, message))
    if problems:
        raise ImportRefused(problems)
    return found


def _may_differ(
    order: Order,
    texts: Sequence[str],
    post: Callable[[OrderLine], LinePostings],
    write: WritePosting,
) -> bool:
    """Return whether a closer look is needed: the ledger has not the very text.

    Most orders were never touched; to look for a text is quick.
    """
    booked = lines_transactions(texts, escaped(lines_id(order)))
    if len(booked) != 1:
        return bool(booked)
    expected = "".join(
        [
            *[write(*each[:2], order.currency, each[2]) for each in charges(order)],
            *[post(line).text for line in order.lines],
        ]
    )
    whole = booked[0].replace("\r\n", "\n") + "\n"  # the text is without its last end
    before, found, after = whole.partition(expected)
    if not found:
        return True
    accounts = order.layout.accounts
    rest = f"{before}\n{after}"
    return any(f" {key}:" in rest for key in LINE_KEYS) or any(
        f"  {account} " in rest
        for account in (accounts.tax, accounts.shipping, accounts.discounts)
    )


def _find_edit(
    order: Order, texts: Sequence[str], match: Match
) -> Edit | ChangedOrder | None:
    """Return what is to be booked or told of an order; None where nothing changed."""
    accounts, currency = order.layout.accounts, order.currency
    name = escaped(lines_id(order))
    now = order_total(order)
    before = _booked_total(texts, name, accounts)
    try:
        stages = read_stages(texts, name, currency, accounts)
        stages[-1] = with_known_items(stages[-1], texts, currency, accounts)
    except Unreadable:
        same = before == now and _currencies(texts, name, accounts) <= {currency}
        return None if same else ChangedOrder(order, before, now)
    earlier = [compare(stage, order, match, accounts) for stage in stages]
    last = earlier.pop()
    if last.is_none:
        renamed = tuple(dict.fromkeys(last.renamed))
        return ChangedOrder(order, before, now, products=renamed) if renamed else None
    if any(each.is_none for each in earlier):
        return ChangedOrder(order, before, now, is_older=True)
    postings = tuple(_postings(last, order, match, accounts))
    owed = -sum([posting.amount for posting in postings], ZERO)
    returns = owed < 0 or any(
        posting.account == accounts.refunds
        or str(dict(posting.meta).get("quantity", "")).startswith("-")
        for posting in postings
    )
    added = tuple(last.added)
    return Edit(order, len(stages) + 1, postings, owed, last.tax, returns, added, before)


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
            yield LinePosting(accounts.discounts, amount, (("item", item),))
    for gone in changes.gone:
        yield cancelling(gone, accounts)
    for line in changes.added:
        for posting in line_postings(line, match(line.item), accounts, order.currency):
            if not is_discount(posting, accounts):
                yield posting


def _booked_total(texts: Iterable[str], name: str, accounts: Accounts) -> Decimal:
    """Return what an order's lines come to in the ledger."""
    return -sum(
        [
            posting.number or ZERO
            for text in lines_transactions(texts, name)
            for posting in postings_in(text)
            if is_line(posting, accounts)
        ],
        ZERO,
    )


def _currencies(texts: Iterable[str], name: str, accounts: Accounts) -> set[str]:
    """Return the currencies of an order's lines in the ledger."""
    return {
        posting.currency
        for text in lines_transactions(texts, name)
        for posting in postings_in(text)
        if is_line(posting, accounts) and posting.number is not None
    }

"""Look at the text of an order's lines in the ledger as a whole."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal

from offcut.importers.booked_lines import lines_transactions
from offcut.importers.layout import Accounts
from offcut.importers.ledger_text import escaped
from offcut.importers.line_postings import LinePostings, charges
from offcut.importers.order_postings import LINE_KEYS, is_line
from offcut.importers.postings import WritePosting, lines_id
from offcut.importers.records import Order, OrderLine
from offcut.importers.transaction_texts import postings_in
from offcut.importers.values import ZERO


def may_differ(
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
    if not expected:
        return True
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


def booked_total(texts: Iterable[str], name: str, accounts: Accounts) -> Decimal:
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


def booked_currencies(texts: Iterable[str], name: str, accounts: Accounts) -> set[str]:
    """Return the currencies of an order's lines in the ledger."""
    return {
        posting.currency
        for text in lines_transactions(texts, name)
        for posting in postings_in(text)
        if is_line(posting, accounts) and posting.number is not None
    }

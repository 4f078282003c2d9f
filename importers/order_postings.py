"""Count what a transaction leaves open of orders, and what it says of them."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal

from offcut.importers.layout import Accounts
from offcut.importers.open_amounts import OpenAmount
from offcut.importers.transaction_texts import PostingText, TransactionText
from offcut.importers.values import ZERO

# What tells the postings to the account of remitted tax apart; without a note, they are
# what a payment says.
CHARGED = "sales tax that the marketplace pays over"
PLUG = "sales tax that the order's lines do not say"
# On a posting of nothing: the order was cancelled before any of its lines was booked.
CANCELLED = "the order is cancelled"
# What is said of refunds beside their own postings.
REFUNDED = "sales tax in the refund"
TAKEN_OVER = "booked before, without its items"
GIVEN_BACK = "refund that was booked before"

# Movements that pay orders, which are then one account where they are paid together.
PAYING = ("sale", "gift-card-use", "deposit", "bank")
# Movements that change what an order has open; an adjustment waits by itself.
_SETTLING = (*PAYING, "refund", "tax-remitted")
# What an order line's posting carries, one of them.
LINE_KEYS = frozenset({"item", "item-text", "line-text"})
# What a discount carries: the product that it is of, or the text of a line that no rule
# knew.
ITEM, DISCOUNT_OF = "item", "discount-of"
_NUMBER = re.compile(r"-?\d+(\.\d+)?")


def is_of_refund(posting: PostingText) -> bool:
    """Return whether a posting says what refunds that name no item turned out to be."""
    return posting.meta.get("note") in (REFUNDED, TAKEN_OVER, GIVEN_BACK)


def discount_name(meta: Mapping[str, object]) -> str:
    """Return what a discount's posting is of: a product, or `?` and an unknown text.

    Empty where it is of no line, or of one that is no product.

    Args:
      meta: What is noted beside it.
    """
    if DISCOUNT_OF in meta:
        return f"?{meta[DISCOUNT_OF]}"
    return str(meta.get(ITEM, ""))


def discount_meta(name: str) -> tuple[tuple[str, str], ...]:
    """Return what is noted beside a discount; the reverse of `discount_name`."""
    if name.startswith("?"):
        return ((DISCOUNT_OF, name[1:]),)
    return ((ITEM, name),) if name else ()


def is_line(posting: PostingText, accounts: Accounts) -> bool:
    """Return whether a posting of an order's lines is part of what they come to."""
    account, meta = posting.account, posting.meta
    if is_of_refund(posting):
        return False
    if account == accounts.tax_remitted:
        return meta.get("note") == CHARGED
    whole = (accounts.tax, accounts.shipping, accounts.discounts)
    return account in whole or not LINE_KEYS.isdisjoint(meta)


def count_transaction(
    read: TransactionText,
    members: Collection[str],
    accounts: Accounts,
    amounts: dict[str, OpenAmount],
) -> Collection[str]:
    """Count what a transaction leaves open of orders, and what it says of them.

    Args:
      read: The transaction.
      members: The keys of the orders.
      accounts: The channel's accounts.
      amounts: What is open, by currency; it is changed.

    Returns:
      The orders whose lines it has.
    """
    orders = orders_in(read.links)
    concerned = [order for order in orders if order in members]
    movement = read.meta.get("movement", "sale")
    has_lines, is_imported = "lines-id" in read.meta, "source-id" in read.meta
    if is_imported and not has_lines and movement not in _SETTLING:
        return ()
    is_refund = is_imported and movement == "refund" and len(orders) == 1
    of = concerned[0]
    if has_lines:
        named = read.meta["lines-id"].partition("/")[2].partition("#")[0]
        of = named if named in members else of
    refunds: dict[str, Decimal] = {}
    for posting in read.postings:
        account, number, currency, noted, _ = posting
        if number is None:
            continue
        amount = amounts[currency]
        if has_lines:
            amount.of(of).lines = amount.of(of).lines or ZERO
        elif is_imported and movement in PAYING:
            for order in concerned:
                amount.of(order)
        counts = True
        if has_lines and is_line(posting, accounts):
            _count_line(posting, accounts, amount, of)
        elif account == accounts.receivable:
            amount.receivable += number
        elif account == accounts.suspense and LINE_KEYS.isdisjoint(noted):
            amount.suspense += number
        elif account == accounts.deposits:
            amount.deposits += number
            if not is_imported and not has_lines:  # by hand
                amount.ahead -= number
        elif account == accounts.tax_remitted and noted.get("note") == PLUG:
            amount.plug += number
        elif _is_of_refunds(posting, is_refund, accounts):
            if account == accounts.refunds:
                amount.refunds += number
            elif account == accounts.tax:
                amount.refund_tax += number
            else:
                amount.refund_kept += number
        else:
            counts = False
            if account == accounts.tax_remitted and not is_refund:
                amount.remitted += number
        if counts and is_refund:
            refunds[currency] = refunds.get(currency, ZERO) + number
        elif counts and movement == "deposit" and is_imported:
            amount.ahead -= number
    if has_lines:
        returns = _returns(read, accounts)
        for currency in returns:
            amounts[currency].of(of).returns = True
    for currency, refunded in refunds.items():
        tax, kept = _said_tax(read, currency, accounts)
        amounts[currency].of(of).refund(refunded, tax, kept)
    return concerned if has_lines else ()


def _count_line(
    posting: PostingText, accounts: Accounts, amount: OpenAmount, order: str
) -> None:
    """Count a posting of an order's lines."""
    totals, number = amount.of(order), posting.number or ZERO
    totals.lines = (totals.lines or ZERO) - number
    if posting.account == accounts.tax:
        totals.tax -= number
    elif posting.account == accounts.tax_remitted:
        totals.charged -= number


def _is_of_refunds(posting: PostingText, is_refund: bool, accounts: Accounts) -> bool:
    """Return whether a posting is of refunds that name no item.

    A refund's own are without a note, but for the tax that the marketplace gives back.
    """
    if posting.account in (accounts.refunds, accounts.tax):
        whole = is_refund and LINE_KEYS.isdisjoint(posting.meta)
        return whole or is_of_refund(posting)
    return posting.account == accounts.tax_remitted and is_of_refund(posting)


def _said_tax(
    read: TransactionText, currency: str, accounts: Accounts
) -> tuple[Decimal, Decimal]:
    """Return the tax that a refund's row says: what the maker owed, and what was kept.

    What a user has put to the account of sales tax by hand is said, too.
    """
    tax = kept = ZERO
    for account, number, of_currency, meta, _ in read.postings:
        if number is None or of_currency != currency or "note" in meta:
            continue
        if account == accounts.tax_remitted:
            kept -= number
        elif account == accounts.tax and "lines-id" not in read.meta:
            tax += number
    said = read.meta.get("tax", "")
    return (Decimal(said) if _NUMBER.fullmatch(said) else tax), kept


def _returns(read: TransactionText, accounts: Accounts) -> set[str]:
    """Return the currencies in which lines are cancelled, or an edit made them less."""
    found: set[str] = set()
    totals: dict[str, Decimal] = defaultdict(Decimal)
    for posting in read.postings:
        if posting.meta.get("note") == CANCELLED:
            found.add(posting.currency)
        if not is_line(posting, accounts):
            continue
        quantity = posting.meta.get("quantity", "")
        if posting.account == accounts.refunds or quantity.startswith("-"):
            found.add(posting.currency)
        totals[posting.currency] -= posting.number or ZERO
    if "#" in read.meta["lines-id"]:
        found.update(currency for currency, total in totals.items() if total < 0)
    return found


def orders_in(links: Iterable[str]) -> list[str]:
    """Return the keys of the orders that links name, sorted."""
    return sorted(each[6:] for each in links if each.startswith("order-"))

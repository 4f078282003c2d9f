"""Turn payments and orders into postings and transactions."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from offcut.importers.ledger_text import posting_text, transaction_text
from offcut.importers.records import Order, Payment, money_moved, order_key
from offcut.importers.values import ZERO

Meta = tuple[tuple[str, str | Decimal], ...]
WritePosting = Callable[[str, Decimal, str, Meta], str]

# Movements of which the whole row is what was charged.
ALL_FEE = ("fee", "dispute-fee")
ONE_SIDED = "conversion without its other side"
NO_ORDER = "no order number"


class Booking(NamedTuple):
    """One transaction to write, or a balance to assert.

    Attributes:
      day: The date, as ISO 8601 writes it, that it is filed by.
      source: The source whose file it goes to.
      text: Its lines in a ledger.
      transactions: 1, or 0 for what is no transaction.
    """

    day: str
    source: str
    text: str
    transactions: int = 1


def posting_writer(accounts: set[str]) -> WritePosting:
    """Return a function that writes a posting, each different one once.

    Prices, fees and taxes repeat; to look a posting up is quicker than to write it.

    Args:
      accounts: Takes the accounts that are posted to.
    """

    @cache
    def write(account: str, amount: Decimal, currency: str, meta: Meta) -> str:
        accounts.add(account)
        accounts.update(str(named) for key, named in meta if key == "cost-account")
        return posting_text(account, amount, currency, meta)

    return write


def payment_booking(
    payment: Payment,
    contra: Iterable[str],
    write: WritePosting,
    order: Order | None = None,
    packing: str = "",
) -> Booking:
    """Return the transaction of a payment.

    Args:
      payment: The payment.
      contra: What balances its gross amount.
      write: Writes a posting.
      order: The order whose lines are among `contra`.
      packing: The packing list that the order is packed by; empty where it has none.
    """
    layout = payment.layout
    postings = _money_postings(payment, write)
    postings.extend(contra)
    link = ""
    if payment.movement == "payout":  # the bank's row is matched by it, order or not
        link = f"payout-{order_key(payment.id)}"
    elif payment.order:
        link = f"order-{payment.order}"
    elif payment.orders:
        link = " ".join([f"order-{each}" for each in payment.orders])
    day = payment.date.isoformat()
    text = transaction_text(
        day,
        narration_of(payment),
        link,
        (
            ("channel", layout.channel),
            ("packing", packing),
            ("coupon", order.coupon if order else ""),
            ("movement", "" if payment.movement == "sale" else payment.movement),
            ("source-id", source_id(payment)),
            ("lines-id", lines_id(order) if order else ""),
            ("reference", payment.reference),
            ("tax", _said_tax(payment)),
        ),
        "".join(postings),
        payment.payee,
    )
    return Booking(day, layout.source, text)


def _said_tax(payment: Payment) -> str:
    """Return the tax that the row of an order's refund says; empty where it says none.

    It is noted since not all of a refund need be one of a sale, and have tax in it.
    """
    is_said = payment.movement == "refund" and payment.order and not payment.account
    return f"{-payment.tax:f}" if is_said and payment.tax else ""


def _money_postings(payment: Payment, write: WritePosting) -> list[str]:
    """Return where the money of a movement is now, and what was kept of it."""
    accounts, currency = payment.layout.accounts, payment.currency
    moved = money_moved(payment)
    postings = []
    if payment.movement == "gift-card-use":
        paid = payment.gross - payment.remitted
        postings.append(write(accounts.gift_cards, paid, currency, ()))
    if moved or payment.movement != "gift-card-use":
        postings.append(write(accounts.clearing, moved, currency, ()))
    account, fee = accounts.fees, payment.fee
    if payment.movement in ALL_FEE:
        fee = payment.tip - payment.net - payment.remitted
        usual = accounts.dispute_fees if payment.movement == "dispute-fee" else account
        account = payment.account or usual
    if fee:
        postings.append(write(account, fee, currency, ()))
    if payment.remitted:
        postings.append(write(accounts.tax_remitted, payment.remitted, currency, ()))
    if payment.tip:
        postings.append(write(accounts.tips, -payment.tip, currency, ()))
    return postings


def contra_postings(payment: Payment, write: WritePosting) -> tuple[str, ...]:
    """Return what balances a movement that is matched with no order's lines.

    Args:
      payment: The movement.
      write: Writes a posting.
    """
    if payment.movement in ALL_FEE:
        return ()  # the whole of it is posted as a fee
    currency = payment.currency
    return tuple(
        [write(name, -part, currency, meta) for name, part, meta in _parts(payment) if part]
    )


def suspended(payment: Payment) -> tuple[str, Decimal]:
    """Return why a movement that joins no order goes to suspense, and what of it does.

    Returns:
      The note on its posting, and what the movement brought; "" and 0 where it goes
      elsewhere.
    """
    if payment.movement in ALL_FEE:
        return "", ZERO
    account, rest, note = _parts(payment)[-1]
    if account != payment.layout.accounts.suspense or not note:
        return "", ZERO
    return str(note[0][1]), rest


def _parts(payment: Payment) -> list[tuple[str, Decimal, Meta]]:
    """Return what the gross of a movement without order lines is of, the rest last."""
    layout = payment.layout
    accounts = layout.accounts
    account, note = _contra(payment)
    parts: list[tuple[str, Decimal, Meta]]
    parts = [(accounts.tax_remitted, payment.remitted, ())]
    if "order" not in layout.columns:  # else the order's lines say it
        parts.append((accounts.tax, payment.tax, ()))
        parts.append((accounts.shipping, payment.shipping, ()))
    elif payment.movement == "refund" and not payment.order:
        # No order's lines can take the refund over, and say its tax themselves.
        parts.append((accounts.tax, payment.tax, ()))
    rest = payment.gross - payment.tip - sum([part for _, part, _ in parts], ZERO)
    parts.append((account, rest, note))
    return parts


def _contra(payment: Payment) -> tuple[str, Meta]:
    """Return the account that a movement's money comes from or goes to, and a note."""
    accounts = payment.layout.accounts
    if payment.account:
        return payment.account, ()
    match payment.movement:
        case "sale" | "gift-card-use" if "order" not in payment.layout.columns:
            return accounts.sales, ()
        case "sale" | "gift-card-use":
            why = "order lines not imported" if payment.order else NO_ORDER
            return accounts.suspense, (("note", why),)
        case "refund":
            return accounts.refunds, ()
        case "payout":
            return accounts.payout, ()
        case "dispute" | "reversal":
            return accounts.disputes, ()
        case "hold" | "release":
            return accounts.held, ()
        case "tip":
            return accounts.tips, ()
        case "gift-card-sale":
            return accounts.gift_cards, ()
        case "deposit":
            return accounts.deposits, ()
        case "tax-remitted":
            return accounts.tax_remitted, ()
        case "postage":
            return accounts.postage, ()
        case "conversion":
            return accounts.suspense, (("note", ONE_SIDED),)
        case _:
            return accounts.suspense, (("note", payment.movement),)


def source_id(payment: Payment) -> str:
    """Return the id that a payment is found again by."""
    return f"{payment.layout.source}/{payment.id}"


def lines_id(order: Order) -> str:
    """Return the id that an order's lines are found again by."""
    return f"{order.layout.source}/{order.order}"


def narration_of(payment: Payment) -> str:
    """Return what to call a movement: what the file says, if it says anything."""
    if payment.text:
        return payment.text
    order = f"{payment.layout.channel} order {payment.number}" if payment.number else ""
    if payment.movement == "sale":
        return order or f"{payment.layout.channel} sale"
    movement = payment.movement.replace("-", " ").capitalize()
    return f"{movement}{', ' if order else ''}{order}"

"""Compare an order's lines as the ledger has them with those of a file."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.booked_lines import GONE, BookedLine, Stage
from offcut.importers.layout import Accounts
from offcut.importers.line_postings import LinePosting, Match, line_postings
from offcut.importers.order_postings import discount_name
from offcut.importers.records import Order, OrderLine
from offcut.importers.splitting import split_in_cents
from offcut.importers.values import ZERO, minor_unit


class Changes(NamedTuple):
    """What a file has otherwise than a stage of the ledger.

    Attributes:
      gone: Lines that the file does not have.
      added: Lines that only the file has.
      discounts: What more is taken off, by what it is of (`discount_name`).
      shipping: What more is charged for shipping.
      tax: What more is charged as sales tax.
      renamed: Products, or texts that are none, that the file names and the ledger does
        not, where pieces and amount agree.
      shares: Whether any line of the file is in the ledger, or one of the same name.
    """

    gone: list[BookedLine]
    added: list[OrderLine]
    discounts: dict[str, Decimal]
    shipping: Decimal
    tax: Decimal
    renamed: list[str]
    shares: bool

    @property
    def is_none(self) -> bool:
        """Whether there is nothing to book."""
        return not (self.gone or self.added or self.discounts or self.shipping or self.tax)


def compare(stage: Stage, order: Order, match: Match, accounts: Accounts) -> Changes:
    """Return what a file's order has otherwise than a stage.

    A rule for an item text may have changed since, or the list prices that a bundle is
    split by: lines that agree in pieces and amount, whatever they are called, are not
    different, and their discount is that of what the ledger calls them. A discount that
    was moved from one product to another is a change.

    Args:
      stage: The stage.
      order: The order as the file has it.
      match: Says what an item text means.
      accounts: The accounts of the order's layout.
    """
    left = list(stage.lines)
    discounts: dict[str, Decimal] = defaultdict(Decimal)
    if order.reduction:
        discounts[""] += order.reduction
    unmatched: list[tuple[OrderLine, list[BookedLine], dict[str, Decimal]]] = []
    shares = not left
    for line in order.lines:
        parts, off = booked_parts(line, match, accounts, order.currency)
        if all(left.count(part) >= parts.count(part) for part in parts):
            shares = True
            for part in parts:
                left.remove(part)
            _add(discounts, off)
        else:
            unmatched.append((line, parts, off))

    added, renamed = [], []
    loose: set[str] = set()
    names = {each.name for each in stage.lines}
    for line, parts, off in unmatched:
        shares = shares or not names.isdisjoint({line.item, *(each.name for each in parts)})
        like = _alike(left, line)
        if like is None:
            added.append(line)
            _add(discounts, off)
            continue
        booked = left[like]
        if line.item not in {each.name for each in booked}:
            renamed += [
                part.name
                for part in parts
                if all(part.name != each.name for each in booked)
            ]  # else only the rule for the text has changed
        _add(discounts, _off_booked(booked, line, order.currency))
        if len(booked) > 1:
            loose |= {_discount_name(each) for each in booked}
        del left[like]
    more = {
        item: discounts[item] - stage.discounts.get(item, ZERO)
        for item in sorted({*discounts, *stage.discounts})
    }
    # Once it was not noted which unknown text a discount is of, and it stayed for none.
    texts = {item for item in more if item.startswith("?")} | stage.learned
    if texts and more.get(""):
        loose |= {"", *texts}
    if not sum([amount for item, amount in more.items() if item in loose], ZERO):
        more = {item: amount for item, amount in more.items() if item not in loose}
    return Changes(
        left,
        added,
        {item: amount for item, amount in more.items() if amount},
        order.shipping - stage.shipping,
        order.tax - stage.tax,
        renamed,
        shares,
    )


def booked_parts(
    line: OrderLine, match: Match, accounts: Accounts, currency: str
) -> tuple[list[BookedLine], dict[str, Decimal]]:
    """Return what a file's line is booked as, and what is taken off, by the product."""
    parts = []
    off: dict[str, Decimal] = defaultdict(Decimal)
    for posting in line_postings(line, match(line.item), accounts, currency):
        if is_discount(posting, accounts):
            off[discount_name(dict(posting.meta))] += posting.amount
        else:
            parts.append(as_booked(posting, accounts))
    return parts, off


def _off_booked(
    booked: Sequence[BookedLine], line: OrderLine, currency: str
) -> dict[str, Decimal]:
    """Return what is taken off a file's line, by the products that the ledger has for it.

    How it is divided over the parts of a bundle may be otherwise in the ledger, as list
    prices change: only what it comes to is compared.
    """
    weights = [abs(each.number) for each in booked]
    parts = split_in_cents(line.discount, weights, minor_unit(currency))
    off: dict[str, Decimal] = defaultdict(Decimal)
    for each, part in zip(booked, parts, strict=True):
        off[_discount_name(each)] += part
    return off


def _discount_name(booked: BookedLine) -> str:
    """Return what a line's discount is noted for, as `discount_name` says it."""
    return {"item": booked.name, "item-text": f"?{booked.name}"}.get(booked.kind, "")


def _add(sums: dict[str, Decimal], more: dict[str, Decimal]) -> None:
    for item, amount in more.items():
        sums[item] += amount


def is_discount(posting: LinePosting, accounts: Accounts) -> bool:
    """Return whether a posting of a line is what was taken off, and not its amount.

    A rule may book a line's amount to the account of discounts, too.
    """
    return posting.account == accounts.discounts and "quantity" not in dict(posting.meta)


def as_booked(posting: LinePosting, accounts: Accounts) -> BookedLine:
    """Return a line's posting as it is read back from the ledger."""
    meta = dict(posting.meta)
    kind = next(kind for kind in ("item", "item-text", "line-text") if kind in meta)
    quantity = meta.get("quantity")
    assert not isinstance(quantity, str)
    if quantity is not None and kind == "item" and posting.account == accounts.refunds:
        quantity = -quantity
    account, amount, name = posting.account, posting.amount, str(meta[kind])
    cost_account = str(meta.get("cost-account", ""))
    return BookedLine(account, amount, kind, name, quantity, cost_account)


def cancelling(line: BookedLine, accounts: Accounts) -> LinePosting:
    """Return the posting that takes a line out of the order again."""
    account, quantity = line.account, line.quantity
    if line.kind == "item" and quantity is not None:
        account = accounts.sales if account == accounts.refunds else accounts.refunds
        quantity = abs(quantity)
    elif quantity is not None:
        quantity = -quantity
    meta: list[tuple[str, str | Decimal]] = [(line.kind, line.name)]
    if quantity is not None:
        meta.append(("quantity", quantity))
    if line.cost_account:
        meta.append(("cost-account", line.cost_account))
    return LinePosting(account, -line.number, (*meta, ("note", GONE)))


def _alike(left: Sequence[BookedLine], line: OrderLine) -> slice | None:
    """Return which booked lines agree with a file's line in all but the name.

    That is one of the same pieces and amount, or neighbours that come to its amount
    together, as the parts of a bundle do.
    """
    for at, booked in enumerate(left):
        pieces = line.quantity if booked.quantity is None else booked.quantity
        if (pieces, booked.number) == (line.quantity, -line.amount):
            return slice(at, at + 1)
    for start, end, total in _runs(left):
        if total == -line.amount and line.amount:
            return slice(start, end)
    return None


def _runs(lines: Sequence[BookedLine]) -> Iterator[tuple[int, int, Decimal]]:
    """Yield begin, end and sum of each run of two lines or more, up to 12."""
    for start in range(len(lines)):
        total = lines[start].number
        for end in range(start + 2, min(len(lines), start + 12) + 1):
            total += lines[end - 1].number
            yield start, end, total

"""Read the lines of an order back from the ledger's text.

What the ledger has of an order is the transaction of its lines, and one more for each
edit since. The state after each of these is a *stage*: a file that agrees with an earlier
stage is an old one.
"""

from __future__ import annotations

import dataclasses
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.layout import Accounts
from offcut.importers.order_postings import CHARGED, discount_name, is_of_refund
from offcut.importers.transaction_texts import PostingText, header, postings_in
from offcut.importers.values import ZERO

GONE = "no longer in the order"

_LINES_ID = re.compile(r'lines-id: "((?:[^"\\#]|\\.)*)(?:#(\d+))?"')


class Unreadable(Exception):
    """An order's transaction is not as an import writes it."""


class BookedLine(NamedTuple):
    """A posting of an order's line, as the ledger has it.

    Attributes:
      account: Its account.
      number: What is posted.
      kind: What names it: `item`, `item-text` or `line-text`.
      name: The name.
      quantity: Pieces, negative where they are cancelled; None where none came back.
      cost_account: What bears the pieces' cost, where it is not the cost of sales.
    """

    account: str
    number: Decimal
    kind: str
    name: str
    quantity: Decimal | None
    cost_account: str


@dataclasses.dataclass
class Stage:
    """What an order comes to, by its lines up to one of its transactions.

    Attributes:
      lines: Its lines, the oldest first.
      discounts: What was taken off, by what it is of (`discount_name`).
      shipping: What the buyer was charged for shipping.
      tax: What the buyer was charged as sales tax.
      added: The lines that the last of its transactions brought.
      removed: Whether that transaction took lines out.
      learned: Products of lines that were parked: once their discount stayed for none.
    """

    lines: list[BookedLine] = dataclasses.field(default_factory=list)
    discounts: dict[str, Decimal] = dataclasses.field(
        default_factory=lambda: defaultdict(Decimal)
    )
    shipping: Decimal = ZERO
    tax: Decimal = ZERO
    added: list[BookedLine] = dataclasses.field(default_factory=list)
    removed: bool = False
    learned: set[str] = dataclasses.field(default_factory=set)

    def copy(self) -> Stage:
        """Return a stage that can be changed apart from this one."""
        return dataclasses.replace(
            self,
            lines=list(self.lines),
            discounts=defaultdict(Decimal, self.discounts),
            added=list(self.added),
            learned=set(self.learned),
        )


def read_stages(
    texts: Sequence[str], name: str, currency: str, accounts: Accounts
) -> list[Stage]:
    """Return the stages of an order; [] where the ledger has none of its lines.

    Args:
      texts: The texts of the transactions with the order's link.
      name: The id of its lines, as the ledger's text has it.
      currency: The order's currency.
      accounts: The accounts of its layout.

    Raises:
      Unreadable: A transaction is not as an import writes it.
    """
    stages: list[Stage] = []
    for text in lines_transactions(texts, name):
        stage = stages[-1].copy() if stages else Stage()
        stage.added, stage.removed = [], False
        _read_lines(stage, text, currency, accounts)
        stages.append(stage)
    return stages


def lines_transactions(texts: Iterable[str], name: str) -> list[str]:
    """Return the transactions of an order's lines, the first one and then its edits."""
    numbered = []
    for text in texts:
        match = _LINES_ID.search(text)
        if match and match[1] == name:
            numbered.append((int(match[2] or 1), text))
    return [text for _, text in sorted(numbered)]


def with_known_items(
    stage: Stage, texts: Iterable[str], currency: str, accounts: Accounts
) -> Stage:
    """Return a stage in which lines that were parked are what they turned out to be.

    Args:
      stage: The stage.
      texts: The texts of the transactions with the order's link.
      currency: The order's currency.
      accounts: The accounts of its layout.

    Raises:
      Unreadable: As in `read_stages`.
    """
    stage = stage.copy()
    for text in texts:
        if "parked-id" not in header(text):
            continue
        read = [_line(posting, currency, accounts) for posting in postings_in(text)]
        for account, number, _, meta, _ in postings_in(text):
            if account == accounts.discounts and "quantity" not in meta:
                stage.discounts[discount_name(meta)] += number or ZERO
        lines = [line for line in read if line]
        parked = [line for line in lines if line.kind == "item-text"]
        if not parked:
            raise Unreadable  # somebody has edited what was moved
        # What was out of the order before it was moved is not in the stage, and is not
        # to be put there; that it went was parked, and moved, too.
        if all(_remove(stage, line, line.quantity) for line in parked):
            known = [line for line in lines if line not in parked]
            stage.lines += known
            stage.learned.update(line.name for line in known)
    return stage


def _read_lines(stage: Stage, text: str, currency: str, accounts: Accounts) -> None:
    """Take one transaction of an order's lines into a stage."""
    roots = {account.partition(":")[0] for account in (accounts.sales, accounts.tax)}
    for posting in postings_in(text):
        account, number, _, meta, _ = posting
        if number is None:
            raise Unreadable
        if is_of_refund(posting):
            continue
        line = _line(posting, currency, accounts)
        if line and meta.get("note") == GONE:
            if not _remove(stage, line, line.quantity and -line.quantity):
                raise Unreadable
            stage.removed = True
        elif line:
            stage.lines.append(line)
            stage.added.append(line)
        elif account == accounts.discounts:
            stage.discounts[discount_name(meta)] += number
        elif account == accounts.tax or meta.get("note") == CHARGED:
            stage.tax -= number
        elif account == accounts.shipping:
            stage.shipping -= number
        elif account not in accounts and account.partition(":")[0] in roots:
            raise Unreadable


def _line(posting: PostingText, currency: str, accounts: Accounts) -> BookedLine | None:
    """Return the line that a posting is of; None where it is of none."""
    account, number, of_currency, meta, _ = posting
    kinds = [kind for kind in ("item", "item-text", "line-text") if kind in meta]
    if not kinds or (account == accounts.discounts and "quantity" not in meta):
        return None
    (kind,) = kinds[:1]
    ours = {
        "item": (accounts.sales, accounts.refunds),
        "item-text": (accounts.suspense,),
        "line-text": (account,),
    }
    text = meta.get("quantity", "")
    without = kind == "item" and account == accounts.refunds and not text
    sound = re.fullmatch(r"-?\d+(\.\d+)?", text) or without
    if number is None or of_currency != currency or account not in ours[kind] or not sound:
        raise Unreadable
    quantity = Decimal(text) if text else None
    if quantity is not None and kind == "item" and account == accounts.refunds:
        quantity = -quantity
    cost_account = meta.get("cost-account", "")
    return BookedLine(account, number, kind, meta[kind], quantity, cost_account)


def _remove(stage: Stage, gone: BookedLine, quantity: Decimal | None) -> bool:
    """Take out the line that another one cancels; return whether there is one.

    Args:
      stage: The stage.
      gone: The line that cancels it, by amount.
      quantity: The pieces of the line to take out: only they tell lines for nothing apart.
    """
    for at, line in enumerate(stage.lines):
        same = (line.kind, line.name, line.number) == (gone.kind, gone.name, -gone.number)
        if same and line.quantity == quantity:
            del stage.lines[at]
            return True
    return False

"""Find the order lines of a ledger that wait in suspense for a rule.

A line whose text no rule knew was parked: it is in the suspense account, with its text
and quantity. It is parked until a transaction with its `parked-id` has moved it, or
until somebody has put it right by hand, so that it has no `item-text` or stands in
another account.
"""

from __future__ import annotations

import datetime
import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from decimal import Decimal, InvalidOperation
from itertools import accumulate
from typing import NamedTuple

from beancount.core import data
from beancount.core.amount import Amount
from beancount.parser import booking, parser

from offcut.importers.file_facts import ITEM_TEXT, PARKED_ID
from offcut.importers.items import UNKNOWN
from offcut.importers.known import Known
from offcut.importers.layout import Layout
from offcut.importers.line_postings import Match
from offcut.importers.records import OrderLine
from offcut.importers.transaction_texts import find_transactions, unescaped
from offcut.importers.values import ZERO

_ITEM_TEXT = re.compile(rb'[ \t]item-text:[ \t]*"((?:[^"\\]|\\.)*)"')
_ID = re.compile(r'\n[ \t]+(lines|parked)-id:[ \t]*"((?:[^"\\]|\\.)*)"')
_MOVED = re.compile(rb'[ \t]parked-id:[ \t]*"((?:[^"\\]|\\.)*)/(\d+)"')


class ParkedLine(NamedTuple):
    """A line in suspense.

    Attributes:
      lines_id: The id of the order's lines, or of the tally, that it is one of.
      number: What tells it from the others of that id.
      entry: The transaction that it stands in.
      line: Its text, quantity and amount; the discount was booked.
      currency: The amount's currency.
      account: The suspense account that it is in.
      layout: The layout that it was read by; None where there is no such layout now.
    """

    lines_id: str
    number: int
    entry: data.Transaction
    line: OrderLine
    currency: str
    account: str
    layout: Layout | None


class UnknownText(NamedTuple):
    """An item text that lines in suspense have.

    Attributes:
      text: The text.
      currency: The currency of the lines.
      lines: How many lines there are.
      amount: What they come to before discount.
      latest: The latest day of them.
      accounts: The accounts that they are in.
    """

    text: str
    currency: str
    lines: int
    amount: Decimal
    latest: datetime.date
    accounts: tuple[str, ...]


def parked_lines(
    known: Known,
    layouts: Iterable[Layout],
    wanted: Callable[[str], bool] = lambda text: True,
) -> list[ParkedLine]:
    """Return the lines that are parked in a ledger, by date.

    Args:
      known: The ledger.
      layouts: The layouts that there are, those to be preferred first.
      wanted: Says whether a line with this item text is looked for.
    """
    texts: dict[str, list[str]] = defaultdict(list)
    moves: dict[str, str] = {}
    moved: dict[str, set[int]] = defaultdict(set)
    for contents in known.files.with_marks(ITEM_TEXT, PARKED_ID):
        for name, number in _MOVED.findall(contents) if PARKED_ID in contents else ():
            moved[name.decode("utf-8", "replace")].add(int(number))
        for text in _with_wanted(contents, wanted):
            ids = dict(_ID.findall(text))
            if "parked" in ids:
                moves[ids["parked"]] = text
            elif "lines" in ids:
                texts[ids["lines"]].append(text)
    of_source: dict[str, list[Layout]] = defaultdict(list)
    for layout in layouts:
        if layout.kind in ("order-lines", "tally"):
            of_source[layout.source].append(layout)

    # Those whose lines are all moved need no closer look.
    waiting = {
        name: parts
        for name, parts in texts.items()
        if sum(part.count("item-text:") for part in parts) > len(moved[name])
    }
    read = _transactions([part for parts in waiting.values() for part in parts])
    found: list[ParkedLine] = []
    for name, parts in waiting.items():
        lines_id = unescaped(name)
        lines: list[ParkedLine | None] = [
            line
            for part in parts
            for line in _lines(lines_id, read.get(part), of_source[source_of(lines_id)])
        ]
        for number in sorted(moved[name]):
            _strike(lines, number, parsed_transaction(moves.get(f"{name}/{number}", "")))
        found.extend(_numbered(lines, moved[name]))
    wanted_ones = [each for each in found if wanted(each.line.item)]
    return sorted(wanted_ones, key=lambda one: (one.entry.date, one.lines_id, one.number))


def unknown_texts(parked: Iterable[ParkedLine], match: Match) -> list[UnknownText]:
    """Return the item texts that mean nothing known, the largest amounts first."""
    groups: dict[tuple[str, str], list[ParkedLine]] = defaultdict(list)
    for each in parked:
        if match(each.line.item) == UNKNOWN:
            groups[each.line.item, each.currency].append(each)
    found = [
        UnknownText(
            text,
            currency,
            len(group),
            sum([each.line.amount for each in group], ZERO),
            max(each.entry.date for each in group),
            tuple(sorted({each.account for each in group})),
        )
        for (text, currency), group in groups.items()
    ]
    return sorted(found, key=lambda each: (-abs(each.amount), each.text, each.currency))


def _with_wanted(contents: bytes, wanted: Callable[[str], bool]) -> Iterator[str]:
    """Yield the texts of transactions with a line of a wanted text, parked or not."""
    if ITEM_TEXT not in contents:
        return
    texts = set(_ITEM_TEXT.findall(contents))
    looked_for = {
        text for text in texts if wanted(unescaped(text.decode("utf-8", "replace")))
    }
    if not looked_for:
        return
    for text in find_transactions(contents, _ITEM_TEXT):
        if not looked_for.isdisjoint(_ITEM_TEXT.findall(text.encode())):
            yield text


def _transactions(texts: Sequence[str]) -> dict[str, data.Transaction]:
    """Return the transactions of texts, without what beancount cannot read."""
    starts = list(accumulate((text.count("\n") + 1 for text in texts), initial=1))
    entries, errors, _ = parser.parse_string("\n".join(texts))
    if errors:  # one that is not whole may take the next ones with it
        read = {text: parsed_transaction(text) for text in texts}
        return {text: entry for text, entry in read.items() if entry}
    return {
        texts[bisect_right(starts, entry.meta["lineno"]) - 1]: entry
        for entry in entries
        if isinstance(entry, data.Transaction)
    }


def parsed_transaction(text: str) -> data.Transaction | None:
    """Return the transaction of a text; None where beancount cannot read it."""
    entries, errors, _ = parser.parse_string(text)
    if errors or len(entries) != 1 or not isinstance(entries[0], data.Transaction):
        return None
    return entries[0]


def _with_amounts(entry: data.Transaction) -> data.Transaction:
    """Return a transaction with the amounts that beancount fills in, where it can."""
    if all(isinstance(each.units, Amount) for each in entry.postings):
        return entry
    _, _, options = parser.parse_string("")
    entries, errors = booking.book([entry], options)  # type: ignore[no-untyped-call]
    return entry if errors or len(entries) != 1 else entries[0]


def _lines(
    lines_id: str, entry: data.Transaction | None, layouts: Sequence[Layout]
) -> Iterator[ParkedLine]:
    """Yield the parked lines of a transaction."""
    if entry is None:
        return
    channel = entry.meta.get("channel")
    fitting = [each for each in layouts if channel in (None, each.channel)]
    for posting in _with_amounts(entry).postings:
        line = parked_line(posting)
        if line is None or posting.units is None:
            continue
        layout = next(
            (each for each in fitting if each.accounts.suspense == posting.account), None
        )
        if layout or not fitting:
            yield ParkedLine(
                lines_id,
                0,
                entry,
                line,
                posting.units.currency,
                posting.account,
                layout,
            )


def parked_line(posting: data.Posting) -> OrderLine | None:
    """Return the order line that a posting parks; None where it parks none."""
    meta, units = posting.meta or {}, posting.units
    text, quantity = meta.get("item-text"), meta.get("quantity")
    if not isinstance(text, str) or "item" in meta or posting.cost or posting.price:
        return None
    if not isinstance(units, Amount) or not isinstance(units.number, Decimal):
        return None  # for beancount to fill in
    try:
        # The viewer's import page keeps texts only.
        pieces = Decimal(quantity if isinstance(quantity, Decimal | str) else "")
    except InvalidOperation:
        return None
    if not pieces.is_finite() or not pieces:
        return None
    amount = -units.number
    return OrderLine(text, pieces, amount, amount, ZERO)


def _strike(
    lines: list[ParkedLine | None], number: int, move: data.Transaction | None
) -> None:
    """Take the line that was moved from those of its order.

    It is found by what it says, as others may have its number once somebody has edited
    the order: by text and amounts, or by its text; and only where somebody has edited
    the move, too, by its number.

    Args:
      lines: The lines of the order; one that is taken away becomes None.
      number: The number that the moved line had.
      move: The transaction that moved it; None where it cannot be read.
    """
    for line in filter(None, map(parked_line, move.postings if move else ())):
        parked = line._replace(amount=-line.amount, exact=-line.exact)
        left = [(at, each.line) for at, each in enumerate(lines) if each]
        same = [at for at, each in left if each == parked]
        same = same or [at for at, each in left if each.item == parked.item]
        if same:
            lines[same[0]] = None
            return
    if 0 < number <= len(lines):
        lines[number - 1] = None


def _numbered(
    lines: Iterable[ParkedLine | None], taken: Collection[int]
) -> Iterator[ParkedLine]:
    """Yield the lines that are left, each with a number that no other has."""
    used = set(taken)
    for number, line in enumerate(lines, 1):
        if line:
            while number in used:
                number += 1
            used.add(number)
            yield line._replace(number=number)


def source_of(lines_id: str) -> str:
    """Return the source whose file an order, or a tally, was read from."""
    return lines_id.partition("/")[0]

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
from decimal import Decimal
from itertools import accumulate
from typing import NamedTuple

from beancount.core import data
from beancount.core.amount import Amount
from beancount.parser import booking, parser

from offcut.importers import file_facts
from offcut.importers.file_facts import ITEM_TEXT, PARKED_ID
from offcut.importers.items import UNKNOWN
from offcut.importers.known import Known
from offcut.importers.layout import Layout
from offcut.importers.learning.parked_line import (
    ParkedLine,
    discount_first,
    discounted,
    is_of,
    parked_line,
    with_discount,
)
from offcut.importers.line_postings import Match
from offcut.importers.transaction_texts import find_transactions, postings_in, unescaped
from offcut.importers.values import ZERO

_ITEM_TEXT = re.compile(rb'[ \t](?:item-text|discount-of):[ \t]*"((?:[^"\\]|\\.)*)"')
_MARKS = (ITEM_TEXT, PARKED_ID, file_facts.DISCOUNT_OF)
_ID = re.compile(r'\n[ \t]+(lines|parked)-id:[ \t]*"((?:[^"\\]|\\.)*)"')
_MOVED = re.compile(rb'[ \t]parked-id:[ \t]*"((?:[^"\\]|\\.)*)/(\d+)"')


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
    for contents in known.files.with_marks(*_MARKS):
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

    # Orders whose lines are all moved need no closer look.
    waiting = {
        name
        for name, parts in texts.items()
        if sum(part.count("item-text:") for part in parts) > len(moved[name])
    }
    orders = {_order_of(name) for name in waiting}
    looked_at = {name: each for name, each in texts.items() if _order_of(name) in orders}
    read = _transactions([part for parts in looked_at.values() for part in parts])
    groups: dict[str, list[ParkedLine | None]] = {}
    of_order: dict[str, list[list[ParkedLine | None]]] = defaultdict(list)
    loose: list[tuple[str, data.Posting]] = []
    for name, parts in sorted(looked_at.items()):
        lines_id = unescaped(name)
        groups[name] = []
        of_order[_order_of(name)].append(groups[name])
        for part in parts:
            here, discounts = _lines(lines_id, read.get(part), of_source[source_of(name)])
            groups[name] += here
            loose += [(name, each) for each in discounts]
    for name, posting in loose:
        discount_first([groups[name], *of_order[_order_of(name)]], posting)
    found: list[ParkedLine] = []
    for name in sorted(waiting):
        for number in sorted(moved[name]):
            move = parsed_transaction(moves.get(f"{name}/{number}", ""))
            _strike(groups[name], number, move)
        found.extend(_numbered(groups[name], moved[name]))
    wanted_ones = [each for each in found if wanted(each.line.item)]
    return sorted(wanted_ones, key=lambda one: (one.entry.date, one.lines_id, one.number))


def without_amount(
    known: Known, wanted: Callable[[str], bool]
) -> Iterator[tuple[str, str]]:
    """Yield the lines in suspense whose amount is left blank and cannot be filled in.

    Args:
      known: The ledger.
      wanted: Says whether a line with this item text is looked for.

    Yields:
      The first line of each one's transaction, and its item text.
    """
    for contents in known.files.with_marks(ITEM_TEXT):
        for text in _with_wanted(contents, wanted):
            for _, number, _, meta, _ in postings_in(text):
                item = meta.get("item-text", "")
                if number is None and "item" not in meta and item and wanted(item):
                    yield text.partition("\n")[0], item


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
    if ITEM_TEXT not in contents and file_facts.DISCOUNT_OF not in contents:
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
) -> tuple[list[ParkedLine], list[data.Posting]]:
    """Return the parked lines of a transaction, and discounts that are of no one line.

    A line's own stands behind it; an edit has those of all lines of a text in one.
    """
    found: list[ParkedLine] = []
    loose: list[data.Posting] = []
    if entry is None:
        return found, loose
    channel = entry.meta.get("channel")
    fitting = [each for each in layouts if channel in (None, each.channel)]
    for posting in _with_amounts(entry).postings:
        if discounted(posting):
            if found and not found[-1].discounts and is_of(found[-1], posting):
                found[-1] = with_discount(found[-1], posting)
            else:
                loose.append(posting)
        line = parked_line(posting)
        if line is None or posting.units is None:
            continue
        layout = next(
            (each for each in fitting if each.accounts.suspense == posting.account), None
        )
        if layout or not fitting:
            currency = posting.units.currency
            one = (lines_id, 0, entry, line, currency, posting.account, layout)
            found.append(ParkedLine(*one))
    return found, loose


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
        same = [at for at, each in left if each._replace(discount=ZERO) == parked]
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


def _order_of(name: str) -> str:
    """Return the id of an order's lines, of that of an edit of it."""
    return name.partition("#")[0]


def source_of(lines_id: str) -> str:
    """Return the source whose file an order, or a tally, was read from."""
    return lines_id.partition("/")[0]

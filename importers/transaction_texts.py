"""Find single transactions in a ledger's text and read them, without loading it.

What offcut writes, and what people mostly write by hand, is read here, which is quick.
Where an amount is left for beancount to work out and its currencies are not plain, or has
arithmetic in it, beancount's own parser and booking read that one transaction. A lot
that is taken off a shelf needs the whole ledger: where one decides about an amount that
was left blank, that amount is not known.
"""

from __future__ import annotations

import datetime
import re
from collections import deque
from collections.abc import Container, Iterable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from beancount.core import data
from beancount.core.amount import Amount
from beancount.parser import booking, parser

_INDENTED = re.compile(rb"(?:\r?\n[ \t]+\S[^\n]*)*")
_STRING = r'"((?:[^"\\]|\\.)*)"'
_HEAD = re.compile(
    r"(\d{4})[-/](\d\d?)[-/](\d\d?)[ \t]+(?:txn|[*!&#?%PSTCURM])[ \t]*"
    rf"(?:{_STRING})?[ \t]*(?:{_STRING})?"
)
_LINK = re.compile(r"\^([A-Za-z0-9_/.-]+)")
_META = re.compile(rf"[ \t]+([a-z][\w-]*):[ \t]*(?:{_STRING}|([^\"\s;][^;]*))")
_POSTING = re.compile(r"[ \t]+(?:[*!&#?%PSTCURM][ \t]+)?([A-Z][^\s;]*:[^\s;]+)([^;\n]*)")
_AMOUNT = re.compile(
    r"([-+]?[ \t]*[\d,]*\.?\d+|[-+]?[ \t]*[\d,]+\.)[ \t]*([A-Z][\w'.-]*)[ \t]*([{@].*)?"
)


class PostingText(NamedTuple):
    """A posting as it stands in a text.

    Attributes:
      account: Its account.
      number: Its amount, also where it is left for beancount to fill in; None where the
        transaction does not say it.
      currency: The amount's currency; empty where there is none.
      meta: Its metadata, texts unquoted and all else as it is written.
      is_plain: Whether it has no cost, price or arithmetic.
    """

    account: str
    number: Decimal | None
    currency: str
    meta: dict[str, str]
    is_plain: bool = True


class TransactionText(NamedTuple):
    """A transaction as it stands in a text.

    Attributes:
      date: Its date.
      payee: Its payee; empty where it has none.
      narration: Its narration.
      links: Its links, without their marks.
      meta: Its own metadata, texts unquoted and all else as it is written.
      postings: Its postings; of one without an amount, one for each currency.
    """

    date: datetime.date
    payee: str
    narration: str
    links: frozenset[str]
    meta: dict[str, str]
    postings: tuple[PostingText, ...]

    def sums(self, accounts: Iterable[str]) -> dict[str, Decimal]:
        """Return what is posted to some accounts, by currency."""
        accounts = frozenset(accounts)
        result: dict[str, Decimal] = {}
        for account, number, currency, _, _ in self.postings:
            if account in accounts and number is not None:
                result[currency] = result.get(currency, Decimal(0)) + number
        return result


def find_transactions(
    contents: bytes,
    what: re.Pattern[bytes],
    last: int | None = None,
    among: Container[bytes] | None = None,
) -> Iterator[str]:
    """Yield the text of each transaction in which an expression is found, once.

    Args:
      contents: The bytes of a file, or of several.
      what: The expression: nothing that spans lines.
      last: How many of the last matches to look at; all where it is not given.
      among: What the expression's first group has to be one of; anything where it is
        not given.
    """
    done = 0
    matches: Iterable[re.Match[bytes]] = what.finditer(contents)
    for match in deque(matches, maxlen=last) if last else matches:
        if match.start() < done or (among is not None and match[1] not in among):
            continue
        if found := _around(contents, match.start()):
            start, done = found
            yield contents[start:done].decode("utf-8", "replace")


def transaction_at(contents: bytes, at: int) -> str:
    """Return the text of the transaction that a place is in; empty where it is in none.

    Args:
      contents: The bytes of a file.
      at: The place of one of them.
    """
    start, end = _around(contents, at) or (0, 0)
    return contents[start:end].decode("utf-8", "replace")


def _around(contents: bytes, at: int) -> tuple[int, int] | None:
    """Return where the transaction begins and ends that a place is in."""
    start = contents.rfind(b"\n", 0, at) + 1
    while start and contents[start : start + 1] in b" \t":
        start = contents.rfind(b"\n", 0, start - 1) + 1
    first_end = contents.find(b"\n", start)
    rest = _INDENTED.match(contents, len(contents) if first_end < 0 else first_end)
    assert rest is not None  # it matches the empty text
    if rest.end() >= at and contents[start : start + 1].isdigit():
        return start, rest.end()
    return None


def links_in(text: str) -> set[str]:
    """Return the links of a transaction's text, without their marks.

    What looks like a link in a string or in a comment is none.
    """
    first, _, rest = text.partition("\n")
    head = _HEAD.match(first)
    if head is None:
        return set()
    links = set(_LINK.findall(first[head.end() :].partition(";")[0]))
    if "^" in rest:
        for line in rest.splitlines():
            if line.lstrip().startswith("^"):
                links.update(_LINK.findall(line.partition(";")[0]))
    return links


@lru_cache(maxsize=1024)  # several parts of an import look at the same one
def read_transaction(text: str) -> TransactionText | None:
    """Return what a text says; None where it is not that of a transaction."""
    first, *lines = text.split("\n")
    head = _HEAD.match(first)
    if head is None:
        return None
    try:
        day = datetime.date(*map(int, head.group(1, 2, 3)))
    except ValueError:
        return None
    one, two = head[4], head[5]
    payee, narration = (one, two) if two is not None else ("", one or "")
    meta: dict[str, str] = {}
    postings: list[_Posted] = []
    for number, line in enumerate(lines, 2):
        if match := _POSTING.match(line):
            postings.append(_Posted(number, match[1], match[2].strip(), {}))
        elif match := _META.match(line):
            value = match[3].rstrip() if match[2] is None else unescaped(match[2])
            (postings[-1].meta if postings else meta)[match[1]] = value
    return TransactionText(
        day,
        unescaped(payee),
        unescaped(narration),
        frozenset(links_in(text)),
        meta,
        _read_postings(postings, text),
    )


def day_of(text: str) -> datetime.date:
    """Return the day of a transaction's text; the first day of all where it has none."""
    read = read_transaction(text)
    return read.date if read else datetime.date.min


def header(text: str) -> dict[str, str]:
    """Return the metadata of a transaction's text itself."""
    read = read_transaction(text)
    return read.meta if read else {}


def postings_in(text: str) -> tuple[PostingText, ...]:
    """Return the postings of a transaction's text."""
    read = read_transaction(text)
    return read.postings if read else ()


def unescaped(text: str) -> str:
    """Return the text of a ledger's string."""
    return re.sub(r"\\(.)", r"\1", text) if "\\" in text else text


class _Posted(NamedTuple):
    """The lines of a posting: where it begins, its account, what follows it, metadata."""

    line: int
    account: str
    rest: str
    meta: dict[str, str]


def _read_postings(lines: Sequence[_Posted], text: str) -> tuple[PostingText, ...]:
    """Return postings with their amounts, also those that are left blank."""
    found: list[PostingText] = []
    blank: list[_Posted] = []
    for posted in lines:
        if not posted.rest:
            blank.append(posted)
        elif match := _AMOUNT.fullmatch(posted.rest):
            number = Decimal(re.sub(r"[,\s]", "", match[1]))
            found.append(
                PostingText(posted.account, number, match[2], posted.meta, not match[3])
            )
        else:
            return _booked(lines, text)
    if not blank:
        return tuple(found)
    places = {each.number.as_tuple().exponent for each in found if each.number is not None}
    if len(blank) > 1 or len(places) > 1 or not all(each.is_plain for each in found):
        return _booked(
            lines, text
        )  # it rounds what it fills in, and knows what costs weigh
    sums: dict[str, Decimal] = {}
    for each in found:
        sums[each.currency] = sums.get(each.currency, Decimal(0)) + (each.number or 0)
    at = lines.index(blank[0])
    found[at:at] = [
        PostingText(blank[0].account, -total, currency, blank[0].meta)
        for currency, total in sums.items()
        if total
    ]
    return tuple(found)


def _booked(lines: Sequence[_Posted], text: str) -> tuple[PostingText, ...]:
    """Return postings with the amounts that beancount reads and fills in.

    Where it can tell nothing without the rest of the ledger, what is written counts.
    """
    entries, errors, options = parser.parse_string(text)
    amounts: dict[int, list[Amount]] = {}
    if not errors:
        entries, errors = booking.book(entries, options)  # type: ignore[no-untyped-call]
        for entry in data.filter_txns(entries):
            for posting in entry.postings:
                if posting.units is not None and posting.meta:
                    amounts.setdefault(posting.meta["lineno"], []).append(posting.units)
    found = []
    for line, account, rest, meta in lines:
        match = _AMOUNT.fullmatch(rest)
        is_plain = not rest or (match is not None and not match[3])
        if amounts:
            for number, currency in amounts.get(line, ()):
                found.append(PostingText(account, number, currency, meta, is_plain))
        elif match:
            number = Decimal(re.sub(r"[,\s]", "", match[1]))
            found.append(PostingText(account, number, match[2], meta, is_plain))
        else:
            found.append(PostingText(account, None, "", meta, is_plain))
    return tuple(found)

"""Find single transactions in a ledger's text and read them, without loading it.

This reads what offcut writes and what people write by hand in the usual way: a posting
with costs, a price or arithmetic in it is there, but without an amount.
"""

from __future__ import annotations

import datetime
import re
from collections import deque
from collections.abc import Container, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

_INDENTED = re.compile(rb"(?:\r?\n[ \t]+\S[^\n]*)*")
_STRING = r'"((?:[^"\\]|\\.)*)"'
_HEAD = re.compile(
    r"(\d{4})[-/](\d\d?)[-/](\d\d?)[ \t]+(?:txn|[*!&#?%PSTCURM])[ \t]*"
    rf"(?:{_STRING})?[ \t]*(?:{_STRING})?"
)
_LINK = re.compile(r"\^([A-Za-z0-9_/.-]+)")
_META = re.compile(rf"[ \t]+([a-z][\w-]*):[ \t]*{_STRING}")
_POSTING = re.compile(r"[ \t]+(?:[*!&#?%PSTCURM][ \t]+)?([A-Z][^\s;]*:[^\s;]+)([^;\n]*)")
_AMOUNT = re.compile(r"([-+]?[ \t]*[\d,]*\.?\d+|[-+]?[ \t]*[\d,]+\.)[ \t]*([A-Z][\w'.-]*)")


class PostingText(NamedTuple):
    """A posting as it stands in a text.

    Attributes:
      account: Its account.
      number: Its amount; None where it has one that is not a plain amount.
      currency: The amount's currency; empty where there is none.
      meta: Its metadata that are texts.
    """

    account: str
    number: Decimal | None
    currency: str
    meta: dict[str, str]


class TransactionText(NamedTuple):
    """A transaction as it stands in a text.

    Attributes:
      date: Its date.
      payee: Its payee; empty where it has none.
      narration: Its narration.
      links: Its links, without their marks.
      meta: Its own metadata that are texts.
      postings: Its postings.
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
        for account, number, currency, _ in self.postings:
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


def read_transaction(text: str) -> TransactionText | None:
    """Return what a text says; None where it is not that of a transaction."""
    first, *lines = text.splitlines()
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
    postings: list[tuple[str, str, dict[str, str]]] = []
    for line in lines:
        if match := _POSTING.match(line):
            postings.append((match[1], match[2].strip(), {}))
        elif match := _META.match(line):
            (postings[-1][2] if postings else meta)[match[1]] = unescaped(match[2])
    return TransactionText(
        day,
        unescaped(payee),
        unescaped(narration),
        frozenset(links_in(text)),
        meta,
        _read_postings(postings),
    )


def unescaped(text: str) -> str:
    """Return the text of a ledger's string."""
    return re.sub(r"\\(.)", r"\1", text) if "\\" in text else text


def _read_postings(
    lines: Sequence[tuple[str, str, dict[str, str]]],
) -> tuple[PostingText, ...]:
    """Return postings, of which one may leave its amount for beancount to fill in.

    Args:
      lines: The account of each posting, what follows it, and its metadata.
    """
    filled: tuple[str, Decimal | None] = "", None
    given = [_plain_amount(rest) for _, rest, _ in lines if rest]
    currencies = {currency for currency, _ in given}
    if len(lines) - len(given) == 1 and len(currencies) == 1 and "" not in currencies:
        numbers = [number for _, number in given if number is not None]
        filled = currencies.pop(), -sum(numbers, Decimal(0))
    found = []
    for account, rest, meta in lines:
        currency, number = _plain_amount(rest) if rest else filled
        found.append(PostingText(account, number, currency, meta))
    return tuple(found)


def _plain_amount(text: str) -> tuple[str, Decimal | None]:
    """Return currency and number; empty and None where there is more to it."""
    if match := _AMOUNT.fullmatch(text):
        return match[2], Decimal(re.sub(r"[,\s]", "", match[1]))
    return "", None

"""Say what a file of a ledger cannot have, without reading it again.

Facts are made of a file's bytes and of nothing else. Ids and orders are kept as
checksums, which several texts may share: facts can rule out that something is in the
file, and where they do not, the file itself is looked through.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterable
from typing import NamedTuple
from zlib import crc32

ROW_ID = re.compile(rb'\n[ \t]+(source|lines)-id:[ \t]*"([^"\\]*(?:\\.[^"\\]*)*)"')
"""An id, in bytes that begin with a line break: so it is found much faster than by `^`."""

ORDER_LINK = re.compile(rb"\^order-([A-Za-z0-9_/.-]+)")
# Looks ahead to the text, so that none that only looks like an id hides the next one.
_ANY_ID = re.compile(rb'-id:[ \t]*"(?=([^"\\]*(?:\\.[^"\\]*)*)")')
# Ids whose form says something: of opening balances, and digests of rows that have none.
_TELLING = re.compile(rb"([a-z][a-z0-9-]*/)(?:(opening-.*)|[0-9a-f]{16}(-[a-z]*)?)", re.S)
_HEAD = re.compile(
    rb"\n(?:\d{4}[-/]\d\d[-/]\d\d[ \t]+(?:open|close|commodity)|include)[ \t][^\n]*"
)

ITEM_TEXT = b"item-text:"
PARKED_ID = b"parked-id"
DISCOUNT_OF = b"discount-of:"
LIST_PRICE = b"list-price:"
BANK_LINK = b"^bank-"
MARKS = (ITEM_TEXT, PARKED_ID, DISCOUNT_OF, LIST_PRICE, BANK_LINK)

_FORMS = (ROW_ID, ORDER_LINK, _ANY_ID, _TELLING, _HEAD)
MADE_BY = repr(([each.pattern for each in _FORMS], MARKS)).encode()
"""What the facts depend on: those that were made by something else say nothing."""


class FileFacts(NamedTuple):
    """What is known of a file.

    Attributes:
      heads: Its lines that include, open, close or declare, each after a line break.
      telling: Ids of rows whose form says something: all of opening balances, and of
        digests one of each source and form.
      marks: Which of the marks are anywhere in it, a bit each.
      ids: The checksums of the texts of its ids, of whatever kind.
      orders: The checksums of the keys of the orders that it has links of.
    """

    heads: bytes
    telling: tuple[bytes, ...]
    marks: int
    ids: array[int]
    orders: array[int]

    def may_have_mark(self, *marks: bytes) -> bool:
        """Return whether one of some marks is in the file."""
        return any(self.marks >> MARKS.index(mark) & 1 for mark in marks)


def facts_of(contents: bytes) -> FileFacts | None:
    """Return the facts of a file; None where it is no text in UTF-8, as a ledger is."""
    try:
        contents.isascii() or contents.decode("utf-8")
    except UnicodeDecodeError:
        return None
    if b"\0" in contents:
        return None
    ids = _ANY_ID.findall(contents)
    return FileFacts(
        heads_of(contents),
        _telling(contents, ids),
        sum(1 << at for at, mark in enumerate(MARKS) if mark in contents),
        array("I", set(map(crc32, ids))),
        array("I", set(map(crc32, ORDER_LINK.findall(contents)))),
    )


def heads_of(contents: bytes) -> bytes:
    """Return the lines of a file that include, open, close or declare."""
    return b"".join(_HEAD.findall(b"\n" + contents))


def checksums(texts: Iterable[str]) -> set[int]:
    """Return the checksums of texts, to look for among those of a file."""
    return {crc32(text.encode("utf-8", "replace")) for text in texts}


def _telling(contents: bytes, ids: Iterable[bytes]) -> tuple[bytes, ...]:
    """Return those ids of rows whose form says something.

    Args:
      contents: The bytes of a file.
      ids: All its ids, and what only looks like one.
    """
    if not any(map(_TELLING.fullmatch, ids)):
        return ()
    found: dict[tuple[bytes, ...], bytes] = {}
    for kind, name in ROW_ID.findall(b"\n" + contents):
        if kind == b"source" and (match := _TELLING.fullmatch(name)):
            found.setdefault(match.groups(), name)
    return tuple(found.values())

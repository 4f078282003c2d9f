"""Find how the bytes of an unknown file become a table: marks, lines before it, rows."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from offcut.importers.file_bytes import read_bytes
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.proposal.date_forms import has_month
from offcut.importers.proposal.encoding import Encoding, encodings
from offcut.importers.proposal.plain_words import plain_words
from offcut.importers.proposal.trade_words import is_heading

SAMPLE_BYTES = 2 << 20
DELIMITERS = (",", ";", "\t", "|")
_PREAMBLE_AT_MOST = 40
_BLANK = "".join(DELIMITERS) + ' "\r\n'  # what a line without any cell is of
_LOOKED_AT = 60  # rows by which a beginning of the table is judged
_NUMBER = re.compile(
    r"[^\w]*(?:[^\W\d_]{2,3})?\.?[^\w]*"  # a sign, a currency
    r"[0-9](?:[0-9.,'\u2019\u202f\xa0 ]*[0-9])?"
    r"[^\w]*(?:[^\W\d_]{2,3})?[^\w]*"
)
_DATE = re.compile(
    r"(?:[^\W\d_]{2,9}\.?,? )?(?:"
    r"[0-9]{1,4}[-/.][0-9]{1,2}[-/.][0-9]{1,4}|[0-9]{8}"
    r"|[0-9]{1,4}\. [0-9]{1,2}\. [0-9]{1,4}\.?"
    r"|[0-9]{1,2}\.?[ -][^\W\d_]{3,9}\.?,?[ -][0-9]{2,4}"
    r"|[^\W\d_]{3,9}\.? [0-9]{1,2},? [0-9]{4}"
    r"|[0-9]{4}[年년] ?[0-9]{1,2}[月월] ?[0-9]{1,2}[日일]"
    r")(?:[T ,].*)?",
    re.DOTALL,
)


class Sample(NamedTuple):
    """The beginning of a file, as a table.

    Attributes:
      name: The file's name.
      contents: The bytes that were read, of whole lines.
      whole: Whether that is all of the file.
      encodings: The encodings that the bytes may be in, the likeliest first.
      delimiter: The mark between cells.
      preamble: How many lines stand before the heading.
      header: The headings; names that count the columns where the file has none.
      has_header: Whether the file has headings.
      rows: The rows, blank ones dropped, each as wide as the header.
      short: Rows that have fewer cells, with how many of `rows` stand before each.
    """

    name: str
    contents: bytes
    whole: bool
    encodings: tuple[Encoding, ...]
    delimiter: str
    preamble: int
    header: tuple[str, ...]
    has_header: bool
    rows: tuple[tuple[str, ...], ...]
    short: tuple[tuple[int, tuple[str, ...]], ...]


class _Table(NamedTuple):
    """Where a table may begin, and how much speaks for it."""

    worth: float
    delimiter: str
    preamble: int
    width: int
    has_header: bool


def read_sample(path: Path, encoding: str = "") -> Sample:
    """Return the table at the beginning of a file.

    Args:
      path: The file.
      encoding: Its encoding, where that is known.

    Raises:
      ImportRefused: The file cannot be read, or has no table.
    """
    contents, whole = _beginning(path)
    found = (Encoding(encoding),) if encoding else tuple(encodings(contents))
    if not found:
        message = "expected a CSV file, found bytes that are no text; save it as CSV"
        raise ImportRefused([Problem(path.name, None, None, message)])
    decoder = codecs.getincrementaldecoder(found[0].name)(errors="strict")
    try:
        text = decoder.decode(contents, final=whole).removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        message = f"expected text in {found[0].name}, found the byte "
        message += f"0x{contents[error.start]:02x}, which is not; choose another encoding"
        raise ImportRefused([Problem(path.name, None, None, message)]) from error
    if "\0" in text:
        message = "expected a CSV file, found a NUL, which no text has; save it as CSV"
        raise ImportRefused([Problem(path.name, None, None, message)])
    if not whole:
        text = text[: max(text.rfind("\n"), text.rfind("\r")) + 1]
    table = max(_tables(text), default=None, key=lambda each: each.worth)
    if not table:
        message = (
            "expected a table of two columns or more with , ; | or a tab between its "
            "cells, found none; export it as CSV"
        )
        raise ImportRefused([Problem(path.name, None, None, message)])
    return _sample(path.name, contents, whole, found, text, table)


def _beginning(path: Path) -> tuple[bytes, bool]:
    """Return the first bytes of a file, and whether they are all of it."""
    try:
        if path.stat().st_size > SAMPLE_BYTES and path.is_file():
            with path.open("rb") as file:
                return file.read(SAMPLE_BYTES), False
    except OSError:
        pass  # read_bytes says what is wrong
    return read_bytes(path), True


def _tables(text: str) -> Iterator[_Table]:
    """Yield where a table may begin."""
    lines = list(io.StringIO(text[: 1 << 18], newline=""))
    for delimiter in DELIMITERS:
        bare: _Table | None = None
        found = False
        for start in range(min(_PREAMBLE_AT_MOST, len(lines))):
            if delimiter not in lines[start] or not lines[start].strip(_BLANK):
                continue
            try:
                rows = list(_some_rows(lines[start:], delimiter))
            except csv.Error:
                continue
            table = _judged(rows, delimiter, start)
            if table and table.has_header:
                found = True
                yield table
            elif table and not bare:
                bare = table
        if bare and not found:
            yield bare


def _some_rows(lines: Sequence[str], delimiter: str) -> Iterator[list[str]]:
    """Yield the first rows that are not blank."""
    count = 0
    for row in csv.reader(lines, delimiter=delimiter, strict=True):
        if any(cell.strip() for cell in row):
            yield row
            count += 1
        if count > _LOOKED_AT:
            return


def _judged(rows: list[list[str]], delimiter: str, start: int) -> _Table | None:
    """Return the table that rows are, if they may be one.

    Its first row has headings, or cells like those of the others. What speaks for it is
    columns of dates and numbers, and headings that are known.
    """
    if not rows or len(rows[0]) < 2:
        return None
    width = len(rows[0])
    first = [cell.strip() for cell in rows[0]]
    body = [[cell.strip() for cell in row] for row in rows[1:] if len(row) == width]
    if len(body) < 0.8 * (len(rows) - 1) - 1 or (not body and len(rows) > 1):
        return None
    typed = [shaped(cell) for cell in first]
    has_header = not any(typed) and sum(map(bool, first)) >= max(2, width / 2)
    if not has_header and not ("date" in typed and "number" in typed):
        return None
    worth = 0.0
    for at in range(width):
        filled = [row[at] for row in (body if has_header else [first, *body]) if row[at]]
        kinds = Counter(map(shaped, filled))
        most = max(kinds["date"], kinds["number"])
        if filled and most >= 0.8 * len(filled):
            worth += most / len(filled)
    if has_header:
        worth += 0.5 * sum(is_heading(plain_words(cell)) for cell in first)
        worth += sum(map(bool, first)) / width - start / 1000
    return _Table(worth, delimiter, start, width, has_header) if worth >= 1 else None


def shaped(cell: str) -> str:
    """Return "date" or "number" for a cell that has the shape of one, else nothing."""
    if not cell or not any(char.isdigit() for char in cell):
        return ""
    if _DATE.fullmatch(cell):
        return "date"
    if len(cell) < 40 and _NUMBER.fullmatch(cell):
        return "number"
    return "date" if has_month(cell) else ""


def _sample(
    name: str,
    contents: bytes,
    whole: bool,
    found: tuple[Encoding, ...],
    text: str,
    table: _Table,
) -> Sample:
    """Return all rows of a table.

    Raises:
      ImportRefused: A row is not sound.
    """
    lines = list(io.StringIO(text, newline=""))
    rows: list[list[str]] = []
    reader = csv.reader(lines[table.preamble :], delimiter=table.delimiter, strict=True)
    last = table.preamble
    try:
        for row in reader:
            rows.append(row)
            last = table.preamble + reader.line_num
    except csv.Error as error:
        if whole:
            message = (
                f"expected whole quoted texts and cells, found: {error}; the file seems "
                "cut off or damaged, export it again"
            )
            at = table.preamble + 1 + len(rows)
            raise ImportRefused([Problem(name, at, None, message)]) from error
    if not whole:
        contents = "".join(lines[:last]).encode(found[0].name)
    header = [cell.strip() for cell in rows.pop(0)] if table.has_header else []
    kept: list[tuple[str, ...]] = []
    short: list[tuple[int, tuple[str, ...]]] = []
    for row in rows:
        cells = tuple(cell.strip() for cell in row)
        if not any(cells):
            continue
        if len(cells) < table.width:
            short.append((len(kept), cells))
        elif any(cells[table.width :]):
            message = f"expected {table.width} cells, found {len(cells)}; put a cell that "
            message += "holds a delimiter in quotes, or export the file again"
            row_number = table.preamble + 1 + table.has_header + rows.index(row)
            raise ImportRefused([Problem(name, row_number, None, message)])
        else:
            kept.append(cells[: table.width])
    if not kept:
        message = (
            "expected rows below the headings, found none; export a file that has some"
        )
        raise ImportRefused([Problem(name, None, None, message)])
    return Sample(
        name=name,
        contents=contents,
        whole=whole,
        encodings=found,
        delimiter=table.delimiter,
        preamble=table.preamble,
        header=tuple(header or (f"Column {at + 1}" for at in range(table.width))),
        has_header=table.has_header,
        rows=tuple(kept),
        short=tuple(short),
    )

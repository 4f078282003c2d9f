"""Break good files at random, and read what is left of them by RFC 4180's grammar."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal

from offcut.importers.layout import Layout
from offcut.importers.problems import ImportRefused

CENT = Decimal("0.01")
Row = Mapping[str, str]

# What is put into a file: what the marks of CSV, of numbers and of beancount are.
PIECES = (
    *(
        b'"',
        b'""',
        b",",
        b";",
        b"\t",
        b"\n",
        b"\r",
        b"\r\n",
        b"\0",
        b"\xef\xbb\xbf",
        b"\xff",
    ),
    *(b"-", b"+", b".", b"0", b"9", b" ", b"\xc2\xa0", b"\xe9", "\u202e".encode(), b"\\"),
    *(b"=", b"(", b")", b"$", b"USD", b"EUR", b"e5", b"\n2025-01-01 open Assets:X\n"),
)
CELLS = (
    *(b"", b" ", b"-", b"NaN", b"Infinity", b"1e9", b"0x10", b"1,0", b"1.000.000", b"--1"),
    *(b"9" * 17, b"9" * 40, b"0." + b"3" * 30, b"1_000", b"(5.00)", b"5.00-", b"$5.00"),
    *(b"2025-02-30", b"31/04/2025", b"0001-01-01", b"9999-12-31", b"2025-03-04T10:00"),
    *(b'"4.00"', b"'4.00", b"true", b"\xd9\xa3", b"x" * 200_000, b"12.345", b"USD", b"XXX"),
)
Mutate = Callable[[random.Random, bytes], bytes]


def flip_byte(draw: random.Random, text: bytes) -> bytes:
    at = draw.randrange(len(text))
    return text[:at] + bytes([text[at] ^ (1 << draw.randrange(8))]) + text[at + 1 :]


def cut_end(draw: random.Random, text: bytes) -> bytes:
    return text[: draw.randrange(len(text))]


def cut_out(draw: random.Random, text: bytes) -> bytes:
    at = draw.randrange(len(text))
    return text[:at] + text[at + draw.choice((1, 1, 2, 5, 60)) :]


def put_in(draw: random.Random, text: bytes) -> bytes:
    at = draw.randrange(len(text) + 1)
    return text[:at] + draw.choice(PIECES) + text[at:]


def double(draw: random.Random, text: bytes) -> bytes:
    lines = text.splitlines(keepends=True)
    at = draw.randrange(len(lines))
    return b"".join(
        [*lines[: at + 1], *lines[at : at + draw.choice((1, 3))], *lines[at + 1 :]]
    )


def shuffle(draw: random.Random, text: bytes) -> bytes:
    head, *lines = text.splitlines(keepends=True)
    draw.shuffle(lines)
    return b"".join([head, *lines])


def swap_mark(draw: random.Random, text: bytes) -> bytes:
    marks = [at for at in range(len(text)) if text[at : at + 1] in b",;"]
    at = draw.choice(marks)
    return text[:at] + draw.choice((b",", b";", b"\t", b"", b" ")) + text[at + 1 :]


def swap_all_marks(draw: random.Random, text: bytes) -> bytes:
    return text.replace(b",", b"\1").replace(b";", b",").replace(b"\1", b";")


def line_ends(draw: random.Random, text: bytes) -> bytes:
    ends = (b"\n", b"\r\n", b"\r", b"\n\n")
    one = draw.choice(ends)
    mixed = draw.random() < 0.5
    return b"".join(
        line + (draw.choice(ends) if mixed else one) for line in text.split(b"\n")
    )


def change_cell(draw: random.Random, text: bytes) -> bytes:
    lines = text.split(b"\n")
    at = draw.randrange(len(lines))
    mark = b";" if lines[0].count(b";") > lines[0].count(b",") else b","
    cells = lines[at].split(mark)
    one = draw.randrange(len(cells))
    other = draw.randrange(len(cells))
    cells[one] = draw.choice((*CELLS, cells[other]))
    return b"\n".join([*lines[:at], mark.join(cells), *lines[at + 1 :]])


def encode(draw: random.Random, text: bytes) -> bytes:
    name = draw.choice(("utf-16", "utf-16-le", "utf-8-sig", "cp037", "utf-7", "latin-1"))
    return text.decode("utf-8").encode(name, "replace")


def several(draw: random.Random, text: bytes) -> bytes:
    for _ in range(draw.choice((2, 3))):
        text = draw.choice(ONE_BY_ONE)(draw, text) or text
    return text


ONE_BY_ONE: tuple[Mutate, ...] = (
    *(flip_byte, flip_byte, cut_end, cut_out, put_in, put_in, double, shuffle, swap_mark),
    *(swap_all_marks, line_ends, change_cell, change_cell, change_cell),
)
MUTATIONS: tuple[Mutate, ...] = (*ONE_BY_ONE, encode, several, several)


def records(text: str, mark: str) -> Iterator[list[str]]:
    """Yield the records of a text by the grammar of RFC 4180, section 2.

    A record ends with CRLF, or with either half of it. A quote is a mark where it begins
    a field, and text elsewhere.
    """
    at, size = 0, len(text)
    while at < size:
        record = []
        while True:
            if text[at : at + 1] == '"':
                field, at = _quoted(text, at + 1)
            else:
                end = at
                while end < size and text[end] not in (mark, "\r", "\n"):
                    end += 1
                field, at = text[at:end], end
            record.append(field)
            if text[at : at + 1] != mark:
                break
            at += 1
        at += 2 if text[at : at + 2] == "\r\n" else 1
        yield record


def _quoted(text: str, at: int) -> tuple[str, int]:
    parts = []
    while True:
        end = text.index('"', at)  # an import takes no file with an open quotation
        parts.append(text[at:end])
        if text[end + 1 : end + 2] != '"':
            return "".join(parts), end + 1
        parts.append('"')
        at = end + 2


def rows_of(contents: bytes, layout: Layout) -> list[Row]:
    """Return the rows of a file that are not blank, by column."""
    text = contents.decode("utf-8-sig")
    head, *rows = records(text, layout.file.delimiter)
    names = [name.strip() for name in head]
    found = []
    for row in rows:
        if any(cell.strip() for cell in row):
            assert not any(cell.strip() for cell in row[len(names) :]), row
            found.append(dict(zip(names, row, strict=False)))
    return found


def number(cell: str) -> Decimal:
    """Return what a cell says, in the ways in which a person may write an amount."""
    text = "".join(cell.replace("\N{MINUS SIGN}", "-").split())
    text = re.sub(r"USD|US\$|\$|EUR|€", "", text).replace(",", "")
    if text.startswith("(") and text.endswith(")"):
        text = f"-{text[1:-1]}"
    if text.endswith(("-", "+")):
        text = text[-1] + text[:-1]
    return Decimal(text or 0)


def cents(amount: Decimal) -> Decimal:
    return amount.quantize(CENT, ROUND_HALF_UP)


def check_refused(refused: ImportRefused, name: str) -> None:
    """Check that each problem says where it is: file, row, column; and is one line."""
    assert refused.problems
    for problem in refused.problems:
        line = str(problem)
        assert problem.file == name
        assert len(line) < 600, line
        assert line.isprintable(), line
        if problem.row is None:
            assert re.search(OF_THE_WHOLE_FILE, problem.message), line


# What is not wrong in one row.
OF_THE_WHOLE_FILE = (
    r"the file is empty|expected text in|more problems; correct those above|expected a CSV "
    r"file, found|several layouts fit"
)

"""Read a delimited text file into rows of cells, and miss nothing that is cut off.

The `csv` module reads it in one pass and keeps the count of cells of each row, which
is how a row that was cut short shows itself.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import NamedTuple

from offcut.importers.layout import FileForm, Layout, RowRule
from offcut.importers.problems import ImportRefused, Problem, quoted


class SourceFile(NamedTuple):
    """The cells of a file, by column; blank rows are dropped.

    Attributes:
      name: The file's name, for problems and reports.
      layout: The layout that it is read by.
      columns: The cells of each column, by its header.
      numbers: The number of each row as a spreadsheet counts it.
    """

    name: str
    layout: Layout
    columns: Mapping[str, Sequence[str]]
    numbers: Sequence[int]

    def cells(self, key: str) -> Sequence[str]:
        """Return the cells of a column of the layout, joined where it is several."""
        headers = self.layout.columns[key]
        if len(headers) == 1:
            return self.columns[headers[0]]
        rows = zip(*(self.columns[header] for header in headers), strict=True)
        return [" / ".join(cell.strip() for cell in row if cell.strip()) for row in rows]

    def header(self, key: str) -> str:
        """Return the header that the layout names for a column."""
        return " / ".join(self.layout.columns[key])

    def without(self, dropped: Collection[int]) -> SourceFile:
        """Return the file without some rows, given by their positions."""
        kept = [at for at in range(len(self.numbers)) if at not in dropped]
        return self._replace(
            columns={
                header: [cells[at] for at in kept] for header, cells in self.columns.items()
            },
            numbers=[self.numbers[at] for at in kept],
        )


def first_row(contents: bytes, form: FileForm) -> tuple[str, ...]:
    """Return the first row after the preamble, if the file has this form; () if not.

    The bytes are not checked: this is to find the layout that fits.
    """
    text = contents[: 1 << 16].decode(form.encodings[0], errors="replace")
    try:
        first = next(_rows(text.removeprefix("\ufeff"), form, strict=False), [])
    except csv.Error:
        return ()
    return tuple(cell.strip() for cell in first)


def read_source(name: str, contents: bytes, layout: Layout) -> SourceFile:
    """Return the rows of a file.

    Raises:
      ImportRefused: The bytes are not in the layout's encoding, a quotation is not
        closed, or rows have more or fewer cells than the header.
    """
    form = layout.file
    text = _decoded(name, contents, form)
    rows: list[list[str]] = []
    first = form.preamble + 1
    try:
        rows.extend(_rows(text, form, strict=True))  # keeps those before an error
    except csv.Error as error:
        message = (
            f"expected whole quoted texts and cells, found: {error}; the file seems cut "
            "off or damaged, export it again"
        )
        raise ImportRefused([Problem(name, first + len(rows), None, message)]) from error

    header = form.names
    if not header and not rows:
        message = "expected a header, found the end of the file; export it again, or "
        message += "correct the layout's [file] preamble"
        raise ImportRefused([Problem(name, first, None, message)])
    if not header:
        header = tuple(cell.strip() for cell in rows.pop(0))
        first += 1
    width = len(header)
    wanted = [(key, each) for key, headers in layout.columns.items() for each in headers]
    for key, column in wanted:
        if header.count(column) != 1:
            message = (
                f"expected one column {column!r} ({key}), found {header.count(column)}"
            )
            message += "; correct the file or the layout's [columns]"
            raise ImportRefused([Problem(name, first - 1, None, message)])

    numbers: Sequence[int] = range(first, first + len(rows))
    if _seems_cut_in_last_cell(text, rows) and not _is_left_out(
        rows[-1], header, layout.leave_out
    ):
        message = (
            "expected a last cell as in the other rows, found none and no end of line; the "
            "file seems cut off, export it again"
        )
        raise ImportRefused([Problem(name, numbers[-1], header[-1], message)])
    if set(map(len, rows)) - {width} or [""] * width in rows:
        rows, numbers = _whole_rows(name, rows, numbers, header, layout.leave_out)
    columns = zip(*rows, strict=True) if rows else [()] * width
    return SourceFile(name, layout, dict(zip(header, columns, strict=True)), numbers)


def _seems_cut_in_last_cell(text: str, rows: Sequence[Sequence[str]]) -> bool:
    """Tell whether a file ends within a row, just before a cell that all others have.

    A last line may do without its end (RFC 4180, section 2.2), and any row without a cell;
    both together, after several rows that have it, are one accident.
    """
    if text.endswith(("\n", "\r")) or len(rows) < 4 or not rows[-1] or rows[-1][-1].strip():
        return False
    return all(row[-1].strip() for row in rows[:-1] if any(row))


def _decoded(name: str, contents: bytes, form: FileForm) -> str:
    """Return the text of a file, in the first encoding of the layout that reads it all."""
    for encoding in form.encodings:
        try:
            text = contents.decode(encoding)
        except UnicodeDecodeError as error:
            failed = error
            continue
        if "\0" in text:
            row = text[: text.index("\0")].count("\n") + 1
            message = (
                f"expected text in {encoding}, found a NUL; the file has another encoding"
            )
            message += ", name it in the layout's [file] encoding"
            raise ImportRefused([Problem(name, row, None, message)])
        if encoding == form.encodings[-1] and _is_really_utf8(contents, encoding):
            message = f"expected text in {encoding}, found text in utf-8"
            message += '; write encoding = "utf-8" in the layout\'s [file]'
            raise ImportRefused([Problem(name, None, None, message)])
        return text.removeprefix("\ufeff")
    row = contents[: failed.start].count(b"\n") + 1
    message = (
        f"expected text in {' or '.join(form.encodings)}, found the byte "
        f"0x{contents[failed.start]:02x}, which is not; name the file's encoding in the "
        "layout's [file] encoding, for example cp1252"
    )
    raise ImportRefused([Problem(name, row, None, message)])


def _is_really_utf8(contents: bytes, encoding: str) -> bool:
    """Return whether bytes read in a one-byte encoding are sound multi-byte utf-8.

    Every file reads as latin-1; letters beyond ASCII that make sound utf-8 by chance
    are rare enough to ask.
    """
    if contents.isascii() or not codecs.lookup(encoding).name.startswith(
        ("iso8859", "cp125")
    ):
        return False
    try:
        contents.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _rows(text: str, form: FileForm, strict: bool) -> Iterator[list[str]]:
    """Yield the rows after the preamble, header included, blank lines as []."""
    lines = islice(io.StringIO(text, newline=""), form.preamble, None)
    if form.delimiter == "spaces":
        return (line.split() for line in lines)
    return csv.reader(lines, delimiter=form.delimiter, strict=strict)


def _whole_rows(
    name: str,
    rows: list[list[str]],
    numbers: Iterable[int],
    header: Sequence[str],
    rules: Sequence[RowRule],
) -> tuple[list[list[str]], list[int]]:
    """Return rows and their numbers without blank rows; refuse rows of another width.

    A row that is too short is filled up where it will be left out: a line of totals.
    """
    width = len(header)
    whole: list[list[str]] = []
    kept: list[int] = []
    problems: list[Problem] = []
    for row, number in zip(rows, numbers, strict=True):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) < width and _is_left_out(row, header, rules):
            row = [*row, *[""] * (width - len(row))]
        elif len(row) < width:
            message = f"expected {width} cells, found {len(row)}, the last of them "
            message += f"{quoted(row[-1])}; the file seems cut off, export it again"
            problems.append(Problem(name, number, None, message))
        elif any(cell.strip() for cell in row[width:]):
            message = f"expected {width} cells, found {len(row)}; put a cell that holds a "
            message += "delimiter in quotes, or export the file again"
            problems.append(Problem(name, number, None, message))
        whole.append(row[:width])
        kept.append(number)
    if problems:
        raise ImportRefused(problems)
    return whole, kept


def _is_left_out(row: list[str], header: Sequence[str], rules: Sequence[RowRule]) -> bool:
    """Return whether a rule leaves out a row, by one of the cells that it has."""
    cells = dict(zip(header, row, strict=False))  # short rows are what this is for
    return any(
        rule.column in cells and rule.fits(cells[rule.column].strip()) for rule in rules
    )

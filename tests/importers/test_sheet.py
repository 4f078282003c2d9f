"""Sheets of the maker's own, as spreadsheets save them."""

from __future__ import annotations

import csv
import io
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.problems import ImportRefused
from offcut.importers.sheet import SheetRow, read_sheet

COLUMNS = ("Item", "Unit cost")


def read(text: str | bytes) -> list[SheetRow]:
    contents = text if isinstance(text, bytes) else text.encode()
    return read_sheet("s.csv", contents, COLUMNS)


def refused(text: str | bytes) -> list[str]:
    with pytest.raises(ImportRefused) as caught:
        read(text)
    return [problem.line("") for problem in caught.value.problems]


# Spreadsheets that ended lines with a carriage return alone had commas.
@pytest.mark.parametrize(
    ("mark", "end"),
    [*itertools.product((",", ";", "\t"), ("\n", "\r\n")), (",", "\r")],
)
@pytest.mark.parametrize("begin", ["", "\ufeff"])
def test_forms_of_csv(mark: str, end: str, begin: str) -> None:
    rows = [mark.join(cells) for cells in (("Item", "Unit cost"), ("A", "1.50"))]
    assert read(begin + end.join(rows) + end) == [SheetRow(2, ("A", "1.50"))]


def test_columns_in_any_order_and_more_of_them() -> None:
    text = "Shelf,UNIT COST, item \nleft, 1.50 ,A\nright,,B\n"
    assert read(text) == [SheetRow(2, ("A", "1.50")), SheetRow(3, ("B", ""))]


def test_notes_and_blank_rows_are_left_out_and_counted() -> None:
    text = 'Item,Unit cost\n"# a note, with a comma"\n\n,\nA,1\n# B,2\nC,3\n'
    assert read(text) == [SheetRow(5, ("A", "1")), SheetRow(7, ("C", "3"))]


def test_cells_that_are_too_many() -> None:
    (line,) = refused("Item,Unit cost\nA,1,50\nB,2\n")
    assert line.startswith("s.csv: row 2: expected 2 cells as in the heading, found 3; put")
    assert read("Item,Unit cost\nA,1,,\n") == [SheetRow(2, ("A", "1"))]


@pytest.mark.parametrize(
    ("contents", "what"),
    [
        (b"Item,Unit cost\nM\xf6we,1\n", "expected a CSV file in UTF-8 ("),
        ("Item,Unit cost\nA,1\n".encode("utf-16"), "expected a CSV file in UTF-8 ("),
        (b'Item,Unit cost\n"A,1\n', "expected a CSV file in UTF-8 ("),
        (b"Item,Cost\nA,1\n", "row 1: expected the columns Item, Unit cost; add Unit cost"),
        (b"\n", "row 1: expected the columns Item, Unit cost; add Item, Unit cost"),
    ],
)
def test_what_is_no_such_sheet(contents: bytes, what: str) -> None:
    (line,) = refused(contents)
    assert line.startswith(f"s.csv: {what}")


@given(
    st.lists(
        st.tuples(
            st.text(min_size=1).filter(
                lambda text: text.strip() == text and "\0" not in text
            ),
            st.text().filter(lambda text: text.strip() == text and "\0" not in text),
        ).filter(lambda cells: cells[0][0] != "#")
    )
)
def test_what_is_written_is_read(rows: list[tuple[str, str]]) -> None:
    rows = [tuple(cell.encode("utf-8", "ignore").decode() for cell in row) for row in rows]
    rows = [row for row in rows if row[0]]
    text = io.StringIO()
    csv.writer(text).writerows([COLUMNS, *rows])
    assert [row.cells for row in read(text.getvalue())] == rows

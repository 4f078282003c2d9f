"""Bytes become rows of cells, and rows keep their numbers."""

from __future__ import annotations

import dataclasses
import re

import pytest

from offcut.importers.layout import FileForm, Layout, RowRule, layout_of
from offcut.importers.problems import ImportRefused
from offcut.importers.source_file import first_row, read_source

LAYOUT = layout_of(
    "small",
    {
        "kind": "payments",
        "source": "small",
        "channel": "Web",
        "currency": "USD",
        "columns": {"date": "Day", "gross": "Sum", "text": "What"},
        "types": {"default": "sale"},
    },
    "small.toml",
)
WANTED = {"Day": ("d1", "d2"), "Sum": ("1", "2"), "What": ("a, b", "")}


def with_form(**changes: object) -> Layout:
    form = FileForm(("utf-8",), ",", 0, ())._replace(**changes)
    return dataclasses.replace(LAYOUT, file=form)


@pytest.mark.parametrize(
    ("text", "changes", "numbers"),
    [
        ('Day,Sum,What\nd1,1,"a, b"\nd2,2,\n', {}, [2, 3]),
        ('Day,Sum,What\r\nd1,1,"a, b"\r\nd2,2,', {}, [2, 3]),
        ('\ufeffDay,Sum,What\nd1,1,"a, b"\nd2,2,\n', {}, [2, 3]),
        (' Day ,Sum , What\nd1,1,"a, b"\n\nd2,2,\n,,\n\n', {}, [2, 4]),
        ("Day;Sum;What\nd1;1;a, b\nd2;2;\n", {"delimiter": ";"}, [2, 3]),
        ("Day\tSum\tWhat\nd1\t1\ta, b\nd2\t2\t\n", {"delimiter": "\t"}, [2, 3]),
        ('My shop\n\nDay,Sum,What\nd1,1,"a, b"\nd2,2,\n', {"preamble": 2}, [4, 5]),
        ('d1,1,"a, b"\nd2,2,\n', {"names": ("Day", "Sum", "What")}, [1, 2]),
        ('Day,Sum,What,\nd1,1,"a, b",,\nd2,2,,\n', {}, [2, 3]),
    ],
)
def test_forms_of_the_same_rows(
    text: str, changes: dict[str, object], numbers: list[int]
) -> None:
    source = read_source("f.csv", text.encode(), with_form(**changes))

    assert {key: source.columns[key] for key in WANTED} == WANTED
    assert list(source.numbers) == numbers


def test_blanks_as_delimiter() -> None:
    layout = with_form(delimiter="spaces", names=("Day", "Sum", "What"))

    source = read_source("f.txt", b"  d1   1 x\n\n d2 22  y\n", layout)

    assert source.columns == {"Day": ("d1", "d2"), "Sum": ("1", "22"), "What": ("x", "y")}
    assert list(source.numbers) == [1, 3]


def test_a_line_break_in_a_cell_is_one_row_of_a_spreadsheet() -> None:
    source = read_source("f.csv", b'Day,Sum,What\nd1,1,"a\nb"\nd2,2,c\n', with_form())

    assert source.cells("text") == ("a\nb", "c")
    assert list(source.numbers) == [2, 3]


def test_no_rows_after_the_header() -> None:
    source = read_source("f.csv", b"Day,Sum,What\n", with_form())

    assert list(source.numbers) == []
    assert source.cells("date") == ()


def test_the_first_encoding_that_reads_the_whole_file() -> None:
    layout = with_form(encodings=("utf-8", "latin-1"))

    for encoding in layout.file.encodings:
        contents = "Day,Sum,What\nd1,1,10£\n".encode(encoding)
        assert read_source("f.csv", contents, layout).cells("text") == ("10£",)


def test_utf_8_is_not_taken_for_latin_1() -> None:
    layout = with_form(encodings=("latin-1",))

    with pytest.raises(
        ImportRefused, match='found text in utf-8; write encoding = "utf-8"'
    ):
        read_source("f.csv", "Day,Sum,What\nd1,1,10£\n".encode(), layout)


def test_utf_16_is_not_taken_for_latin_1() -> None:
    layout = with_form(encodings=("latin-1",))

    with pytest.raises(ImportRefused, match="row 1: expected text in latin-1, found a NUL"):
        read_source("f.csv", "Day,Sum,What\nd1,1,x\n".encode("utf-16-le"), layout)


def test_column_that_stands_twice() -> None:
    with pytest.raises(ImportRefused, match=r"row 1: expected one column 'Sum' .* found 2"):
        read_source("f.csv", b"Day,Sum,Sum,What\nd1,1,2,x\n", with_form())


def test_column_that_is_missing() -> None:
    with pytest.raises(ImportRefused, match=r"row 1: expected one column 'Sum' .* found 0"):
        read_source("f.csv", b"Day,Total,What\nd1,1,x\n", with_form())


def test_only_a_preamble() -> None:
    with pytest.raises(ImportRefused, match=r"row 3: expected a header, found the end"):
        read_source("f.csv", b"My shop\n", with_form(preamble=2))


def test_every_row_of_another_width_is_named() -> None:
    with pytest.raises(ImportRefused) as caught:
        read_source("f.csv", b"Day,Sum,What\nd1,1\nd2,2,x\nd3,3,x,y\n", with_form())

    assert [(each.row, each.message[:26]) for each in caught.value.problems] == [
        (2, "expected 3 cells, found 2,"),
        (4, "expected 3 cells, found 4;"),
    ]


def test_text_after_a_closed_quotation() -> None:
    with pytest.raises(ImportRefused, match=r"row 3: expected whole quoted texts"):
        read_source("f.csv", b'Day,Sum,What\nd1,1,x\nd2,2,"a" b\n', with_form())


@pytest.mark.parametrize("contents", [b"", b"\xff\xfe\x00", b'"', b"a" * 300_000])
def test_first_row_of_any_bytes_raises_nothing(contents: bytes) -> None:
    assert isinstance(first_row(contents, with_form().file), tuple)


def test_short_row_that_a_rule_leaves_out() -> None:
    layout = with_form()
    rules = (RowRule("Day", None, re.compile("Total.*"), "a total"),)
    layout = dataclasses.replace(layout, leave_out=rules)

    source = read_source("f.csv", b"Day,Sum,What\nd1,1,x\n\nTotal of 1 row\n", layout)

    assert list(source.columns["Day"]) == ["d1", "Total of 1 row"]
    assert list(source.columns["What"]) == ["x", ""]
    assert list(source.numbers) == [2, 4]
    with pytest.raises(ImportRefused, match="row 3: expected 3 cells, found 1"):
        read_source("f.csv", b"Day,Sum,What\nd1,1,x\nSum of 1 row\n", layout)


def test_last_row_without_last_cell_that_a_rule_leaves_out() -> None:
    rules = (RowRule("Day", "Total", None, "a total"),)
    layout = dataclasses.replace(with_form(), leave_out=rules)
    rows = b"Day,Sum,What\nd1,1,x\nd2,1,x\nd3,1,x\n"

    assert len(read_source("f.csv", rows + b"Total,3,", layout).numbers) == 4
    with pytest.raises(ImportRefused, match="the file seems cut off"):
        read_source("f.csv", rows + b"d4,3,", layout)

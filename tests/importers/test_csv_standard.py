"""Files as RFC 4180 describes them, section 2, by the numbers of its rules.

The cases of `csv-spectrum` 2.0.0, a set of CSV files with what is to be read of them, come
from the npm registry (BSD-2-Clause) and are not copied here: `npm pack csv-spectrum@2.0.0`,
unpacked into the folder that OFFCUT_CSV_SPECTRUM names.
"""

from __future__ import annotations

import dataclasses
import json
import os
from pathlib import Path

import pytest

from offcut.importers.layout import FileForm, Layout, shipped_layouts
from offcut.importers.problems import ImportRefused
from offcut.importers.source_file import read_source
from tests.importers.shop import ORDERS, Shop

SPECTRUM = os.environ.get("OFFCUT_CSV_SPECTRUM")
CASES = (
    *("comma_in_quotes", "empty", "empty_crlf", "escaped_quotes", "json"),
    *("location_coordinates", "newlines", "newlines_crlf", "quotes_and_newlines"),
    *("simple", "simple_crlf", "utf8"),
)


def any_columns(names: tuple[str, ...] = ()) -> Layout:
    """Return a layout that asks for no column, and takes what there is."""
    form = FileForm(("utf-8",), ",", 0, names)
    layout = shipped_layouts()["card-payments"]
    return dataclasses.replace(layout, file=form, columns={}, leave_out=())


def rows(contents: bytes, names: tuple[str, ...] = ()) -> list[dict[str, str]]:
    """Return the rows of a file, each by column."""
    source = read_source("f.csv", contents, any_columns(names))
    return [
        dict(zip(source.columns, row, strict=True))
        for row in zip(*source.columns.values(), strict=True)
    ]


ABC = ("a", "b", "c")
AAA = ["aaa", "bbb", "ccc"]
ZZZ = ["zzz", "yyy", "xxx"]


@pytest.mark.parametrize(
    ("rule", "contents", "names", "wanted"),
    [
        (1, b"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", ABC, [AAA, ZZZ]),
        (2, b"aaa,bbb,ccc\r\nzzz,yyy,xxx", ABC, [AAA, ZZZ]),
        (3, b"a,b,c\r\naaa,bbb,ccc\r\n", (), [AAA]),
        (4, b"aaa, b b ,ccc\r\n", ABC, [["aaa", " b b ", "ccc"]]),
        (5, b'"aaa","bbb","ccc"\r\nzzz,yyy,xxx', ABC, [AAA, ZZZ]),
        (6, b'"aaa","b\r\nbb","c,""c"\r\n', ABC, [["aaa", "b\r\nbb", 'c,"c']]),
        (7, b'"aaa","b""bb","ccc"', ABC, [["aaa", 'b"bb', "ccc"]]),
    ],
)
def test_rule(
    rule: int, contents: bytes, names: tuple[str, ...], wanted: list[list[str]]
) -> None:
    found = rows(contents, names)

    assert [list(row.values()) for row in found] == wanted
    assert all(tuple(row) == ABC for row in found)


@pytest.mark.parametrize(
    ("rule", "contents", "message"),
    [
        (4, b"a,b,c\r\n1,2,3\r\n1,2\r\n", "row 3: expected 3 cells, found 2"),
        (4, b"a,b,c\r\n1,2,3,4\r\n", "row 2: expected 3 cells, found 4"),
        (5, b'a,b,c\r\n1,"2"2,3\r\n', "row 2: expected whole quoted texts and cells"),
        (6, b'a,b,c\r\n1,"2,3\r\n', "row 2: expected whole quoted texts and cells"),
        (7, b'a,b,c\r\n1,"2"",3\r\n', "row 2: expected whole quoted texts and cells"),
    ],
)
def test_file_that_breaks_a_rule(rule: int, contents: bytes, message: str) -> None:
    with pytest.raises(ImportRefused) as caught:
        rows(contents)

    (problem,) = caught.value.problems
    assert str(problem).startswith(f"f.csv: {message}")


def test_cell_of_several_lines_becomes_one_line_of_the_ledger(shop: Shop) -> None:
    # Rule 6, and the numbers that rows have after it: a spreadsheet counts records.
    text = '"Print, ""large""\r\nsecond line"'
    file = shop.folder / "orders.csv"
    row = f"W1,2025-03-04,{text},1,4.00,0.00,0.00,0.00,USD"
    file.write_bytes(f"{ORDERS}\r\n{row}\r\n".encode())
    shop.run(file)

    (transaction,) = shop.transactions()
    assert 'Print, "large" second line' in {
        posting.meta.get("item-text") for posting in transaction.postings
    }

    bad = row.replace("W1", "W2").replace("4.00", "four")
    file.write_bytes(f"{ORDERS}\r\n{row}\r\n{bad}\r\n".encode())
    (line,) = shop.refused(file)
    assert line.startswith("orders.csv: row 3, column Unit price: expected a number")


@pytest.mark.skipif(
    not SPECTRUM, reason="needs csv-spectrum: set OFFCUT_CSV_SPECTRUM to its folder"
)
@pytest.mark.parametrize("case", CASES)
def test_csv_spectrum(case: str) -> None:
    folder = Path(str(SPECTRUM))
    wanted = json.loads((folder / "json" / f"{case}.json").read_text("utf-8"))

    if case == "location_coordinates":
        # The set's own slip: what it expects has another telephone number than its file.
        assert wanted.pop("Contact Phone Number") == "1234567890"
        wanted = [{"Contact Phone Number": "2095257564", **wanted}]

    assert rows((folder / "csvs" / f"{case}.csv").read_bytes()) == wanted


@pytest.mark.skipif(
    not SPECTRUM, reason="needs csv-spectrum: set OFFCUT_CSV_SPECTRUM to its folder"
)
def test_csv_spectrum_has_no_other_cases() -> None:
    assert sorted(path.stem for path in Path(str(SPECTRUM)).glob("csvs/*.csv")) == sorted(
        CASES
    )

"""Opening stock from a CSV: lots in the ledger, nothing twice, bad rows refused whole."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data

from offcut.importers.opening_stock import OpeningReport, import_opening_stock
from offcut.importers.problems import ImportRefused

LEDGER = """\
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 open Assets:Shelf:Herons  HERON-STK "AVERAGE"
2025-01-01 commodity HERON-STK
  stock: "product"
2025-01-01 commodity VINYL
  stock: "material"
"""
HEAD = "Item,Quantity,Unit cost,Date\n"


@pytest.fixture
def main(tmp_path: Path) -> Path:
    path = tmp_path / "main.beancount"
    path.write_text(LEDGER)
    return path


def take(main: Path, rows: str, head: str = HEAD, **options: bool) -> OpeningReport:
    file = main.with_name("shelf.csv")
    file.write_text(head + rows)
    return import_opening_stock(file, main, **options)


def refused(main: Path, rows: str, head: str = HEAD) -> list[str]:
    before = {path: path.read_bytes() for path in main.parent.iterdir() if path.is_file()}
    with pytest.raises(ImportRefused) as caught:
        take(main, rows, head)
    assert not (main.parent / "imports").exists()
    for path, contents in before.items():
        assert path.name == "shelf.csv" or path.read_bytes() == contents
    return [str(problem) for problem in caught.value.problems]


def on_hand(main: Path) -> dict[str, tuple[str, Decimal, Decimal]]:
    entries, errors, _ = loader.load_file(str(main))
    assert errors == []
    return {
        posting.units.currency: (posting.account, posting.units.number, posting.cost.number)
        for entry in entries
        if isinstance(entry, data.Transaction)
        for posting in entry.postings
        if posting.cost
    }


def test_rows_become_lots_in_their_items_accounts(main: Path) -> None:
    report = take(main, "HERON-STK,40,0.41,2025-01-02\nVINYL,12.5,0.4567,2025-01-02\n\n")
    assert (report.rows, report.booked) == (2, 2)
    # 40 x 0.41 + 12.5 x 0.4567
    assert report.value == Decimal("22.10875")
    assert on_hand(main) == {
        "HERON-STK": ("Assets:Shelf:Herons", Decimal(40), Decimal("0.41")),
        "VINYL": ("Assets:Materials:VINYL", Decimal("12.5"), Decimal("0.4567")),
    }


def test_a_second_time_adds_only_what_is_new(main: Path) -> None:
    take(main, "HERON-STK,40,0.41,2025-01-02\n")
    again = take(main, "HERON-STK,40,0.41,2025-01-02\nVINYL,12,0.45,2025-01-02\n")
    assert (again.rows, again.booked) == (2, 1)
    files = {path: path.read_bytes() for path in main.parent.rglob("*.beancount")}
    take(main, "HERON-STK,40,0.41,2025-01-02\nVINYL,12,0.45,2025-01-02\n")
    assert files == {path: path.read_bytes() for path in main.parent.rglob("*.beancount")}
    assert set(on_hand(main)) == {"HERON-STK", "VINYL"}


def test_a_dry_run_writes_nothing(main: Path) -> None:
    assert take(main, "VINYL,12,0.45,2025-01-02\n", dry_run=True).booked == 1
    assert not (main.parent / "imports").exists()
    assert main.read_text() == LEDGER


@pytest.mark.parametrize(
    ("row", "place", "what"),
    [
        ("HERONSTK,40,0.41,2025-01-02", "row 2, column Item", "did you mean HERON-STK?"),
        ("VINYL,none,0.41,2025-01-02", "row 2, column Quantity", "found 'none'"),
        ("VINYL,0,0.41,2025-01-02", "row 2, column Quantity", "above zero"),
        ("VINYL,1,-0.41,2025-01-02", "row 2, column Unit cost", "zero or more"),
        ("VINYL,1,,2025-01-02", "row 2, column Unit cost", "found ''"),
        ("VINYL,1,0.41,2/1/2025", "row 2, column Date", "2025-03-31"),
        ('VINYL,"1,0.41', "", "save it as such"),
    ],
)
def test_a_bad_row_is_named_and_nothing_is_written(
    main: Path, row: str, place: str, what: str
) -> None:
    (problem,) = refused(main, row + "\n")
    assert problem.startswith(f"shelf.csv: {place}")
    assert what in problem


def test_an_item_twice_on_a_day_is_refused(main: Path) -> None:
    (problem,) = refused(main, "VINYL,1,0.41,2025-01-02\nVINYL,2,0.45,2025-01-02\n")
    assert "row 3, column Item: VINYL on 2025-01-02 is in row 2 too" in problem


def test_a_missing_column_is_named(main: Path) -> None:
    (problem,) = refused(main, "VINYL,1,0.41\n", "Item,Quantity,Cost\n")
    assert "add Unit cost, Date" in problem


def test_all_bad_rows_are_named_at_once(main: Path) -> None:
    assert len(refused(main, "VINYL,x,y,z\nMOTH,1,1,2025-01-01\n")) == 4


def test_numbers_whose_product_is_not_exact_are_refused(main: Path) -> None:
    (line,) = refused(main, "HERON-STK,999999999999999,0.41,2025-01-01\n")

    assert line.startswith(
        "shelf.csv: row 2, column Quantity: expected a number of at most 14 digits, found "
    )
    assert take(main, "HERON-STK,99999999999999,0.99999999999999,2025-01-01\n").booked == 1


def test_currency_of_the_costs_is_not_guessed(main: Path) -> None:
    main.write_text(LEDGER.partition("\n")[2])

    (line,) = refused(main, "HERON-STK,40,0.41,2025-01-01\n")

    assert line.startswith("main.beancount: expected an operating currency")
    assert 'write in the ledger: option "operating_currency" "USD"' in line

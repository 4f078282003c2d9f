"""What an import prints: counts, control totals, and what is left to do."""

from __future__ import annotations

import dataclasses
import io
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len
from rich.console import Console

from offcut.importers.import_report import REFUSED, FileReport, ImportReport, UnknownItem
from offcut.importers.totals import Total
from offcut.importers.writing import Written
from offcut.reports import import_summary
from offcut.reports.import_summary import print_summary, progress_after_a_second

D = Decimal

SALES = Total("sale", "USD", 1200, D("12345.60"), D("400.10"), D("11945.50"))
KNOWN = Total("sale", "USD", 200, D("2345.60"), D("100.10"), D("2245.50"))
NEW = Total("sale", "USD", 1000, D("10000.00"), D("300.00"), D("9700.00"))
FILE = FileReport(
    file="payments.csv",
    layout="card-payments",
    rows=1203,
    booked=1000,
    already_there=200,
    left_out={"repeated row": 2, "no amount": 1},
    totals=(SALES,),
    booked_totals=(NEW,),
    known_totals=(KNOWN,),
    repeated_totals=(),
)


def printed(**changes: Any) -> str:
    report = ImportReport(
        **{
            "files": (FILE,),
            "written": (Written(Path("/books/imports/card-2025-03.beancount"), 1000),),
            "unknown_items": (),
            "notes": (),
            "dry_run": False,
            **changes,
        }
    )
    output = io.StringIO()
    print_summary(Console(file=output, width=80), report)
    lines = output.getvalue().splitlines()
    assert max(map(cell_len, lines)) <= 80
    return "\n".join(line.rstrip() for line in lines)


def test_counts_and_control_totals() -> None:
    assert printed() == (
        "payments.csv, layout card-payments\n"
        "1,203 rows = 1,000 booked + 200 already in the ledger + 3 left out\n"
        "  left out, repeated row: 2\n"
        "  left out, no amount: 1\n"
        "In the file  Count      Gross     Fee        Net\n"
        "sale         1,200  12,345.60  400.10  11,945.50  USD\n"
        "Booked now  Count      Gross     Fee       Net\n"
        "sale        1,000  10,000.00  300.00  9,700.00  USD\n"
        "\n"
        "Wrote /books/imports/card-2025-03.beancount: 1,000 transactions"
    )


def test_order_lines_have_no_fee_and_keep_digits_beyond_the_cent() -> None:
    lines = Total("lines", "GBP", 1, D("0.0030"), D(0), D("0.00"))
    file = dataclasses.replace(
        FILE,
        file="orders.csv",
        layout="shop-orders",
        rows=1,
        booked=1,
        already_there=0,
        left_out={},
        totals=(lines,),
        booked_totals=(lines,),
        known_totals=(),
    )
    assert printed(files=(file,)).startswith(
        "orders.csv, layout shop-orders\n"
        "1 row = 1 booked + 0 already in the ledger + 0 left out\n"
        "In the file  Count  Gross   Net\n"
        "lines            1  0.003  0.00  GBP\n"
    )


def test_rows_of_changed_orders_are_told_and_tie() -> None:
    lines = Total("lines", "USD", 3, D("12.00"), D(0), D("12.00"))
    changed = Total("lines", "USD", 2, D("9.00"), D(0), D("9.00"))
    there = Total("lines", "USD", 1, D("3.00"), D(0), D("3.00"))
    file = dataclasses.replace(
        FILE,
        file="orders.csv",
        layout="shop-orders",
        rows=3,
        booked=0,
        already_there=1,
        left_out={},
        totals=(lines,),
        booked_totals=(),
        known_totals=(there,),
        changed=2,
        changed_totals=(changed,),
    )
    assert file.ties
    assert not dataclasses.replace(file, changed=1).ties
    assert not dataclasses.replace(file, changed_totals=()).ties
    assert printed(files=(file,)).startswith(
        "orders.csv, layout shop-orders\n"
        "3 rows = 0 booked + 2 changed + 1 already in the ledger + 0 left out\n"
        "In the file  Count  Gross    Net\n"
        "lines            3  12.00  12.00  USD\n"
        "In changed orders  Count  Gross   Net\n"
        "lines                  2   9.00  9.00  USD\n"
    )


def test_file_that_only_opens_accounts_has_no_count(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    written = (Written(tmp_path / "imports" / "accounts.beancount", 0),)
    assert printed(written=written).endswith("\nWrote imports/accounts.beancount")


def test_ledger_has_not_all_of_it_where_rows_were_refused() -> None:
    file = dataclasses.replace(FILE, booked=0)
    assert "Nothing new: the ledger has all" in printed(files=(file,), written=())
    file = dataclasses.replace(file, left_out={REFUSED: 1})
    assert "\nNothing to book." in printed(files=(file,), written=())


def test_dry_run() -> None:
    assert "\nWould write /books/imports/card-2025-03.beancount: 1,000" in printed(
        dry_run=True
    )


def test_nothing_new() -> None:
    text = printed(written=())
    assert text.endswith("Nothing new: the ledger has all of it already.")


def test_nothing_to_book() -> None:
    empty = dataclasses.replace(FILE, already_there=0, booked=0, rows=0, left_out={})
    text = printed(files=(empty,), written=())
    assert text.endswith("\nNothing to book.")


def test_long_item_text_is_cut_and_its_rule_fits_the_whole() -> None:
    text = printed(unknown_items=(UnknownItem("A" * 10_000, 1, D("8.00"), "USD"),))
    in_one_line = text.replace("\n", "")
    assert f"  {'A' * 120}…: 1 line, 8.00 USD" in in_one_line
    assert f'"{"A" * 120}*"' in in_one_line


def test_unknown_items_and_the_rule_that_names_one() -> None:
    text = printed(
        unknown_items=(
            UnknownItem('Heron "big" [new]\x1b[31m', 2, D("8.00"), "USD"),
            UnknownItem("", 1, D("1.50"), "USD"),
        )
    )
    assert "2 item texts are not known and went to the suspense account:\n" in text
    assert '  Heron "big" [new]�[31m: 2 lines, 8.00 USD\n  (no text): 1 line, 1.50' in text
    assert '  text = "Heron \\"big\\" [new]�[31m"\n  product = "YOUR-PRODUCT"' in text


def test_long_lists_are_cut() -> None:
    items = tuple(UnknownItem(f"Item {n}", 1, D(1), "USD") for n in range(1, 31))
    notes = tuple(f"Note {n}" for n in range(1, 23))
    text = printed(unknown_items=items, notes=notes)
    assert "Item 20:" in text and "Item 21:" not in text
    assert "  … and 10 more item texts" in text
    assert "  Note 20\n  … and 2 more notes" in text


def test_counts_that_do_not_tie_are_said() -> None:
    lost = dataclasses.replace(FILE, rows=1204)
    assert "THE COUNTS OR SUMS ABOVE DO NOT TIE" not in printed()
    assert "THE COUNTS OR SUMS ABOVE DO NOT TIE" in printed(files=(lost,))


@pytest.mark.parametrize(("seconds", "shows"), [(0.0, False), (1.5, True)])
def test_progress_shows_after_a_second(
    seconds: float, shows: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = iter([100.0, *([100.0 + seconds] * 99)])
    monkeypatch.setattr(import_summary.time, "monotonic", lambda: next(clock))
    output = io.StringIO()
    console = Console(file=output, force_terminal=True, width=80)
    with progress_after_a_second(console) as progress:
        progress("reading payments.csv", 1, 4)
    assert ("reading payments.csv" in output.getvalue()) == shows


def test_progress_in_a_pipe_is_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(import_summary, "QUIET_SECONDS", -1.0)
    output = io.StringIO()
    with progress_after_a_second(Console(file=output)) as progress:
        progress("reading", 1, 4)
    assert output.getvalue() == ""

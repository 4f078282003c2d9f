"""`offcut move-in`, from the outside: a summary first, and nothing written unasked."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len

from offcut.reports.command import main

START = "from offcut.reports.command import main; main(prog_name='offcut')"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture
def books(tmp_path: Path) -> Path:
    """New books, and the sheets filled in with their own examples."""
    folder = tmp_path / "books"
    result = run("new", folder, "--currency", "USD", "--first-day", "2025-01-01")
    assert result.exit_code == 0
    result = run("move-in", folder / "sheets", "--templates")
    assert result.exit_code == 0
    assert result.stdout.count("Wrote ") == 4
    for path in (folder / "sheets").iterdir():
        text = path.read_text("utf-8")
        for name in ("OWL-STK", "VINYL", "Assets", "Liabilities", "H-031"):
            text = text.replace(f"# {name}", name)
        path.write_text(text, "utf-8")
    return folder


def contents(books: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in books.rglob("*.beancount")}


def arguments(books: Path) -> list[str | Path]:
    return ["move-in", books / "sheets", "--into", books / "main.beancount"]


SUMMARY = """\
products.csv           2 rows = 2 new + 0 known already
opening-balances.csv   2 rows = 2 new + 0 known already     893.96 USD
opening-stock.csv      2 rows = 2 new + 0 known already     21.80 USD
open-invoices.csv      1 row = 1 new + 0 known already      46.00 USD
of the balances        1,204.16 USD owned, 310.20 USD owed

"""


def test_without_a_terminal_it_is_shown_and_not_written(books: Path) -> None:
    before = contents(books)
    result = run(*arguments(books))
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == SUMMARY + (
        "Nothing is written yet; if this is right, say it again with --yes.\n"
    )
    assert max(map(cell_len, result.stdout.splitlines())) <= 80
    assert contents(books) == before


def test_yes_writes_once(books: Path) -> None:
    result = run(*arguments(books), "--yes")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith(f"{SUMMARY}Wrote ")
    before = contents(books)
    result = run(*arguments(books), "--yes")
    assert result.stdout.endswith("Nothing new: the ledger has all of it already.\n")
    assert contents(books) == before


def test_a_dry_run_writes_nothing(books: Path) -> None:
    before = contents(books)
    assert run(*arguments(books), "--yes", "--dry-run").stdout == SUMMARY
    assert contents(books) == before


def test_problems_are_named_and_nothing_is_written(books: Path) -> None:
    sheet = books / "sheets" / "opening-balances.csv"
    sheet.write_text(sheet.read_text("utf-8").replace("310.20", "310,20"), "utf-8")
    before = contents(books)
    result = run(*arguments(books), "--yes")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr.count("\n") == 1
    assert result.stderr.startswith("opening-balances.csv: row ")
    assert result.stderr.endswith(", nothing was written\n")
    assert contents(books) == before


def test_templates_keep_what_is_filled_in(books: Path) -> None:
    before = {path: path.read_bytes() for path in (books / "sheets").iterdir()}
    result = run("move-in", books / "sheets", "--templates")
    assert "All sheets are there already; none was changed." in result.stdout
    assert {path: path.read_bytes() for path in (books / "sheets").iterdir()} == before


@pytest.mark.parametrize(("answer", "written"), [("y", True), ("n", False)])
def test_asks_at_a_terminal(books: Path, answer: str, written: bool) -> None:
    before = contents(books)
    asked, outside = pty.openpty()
    words = [str(word) for word in arguments(books)]
    process = subprocess.Popen(
        [sys.executable, "-c", START, *words],
        stdin=outside,
        stdout=outside,
        stderr=outside,
    )
    os.close(outside)
    os.write(asked, f"{answer}\n".encode())
    seen = b""
    while True:
        try:
            part = os.read(asked, 4096)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        seen += part
    assert process.wait(timeout=60) == 0
    assert b"Is this right, and to be written?" in seen
    assert (contents(books) != before) is written


def test_what_was_moved_in_is_no_source_of_every_month(books: Path) -> None:
    """Invoices of November and December are no reason to miss some in January."""
    sheet = books / "sheets" / "open-invoices.csv"
    with sheet.open("a", encoding="utf-8") as file:
        file.write("H-030,2024-11-04,Harbour Books,Wholesale,9.00,USD\n")
    assert run(*arguments(books), "--yes").exit_code == 0
    result = run("close", "2025-01", books / "main.beancount")
    assert "No rows of" not in result.stdout
    assert "order H-030 (Harbour Books)" in result.stdout

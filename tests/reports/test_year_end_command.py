"""The command `offcut year-end`: what it prints, writes and refuses."""

from __future__ import annotations

import csv
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from offcut.reports.command import main

US = 'jurisdiction = "us-federal"\n'


@pytest.fixture(autouse=True)
def settings(shop_ledger: Path) -> Path:
    """The settings beside the ledger: whose rules."""
    path = shop_ledger.parent / "offcut.toml"
    path.write_text(f"[tax]\n{US}", encoding="utf-8")
    return path


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["year-end", *map(str, arguments)])


def test_prints_the_form_and_ends_well(shop_ledger: Path) -> None:
    result = run("2025", shop_ledger)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith("Year-end form: Schedule C (Form 1040), 2025")
    assert "An estimate, not advice" in result.stdout
    # 1,273.00 sold and posted; 36.71 of fees, 490.123 of goods, 4.55 of postage, 9.00.
    for caption, line, amount in (
        ("Gross receipts or sales", "1", "1,273.00"),
        ("Cost of goods sold", "4", "490.12"),
        ("Commissions and fees", "10", "36.71"),
        ("Office expense", "18", "4.55"),
        ("Other expenses", "27b", "9.00"),
        ("Net profit or loss", "31", "732.62"),
        ("Other costs", "39", "490.12"),
    ):
        rows = [row for row in result.stdout.splitlines() if row.startswith(caption)]
        assert rows[0].split()[-2:] == [line, amount]


def test_writes_page_workbook_and_csv(shop_ledger: Path, tmp_path: Path) -> None:
    page, book, folder = tmp_path / "a.html", tmp_path / "a.xlsx", tmp_path / "csv"
    result = run(*("2025", shop_ledger, "--html", page, "--xlsx", book, "--csv", folder))
    assert result.exit_code == 0
    assert "Gross receipts or sales" in page.read_text("utf-8")
    sheets = openpyxl.load_workbook(book)
    assert any(
        cell.value == "Gross receipts or sales"
        for sheet in sheets.worksheets
        for row in sheet
        for cell in row
    )
    names = {path.stem for path in folder.iterdir()}
    assert {"form-1", "gross-receipts", "sales-tax", "for-the-accountant"} <= names
    rows = list(csv.reader((folder / "form-1.csv").open(encoding="utf-8-sig")))
    assert any("An estimate, not advice" in cell for row in rows for cell in row)


def test_a_year_without_rules_says_which_there_are(shop_ledger: Path) -> None:
    result = run("1999", shop_ledger)
    assert result.exit_code == 1
    assert "no rules of us-federal for 1999; there are 2025, 2026" in result.stderr
    assert result.stdout == ""


def test_without_a_jurisdiction_it_says_what_to_write(
    shop_ledger: Path, settings: Path
) -> None:
    settings.write_text("", encoding="utf-8")
    result = run("2025", shop_ledger)
    assert result.exit_code == 1
    assert 'Write [tax] with jurisdiction = "us-federal"' in result.stderr
    assert run("2025", shop_ledger, "--jurisdiction", "us-federal").exit_code == 0


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[tax.home-office]\narea = -1\n", "tax.home-office: area must be a number"),
        ('[tax.mileage]\nmethod = "car"\n', "tax.mileage: method is 'car'"),
    ],
)
def test_settings_with_mistakes_are_refused(
    shop_ledger: Path, settings: Path, text: str, expected: str
) -> None:
    settings.write_text(f"[tax]\n{US}{text}", encoding="utf-8")
    result = run("2025", shop_ledger)
    assert result.exit_code == 1
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert expected in line


def test_a_wrong_tax_line_is_said_and_the_rest_is_done(shop_ledger: Path) -> None:
    text = shop_ledger.read_text("utf-8")
    wrong = '2025-01-01 open Expenses:Ads\n  tax-line: "adds"\n'
    shop_ledger.write_text(text + wrong, encoding="utf-8")
    result = run("2025", shop_ledger)
    assert result.exit_code == 3
    assert 'Expenses:Ads: tax-line is "adds"' in result.stderr
    assert "main.beancount:" in result.stderr
    assert "Errors in the ledger" in result.stdout

"""The command `offcut year-end`: what it prints, writes and refuses."""

from __future__ import annotations

import csv
import re
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


@pytest.mark.parametrize("words", [("main.beancount", "2025"), ("25",), ("2025-2026",)])
def test_what_is_no_year_is_said_with_what_to_write(words: tuple[str, ...]) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert f"such as 2025 main.beancount; {words[0]!r} is no year" in result.stderr


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


LAND = """\
jurisdiction = "brackets-land"
title = "Brackets Land, income tax"
calculation = "schedule-only"
year = "2025"
first-day = 2025-01-01
last-day = 2025-12-31
currency = "USD"
statuses = ["town", "country"]
form-title = "Form B"
form-source = "made up"

[schedules.income]
source = "made up"
[schedules.income.rates]
town = [0, 0.10, 0.25]
country = [0.08]
[schedules.income.edges]
town = [200, 500]
country = []

[figures.allowance]
values = { town = 100, country = 0 }
source = "made up"

[return]
due = 2026-05-31
source = "made up"

[[form]]
line = "B1"
caption = "What came in"
key = "came-in"
side = "income"
[[form]]
line = "B2"
caption = "What went out"
key = "went-out"
side = "deduction"
[[form]]
line = "B3"
caption = "What is left"
key = "net-profit"
adds = ["came-in"]
takes = ["went-out"]

[defaults]
"Income" = "came-in"
"Expenses" = "went-out"
"""


def test_a_country_of_brackets_with_a_form_needs_no_code(
    shop_ledger: Path, settings: Path
) -> None:
    folder = shop_ledger.parent / "taxes"
    folder.mkdir()
    (folder / "land.toml").write_text(LAND, encoding="utf-8")
    # 732.617 of profit, as the form of the United States has it above. Town: less 100,
    # 300 at 10 % and 132.617 at 25 % are 63.15; country: 8 % are 58.61.
    for status, tax in (("town", "63.15"), ("country", "58.61")):
        text = f'[tax]\njurisdiction = "brackets-land"\nstatus = "{status}"\n'
        settings.write_text(text, encoding="utf-8")
        words = ["tax", "2025", str(shop_ledger), "--on", "2026-01-05"]
        result = CliRunner().invoke(main, words, env={"COLUMNS": "80"})
        assert (result.exit_code, result.stderr) == (0, "")
        told = " ".join(result.stdout.split())
        assert f"Tax of the year on that {tax}" in told
        # The 31st is a Sunday, but these rules name no holidays that move it.
        assert f"With the return of 2025 {tax} 31 May 2026" in told
    result = run("2025", shop_ledger)
    assert (result.exit_code, result.stderr) == (0, "")
    rows = re.findall(r" (B\d) +(\S+)$", result.stdout, re.MULTILINE)
    assert rows == [("B1", "1,273.00"), ("B2", "540.38"), ("B3", "732.62")]
    # The year's end asks what these rules cannot know, as `offcut tax` does.
    told = " ".join(result.stdout.split())
    assert "Tax that is withheld from it this year (withholding)" in told


def test_a_wrong_tax_line_is_said_and_the_rest_is_done(shop_ledger: Path) -> None:
    text = shop_ledger.read_text("utf-8")
    wrong = '2025-01-01 open Expenses:Ads\n  tax-line: "adds"\n'
    shop_ledger.write_text(text + wrong, encoding="utf-8")
    result = run("2025", shop_ledger)
    assert result.exit_code == 3
    assert 'Expenses:Ads: tax-line is "adds"' in result.stderr
    assert "main.beancount:" in result.stderr
    assert "Errors in the ledger" in result.stdout

"""Wherever a tax figure stands, it is said that it is an estimate, and whom to ask."""

from __future__ import annotations

import csv
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from offcut.reports.command import main
from offcut.reports.tax import CAUTION

TOP = Path(__file__).parents[2]
LEDGER = """\
option "operating_currency" "{currency}"
2025-01-01 open Assets:Bank:Checking
2025-01-01 open Income:Sales:Web
2025-05-01 * "Sales"
  Income:Sales:Web  -30000.00 {currency}
  Assets:Bank:Checking
"""
US = ("us-federal", "single", "2025", "USD")
UK = ("uk-sole-trader", "scotland", "2025-26", "GBP")
WAYS = [
    ("tax", US, ()),
    ("tax", UK, ()),
    ("year-end", US, ()),
    ("year-end", UK, ()),
    # With a working in columns, and a tax of the maker's own place.
    ("tax", US, ('method = "annualised"', "[[tax.local]]", "rate = 0.05")),
]


def one_line(text: str) -> str:
    return " ".join(text.split())


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, list(map(str, arguments)), env={"COLUMNS": "80"})


@pytest.fixture(params=WAYS, ids=lambda way: f"{way[0]} {way[1][0]} {len(way[2])}")
def asked(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[str, str, Path]:
    """A command, a year and a ledger with settings."""
    command, (jurisdiction, status, year, currency), more = request.param
    text = f'[tax]\njurisdiction = "{jurisdiction}"\nstatus = "{status}"\n'
    text += "\n".join([*more, ""])
    if "[[tax.local]]" in more:
        text += 'name = "City"\nbase = "profit"\n'
    (tmp_path / "offcut.toml").write_text(text, encoding="utf-8")
    ledger = tmp_path / "main.beancount"
    ledger.write_text(LEDGER.format(currency=currency), encoding="utf-8")
    return command, year, ledger


def test_in_the_terminal_before_each_part_s_figures(asked: tuple[str, str, Path]) -> None:
    result = run(*asked)
    assert (result.exit_code, result.stderr) == (0, "")
    # A part begins with its title and the caution, and only then has figures.
    parts = one_line(result.stdout).split(CAUTION)
    assert len(parts) == {"tax": 3, "year-end": 8}[asked[0]]
    assert "30,000.00" not in parts[0]


def test_on_the_page_the_sheets_and_each_line_of_a_csv_file(
    asked: tuple[str, str, Path], tmp_path: Path
) -> None:
    page, book, folder = tmp_path / "t.html", tmp_path / "t.xlsx", tmp_path / "figures"
    result = run(*asked, "--html", page, "--xlsx", book, "--csv", folder)
    assert (result.exit_code, result.stderr) == (0, "")
    text = page.read_text(encoding="utf-8")
    figures = text.index("<td")
    assert 0 < text.index(CAUTION) < figures
    for file in folder.iterdir():
        with file.open(encoding="utf-8", newline="") as opened:
            head, *rows = csv.reader(opened)
        assert head[-1] == "Caution"
        assert {row[-1] for row in rows} <= {CAUTION}
    for sheet in openpyxl.load_workbook(book):
        cells = [cell.value for row in sheet.iter_rows(max_row=8) for cell in row]
        assert "Contents" in sheet.title or CAUTION in cells, sheet.title


@pytest.mark.parametrize("command", ["tax", "year-end"])
def test_in_the_help(command: str) -> None:
    told = one_line(run(command, "--help").stdout).lower()
    for words in ("estimate, not advice", "rules differ by place", "licensed accountant"):
        assert words in told


@pytest.mark.parametrize("guide", ["tax-quarter", "year-end"])
def test_in_the_guides(guide: str) -> None:
    told = one_line(run("guide", guide).stdout).lower()
    for words in ("estimate", "licensed accountant"):
        assert words in told


def test_where_settings_are_asked_for(tmp_path: Path) -> None:
    ledger = tmp_path / "main.beancount"
    ledger.write_text(LEDGER.format(currency="USD"), encoding="utf-8")
    assert CAUTION in one_line(run("tax", ledger).stderr)


def test_in_the_readme() -> None:
    told = one_line((TOP / "README.md").read_text(encoding="utf-8"))
    after = told.partition("offcut year-end")[2]
    for words in ("estimate, not advice", "rules differ by place", "licensed accountant"):
        assert words in after

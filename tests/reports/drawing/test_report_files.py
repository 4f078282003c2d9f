"""Statements as workbook and CSV files: the very figures, and text that stays text."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import io
import os
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import range_boundaries

from offcut.reports.drawing.report_files import write_csv, write_page, write_workbook
from offcut.reports.drawing.table_csv import table_csv
from offcut.reports.drawing.workbook import workbook
from offcut.reports.profit import GROUPINGS, ProfitReports
from offcut.reports.profit_statement import profit_statement
from offcut.reports.statement import Line, Statement, Table
from offcut.reports.statement_cells import Column

D = Decimal
# OWASP, "CSV Injection": what a spreadsheet begins a formula with.
FORMULAS = ('=HYPERLINK("x")', "+1+1", "-2+3", "@SUM(1)", "\t=1", "\r=1")


@pytest.fixture
def statements(shop_reports: ProfitReports) -> list[Statement]:
    return [profit_statement(shop_reports, grouping) for grouping in GROUPINGS]


def table(*lines: Line) -> Table:
    columns = (
        Column("Name", "text"),
        Column("Day", "date"),
        Column("Amount", adds_up=True),
    )
    return Table("Things", columns, lines, "things", "USD")


def opened(statements: list[Statement], values: bool) -> Any:
    return openpyxl.load_workbook(io.BytesIO(workbook(statements, "T")), data_only=values)


def test_csv_has_the_exact_figures(statements: list[Statement]) -> None:
    first = statements[0].tables[0]
    rows = list(csv.reader(io.StringIO(table_csv(first))))
    assert all(len(row) == len(rows[0]) for row in rows)
    shown = first.shown_columns(narrow=False)
    for line, row in zip(first.lines, rows[1:], strict=True):
        figures = [line.cells[at] for at in shown[1:-1]]
        assert [Decimal(cell) for cell in row[3 : 3 + len(figures)]] == figures
        assert row[0] == line.role and row[-1] == "USD"
    parts = [row[1] for row in rows if row[0] == "part"]
    assert parts == ["Heron at Dusk / Heron print", "Heron at Dusk / Heron sticker"]


@pytest.mark.parametrize("text", FORMULAS)
def test_no_text_is_a_formula(text: str) -> None:
    of_text = table(Line((text, None, D(1)), code=text))
    for cell in list(csv.reader(io.StringIO(table_csv(of_text))))[1]:
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
    statement = Statement(text, text, (dataclasses.replace(of_text, title=text),))
    for sheet in opened([statement], values=False):
        assert not [c for row in sheet.iter_rows() for c in row if c.data_type == "f"]


def test_a_loss_is_no_formula() -> None:
    rows = list(csv.reader(io.StringIO(table_csv(table(Line(("x", None, D("-1.50"))))))))
    assert rows[1][4] == "-1.50"


def test_sheets_have_numbers_and_dates(statements: list[Statement]) -> None:
    day = datetime.date(2025, 3, 31)
    dated = Statement("Dated", "March", (table(Line(("a", day, D("-1234.5")))),))
    sheet = opened([dated], values=True)["Things"]
    (row,) = [row for row in sheet.iter_rows() if row[0].value == "a"]
    assert row[1].is_date and row[1].value.date() == day
    assert row[2].value == -1234.5 and row[2].number_format.startswith("#,##0.00")
    assert sheet.freeze_panes == f"B{row[0].row}"


def test_prices_of_a_unit_are_as_fine_as_they_are() -> None:
    columns = (Column("Name", "text"), Column("Each", "price"))
    fine = Table("Units", columns, (Line(("Ink", D("0.0313"))),), "units", "USD")
    sheet = opened([Statement("S", "all dates", (fine,))], values=True)["Units"]
    (cell,) = [each for row in sheet for each in row if each.value == 0.0313]
    assert cell.number_format.startswith("#,##0.00##")
    assert "0.0313" in table_csv(fine)


def test_sums_are_formulas_that_come_to_the_reports_figures(
    statements: list[Statement],
) -> None:
    formulas, values = opened(statements, values=False), opened(statements, values=True)
    tables = [each for statement in statements for each in statement.tables]
    # The contents are a sheet too.
    assert len(formulas.sheetnames) == len(tables) + 1 == len(set(formulas.sheetnames))
    found = 0
    for of_formulas, of_values in zip(formulas, values, strict=True):
        for row in of_formulas.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    stored = of_values[cell.coordinate].value
                    assert summed(cell.value, of_values) == pytest.approx(stored, abs=1e-9)
                    found += 1
    wanted = [
        1
        for each in tables
        for line in each.lines
        for at in each.shown_columns(narrow=False)
        if line.sums and each.columns[at].adds_up
    ]
    assert found == len(wanted) > 20


def summed(formula: str, sheet: Any) -> float:
    """Return what a sum comes to, from the values of its cells."""
    total = 0.0
    for part in formula.removeprefix("=SUM(").removesuffix(")").split(","):
        left, top, right, bottom = range_boundaries(part)
        for row in sheet.iter_rows(top, bottom, left, right, values_only=True):
            total += sum(row)
    return total


def test_sheet_names_are_legal_and_differ() -> None:
    titles = ["a" * 40, "a" * 40, "Q1: [net] */?\\ 'x'", "", "A" * 40]
    statements = [
        Statement("S", "p", (dataclasses.replace(table(), title=title),))
        for title in titles
    ]
    names = opened(statements, values=False).sheetnames
    assert len({name.casefold() for name in names}) == len(titles) + 1
    assert all(0 < len(name) <= 31 and not set(name) & set("[]:*?/\\'") for name in names)


def test_same_figures_give_the_same_workbook(statements: list[Statement]) -> None:
    assert workbook(statements, "T") == workbook(statements, "T")


def test_files_are_written_whole(statements: list[Statement], tmp_path: Path) -> None:
    page, book, folder = tmp_path / "a.html", tmp_path / "a.xlsx", tmp_path / "figures"
    assert write_page(statements, "Profit", "Books", page) == [page]
    assert write_workbook(statements, "Profit", "Books", book) == [book]
    written = write_csv(statements, "Profit", "Books", folder)
    assert sorted(os.listdir(tmp_path)) == ["a.html", "a.xlsx", "figures"]
    assert sorted(path.name for path in written) == sorted(os.listdir(folder))
    assert "profit-per-design.csv" in os.listdir(folder)
    assert openpyxl.load_workbook(book).sheetnames

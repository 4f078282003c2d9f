"""The workbook as a program for tables reads it: sums calculated anew, contents, print."""

from __future__ import annotations

import datetime
import io
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from offcut.reports.books import Books
from offcut.reports.drawing.workbook import MOST_RANGES, SUMMED_IN, workbook
from offcut.reports.period import Period
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.statement_charts import Course, Plot
from offcut.reports.trend_statement import trend_statement
from offcut.reports.years_statement import years_statement
from tests.reports.test_years_statement import THREE_YEARS, TODAY

D = Decimal


def opened(statements: list[Statement], values: bool = True) -> Any:
    return openpyxl.load_workbook(
        io.BytesIO(workbook(statements, "Books & co")), data_only=values
    )


def months(count: int) -> Table:
    """Return a table of months with a plot, and of which two columns are a course."""
    lines = tuple(
        Line((datetime.date(2024 + at // 12, at % 12 + 1, 1), D(at), D(-at)))
        for at in range(count)
    )
    total = Line(("Total", D(1), D(1)), "total")
    columns = (Column("Month", "month"), Column("Sales"), Column("Sales before"))
    return Table(
        title="Months",
        columns=columns,
        lines=(*lines, total),
        slug="months",
        currency="USD",
        plots=(Plot("Sales by month", 1, 2, tuple(range(count))),),
        course=Course("By month", (1, 2)),
    )


def calculated(path: Path) -> dict[tuple[str, str], float]:
    """Return what the formulas of a workbook come to, by sheet and cell.

    By a program of its own that reads XLSX and calculates (`formulas`, on PyPI).
    """
    formulas = pytest.importorskip("formulas", reason="formulas is not installed")
    model = formulas.ExcelModel().loads(str(path)).finish()
    solution = model.calculate()
    found = {}
    for sheet in openpyxl.load_workbook(path):
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    name = f"'[{path.name}]{sheet.title.upper()}'!{cell.coordinate}"
                    found[sheet.title, cell.coordinate] = solution[name].value[0, 0]
    return found


@pytest.mark.reference
@pytest.mark.filterwarnings("ignore")
def test_formulas_calculated_anew_come_to_the_figures(load: Any, tmp_path: Path) -> None:
    ledger = load(THREE_YEARS)
    books = Books(ledger.entries, ledger.options)
    statements = [
        years_statement(books, Period(), "USD", TODAY),
        trend_statement(books, Period(), "USD", "all", TODAY),
        trend_statement(books, Period(), "USD", "design", TODAY),
    ]
    path = tmp_path / "books.xlsx"
    path.write_bytes(workbook(statements, "Books"))
    figures = openpyxl.load_workbook(path, data_only=True)
    anew = calculated(path)
    assert len(anew) > 60
    for (sheet, cell), value in anew.items():
        assert value == pytest.approx(figures[sheet][cell].value, abs=1e-9)


@pytest.mark.reference
@pytest.mark.filterwarnings("ignore")
def test_sum_of_more_lines_than_a_formula_can_name(tmp_path: Path) -> None:
    """A program for tables takes 255 ranges and 8,192 characters in a formula."""
    lines, own = [], []
    for number in range(MOST_RANGES + 1):
        own.append(len(lines))
        lines.append(Line((f"Design {number}", D(number))))
        lines.append(Line((f"Product {number}", D(number)), "part"))
    total = D(sum(range(MOST_RANGES + 1)))
    lines.append(Line(("Total", total), "total", sums=tuple(own)))
    columns = (Column("Design", "text"), Column("Sales", adds_up=True))
    table = Table("Designs", columns, tuple(lines), "designs", "USD")
    path = tmp_path / "designs.xlsx"
    path.write_bytes(workbook([Statement("Designs", "2025", (table,))], "Books"))
    (formula,) = [
        cell.value
        for row in openpyxl.load_workbook(path)["Designs"].iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    assert formula.startswith("=SUMIF(") and len(formula) < 100
    assert list(calculated(path).values()) == [float(total)]
    texts = [cell.value for row in openpyxl.load_workbook(path)["Designs"] for cell in row]
    assert SUMMED_IN in texts


@pytest.mark.filterwarnings("ignore:Sparkline Group extension")
def test_contents_come_first() -> None:
    statement = Statement(
        "Trend",
        "2025",
        (months(3),),
        checks=(Check("All rows add up.", True), Check("They do not.", False)),
        notes=(Note("=Read it so."), Note("On a terminal.", "narrow")),
        caution="An estimate.",
    )
    book = opened([statement])
    assert book.sheetnames == ["Contents", "Months"]
    texts = [cell.value for row in book["Contents"].iter_rows() for cell in row]
    for text in (
        *("Books & co", "Months", "Months. Trend, 2025", "USD", "An estimate."),
        *("Agrees: All rows add up.", "DOES NOT AGREE: They do not.", "=Read it so."),
    ):
        assert text in texts
    assert "On a terminal." not in texts
    links = [
        cell.hyperlink.location
        for row in book["Contents"].iter_rows()
        for cell in row
        if cell.hyperlink
    ]
    assert links == ["'Months'!A1"]
    assert all(
        cell.data_type != "f"
        for row in opened([statement], values=False)["Contents"].iter_rows()
        for cell in row
    )


def test_titles_of_sheets_are_legal_in_links() -> None:
    table = Table("It's 'Q1': [a]!", (Column("A", "text"),), (Line(("x",)),), "q")
    history = Table("History", (Column("A", "text"),), (Line(("x",)),), "h")
    book = opened([Statement("S", "p", (table, history))])
    names = book.sheetnames[1:]
    # "History" is a name that programs for tables keep for themselves.
    assert names == ["It s  Q1    a !", "Sheet"]
    links = [cell.hyperlink.location for cell in book["Contents"]["A"] if cell.hyperlink]
    assert links == [f"'{name}'!A1" for name in names]


@pytest.mark.filterwarnings("ignore:Sparkline Group extension")
def test_sheets_print_with_their_headings() -> None:
    sheet = opened([Statement("Trend", "2025", (months(3),))])["Months"]
    heading = next(row[0].row for row in sheet.iter_rows() if row[0].value == "Month")
    assert sheet.freeze_panes == f"B{heading + 1}"
    assert sheet.print_title_rows == f"${heading}:${heading}"
    assert sheet.page_setup.orientation == "landscape"
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
    assert "&P" in sheet.oddFooter.right.text
    assert all(
        sheet.column_dimensions[name].width > len(str(sheet[f"{name}{heading}"].value))
        for name in ("A", "B", "C")
    )


@pytest.mark.filterwarnings("ignore:Sparkline Group extension")
def test_months_are_dates_and_units_have_no_idle_point() -> None:
    table = months(1)
    units = Table(
        "Units",
        (Column("Item", "text"), Column("Left", "units")),
        (Line(("Vinyl", D("2.5"))), Line(("Heron", D("3.0")))),
        "units",
    )
    book = opened([Statement("S", "p", (table, units))])
    (month,) = [
        row[0] for row in book["Months"].iter_rows() if row[0].is_date and row[0].value
    ]
    assert month.value == datetime.datetime(2024, 1, 1)
    assert month.number_format == "yyyy-mm"
    forms = {row[0].value: row[1].number_format for row in book["Units"].iter_rows()}
    assert (forms["Vinyl"], forms["Heron"]) == ("#,##0.####", "#,##0")


@pytest.mark.filterwarnings("ignore:Sparkline Group extension")
def test_charts_are_of_the_cells() -> None:
    raw = io.BytesIO(workbook([Statement("S", "p", (months(5),))], "T"))
    sheet = openpyxl.load_workbook(raw)["Months"]
    heading = next(row[0].row for row in sheet.iter_rows() if row[0].value == "Month")
    (chart,) = sheet._charts
    first, last = heading + 1, heading + 5
    (series,) = chart.series
    assert series.val.numRef.f == f"Months!$B${first}:$B${last}"
    assert series.cat.numRef.f == f"Months!$A${first}:$A${last}"
    with zipfile.ZipFile(raw) as parts:
        drawn = parts.read("xl/worksheets/sheet2.xml").decode()
        pictured = parts.read("xl/drawings/drawing1.xml").decode()
        charted = parts.read("xl/charts/chart1.xml").decode()
    # A small one for each line, the total too; and words for who cannot see them.
    assert drawn.count("<x14:sparkline>") == 6
    assert f"<xm:f>Months!B{first}:C{first}</xm:f>" in drawn.replace("'", "")
    assert "Sales by month; the figures are those of the table." in pictured
    assert f"Months!$C${first}:$C${last}" in charted

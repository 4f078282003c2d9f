"""The statement of the trend: months, the year before, and designs that are too many."""

from __future__ import annotations

import datetime
import io
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.books import Books
from offcut.reports.command import main
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.net_income import Tie
from offcut.reports.period import Period, choose_period
from offcut.reports.statement import Statement, Table
from offcut.reports.statement_cells import Cell
from offcut.reports.trend import Grouping
from offcut.reports.trend_statement import trend_statement

D = Decimal
HEAD = """
option "operating_currency" "USD"
2020-01-01 open Assets:Cash
2020-01-01 open Income:Sales:Web
2020-01-01 open Income:Sales:Fair
2020-01-01 open Expenses:Rent
"""
TODAY = datetime.date(2025, 11, 20)


def sale(date: str, item: str, amount: str, channel: str = "Web", quantity: int = 1) -> str:
    return (
        f'{date} * "Order"\n  Assets:Cash\n  Income:Sales:{channel}  -{amount} USD\n'
        f'    item: "{item}"\n    quantity: {quantity}\n'
    )


TWO_YEARS = HEAD + "".join(
    (
        sale("2024-03-05", "HERON", "10.00"),
        sale("2024-03-20", "HERON", "5.00"),
        sale("2024-04-02", "MOTH", "8.00"),
        sale("2025-03-01", "HERON", "30.00", quantity=3),
        sale("2025-04-09", "MOTH", "6.00", "Fair"),
        '2025-04-10 * "Rent"\n  Expenses:Rent  9.00 USD\n  Assets:Cash\n',
    )
)


def stated(
    ledger: Any,
    grouping: Grouping = "all",
    period: Period | None = None,
    today: datetime.date = TODAY,
    **options: int,
) -> Statement:
    books = Books(ledger.entries, ledger.options, ledger.errors)
    return trend_statement(books, period or Period(), "USD", grouping, today, **options)


def told(table: Table) -> dict[str, dict[str, Cell]]:
    """Return the cells of each line by its name and the heading, those of pages only."""
    shown = table.shown_columns(narrow=False)
    lines = {}
    for line in table.lines:
        first = line.cells[0]
        name = first.strftime("%Y-%m") if isinstance(first, datetime.date) else str(first)
        lines[name] = {table.columns[at].heading: line.cells[at] for at in shown[1:]}
    return lines


def printed(statement: Statement, width: int = 80) -> str:
    output = io.StringIO()
    print_statements(Console(file=output, width=width), [statement])
    return output.getvalue()


def test_months_stand_beside_the_year_before(load: Any) -> None:
    (table,) = stated(load(TWO_YEARS), period=choose_period(year="2025")).tables
    months = told(table)
    march = months["2025-03"]
    assert (march["Sales"], march["Sales the year before"]) == (D("30.00"), D("15.00"))
    assert (march["Change of sales"], march["Change of sales, %"]) == (D("15.00"), D(1))
    assert (march["Units"], march["Change of units"]) == (D(3), D(1))
    april = months["2025-04"]
    assert (april["Sales"], april["Contribution"]) == (D("6.00"), D("-3.00"))
    # From a gain of 8.00 to a loss of 3.00.
    assert april["Change of contribution"] == D("-11.00")
    assert april["Change of contribution, %"] == D("-1.375")
    # The books begin on 5 March 2024: nothing is known of the January before.
    january = months["2025-01"]
    assert january["Sales"] == D(0)
    assert january["Sales the year before"] is None is january["Change of sales"]
    # So the year as a whole is not compared.
    assert months["Total"]["Sales"] == D("36.00")
    assert months["Total"]["Change of sales"] is None


def test_only_months_that_are_not_whole_say_their_days(load: Any) -> None:
    ledger = load(TWO_YEARS)
    period = Period(datetime.date(2025, 3, 10), datetime.date(2025, 12, 31))
    (table,) = stated(ledger, period=period).tables
    days = {name: cells["Days"] for name, cells in told(table).items()}
    # Up to the last entry: what comes later is not known yet.
    assert days == {"2025-03": "10 to 31", "2025-04": "1 to 10", "Total": ""}
    over = Period(datetime.date(2025, 3, 1), datetime.date(2025, 5, 31))
    (table,) = stated(ledger, period=over).tables
    assert list(told(table)) == ["2025-03", "2025-04", "2025-05", "Total"]
    # A month in progress, of which something is booked for later.
    (table,) = stated(ledger, today=datetime.date(2025, 4, 5)).tables
    assert told(table)["2025-04"]["Days"] == "so far"
    whole = stated(ledger, period=choose_period(first="2025-03-01", last="2025-04-30"))
    assert "Days" not in [column.heading for column in whole.tables[0].columns]


def test_years_are_subtotals_and_the_total_is_theirs(load: Any) -> None:
    (table,) = stated(load(TWO_YEARS)).tables
    names = list(told(table))
    assert names[0] == "2024-03" and names[-3:] == ["2024", "2025", "Total"]
    total = table.lines[-1]
    assert [table.lines[at].cells[0] for at in total.sums] == ["2024", "2025"]
    assert told(table)["2024"]["Sales"] == D("23.00")
    assert told(table)["Total"]["Sales"] == D("59.00")


@pytest.mark.parametrize("grouping", ["all", "design", "channel"])
def test_every_sum_is_that_of_its_lines(load: Any, grouping: Grouping) -> None:
    statement = stated(load(TWO_YEARS), grouping)
    assert statement.holds
    assert "41.00 USD" not in statement.checks[0].sentence
    assert "50.00 USD" in statement.checks[0].sentence
    for table in statement.tables:
        for line in table.lines:
            for at, column in enumerate(table.columns):
                if line.sums and column.adds_up:
                    parts = [table.lines[each].cells[at] for each in line.sums]
                    assert sum(D(str(part)) for part in parts) == line.cells[at]


def test_tie_that_does_not_hold_is_said(load: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Tie, "holds", property(lambda _: False))
    assert not stated(load(TWO_YEARS)).holds


def test_designs_over_time_and_what_belongs_to_none(load: Any) -> None:
    statement = stated(load(TWO_YEARS), "design", choose_period(year="2025"))
    summary, sales, contribution, units = statement.tables
    assert list(told(summary)) == [
        *("HERON", "MOTH", "All designs", "Unallocated", "Total"),
    ]
    assert told(summary)["Unallocated"]["Contribution"] == D("-9.00")
    by_month = told(sales)["HERON"]
    assert (by_month["2025-03"], by_month["2025-04"]) == (D("30.00"), D(0))
    assert told(contribution)["Total"]["Total"] == D("27.00")
    assert told(units)["Total"]["2025-03"] == D(3)
    assert units.currency == ""


def test_the_largest_designs_have_a_line_each(load: Any) -> None:
    text = HEAD + "".join(
        sale("2025-03-01", f"D{number:02}", f"{number}.00") for number in range(1, 41)
    )
    # What has stopped counts as well: it earned more last year than the others now.
    text += sale("2024-03-01", "GONE", "500.00")
    statement = stated(load(text), "design", choose_period(month="2025-03"), largest=3)
    lines = told(statement.tables[0])
    assert list(lines) == ["D40", "D39", "GONE", "38 other designs", "Total"]
    assert lines["38 other designs"]["Sales"] == D(sum(range(1, 39)))
    assert lines["GONE"]["Change of sales"] == D("-500.00")
    assert any("--largest 41 shows all" in note.text for note in statement.notes)
    every = stated(load(text), "design", choose_period(month="2025-03"), largest=41)
    assert len(every.tables[0].lines) == 42


@pytest.mark.parametrize(
    ("years", "columns"),
    [
        (1, [f"2014-{month:02}" for month in range(1, 13)]),
        (2, [f"{year} Q{quarter}" for year in (2014, 2015) for quarter in (1, 2, 3, 4)]),
        (12, [str(year) for year in range(2014, 2026)]),
    ],
)
def test_months_that_are_too_many_are_put_together(
    load: Any, years: int, columns: list[str]
) -> None:
    text = HEAD.replace("2020-01-01", "2014-01-01") + "".join(
        sale(f"{2014 + year}-{month:02}-01", "HERON", "1234.50")
        for year in range(years)
        for month in range(1, 13)
    )
    period = choose_period(first="2014-01-01", last=f"{2013 + years}-12-31")
    statement = stated(load(text), "design", period, datetime.date(2026, 2, 1))
    sales = statement.tables[1]
    assert list(told(sales)["HERON"])[:-1] == columns
    assert sales.course is not None
    assert [sales.columns[at].heading for at in sales.course.columns] == columns
    assert max(map(cell_len, printed(statement).splitlines())) <= 80


def test_months_are_drawn(load: Any) -> None:
    text = printed(stated(load(TWO_YEARS), period=choose_period(year="2025")))
    # Nothing but in March and April; a loss is a minus sign.
    assert "Sales by month: 2025-01 __█▂ 2025-04" in text
    assert "Contribution by month: 2025-01 __█- 2025-04" in text


def test_nothing_on_these_days(load: Any) -> None:
    for grouping in ("all", "design", "channel"):
        statement = stated(load(HEAD), grouping)
        assert "No income and no costs on these days." in printed(statement)
        assert statement.holds


def test_command(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(TWO_YEARS)
    options = ["--by", "channel", "--by", "design", "--year", "2025"]
    result = CliRunner().invoke(main, ["trend", str(path), *options])
    assert result.exit_code == 0, result.output
    channel, design = (result.output.index(f"Trend per {each}") for each in ("ch", "de"))
    assert channel < design
    assert (
        "Trend, 2025"
        in CliRunner().invoke(main, ["trend", str(path), "--year", "2025"]).output
    )

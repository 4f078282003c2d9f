"""A page keeps its length whatever the ledger's, and its columns still add up."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from beancount import loader
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.drawing.page import page
from offcut.reports.drawing.page_length import at_length, with_lines_between
from offcut.reports.drawing.page_sections import MOST_OPEN
from offcut.reports.period import Period
from offcut.reports.sources import MOST_OF_A_PAGE
from offcut.reports.statement import Line, Role, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.statement_charts import Plot
from offcut.reports.whole_report import whole_report

D = Decimal
TODAY = datetime.date(2025, 12, 31)
DESIGNS = 900
COLUMNS = (
    Column("Design", "text"),
    Column("Sales", adds_up=True),
    Column("Share", "share"),
)


@st.composite
def tables(draw: st.DrawFn) -> Table:
    """Tables of lines, some with parts, below them subtotals and a total."""
    lines: list[Line] = []
    own: list[int] = []
    for number in range(draw(st.integers(0, 30))):
        own.append(len(lines))
        amounts = draw(st.lists(st.integers(-9, 9), max_size=3))
        whole = D(sum(amounts)) if amounts else D(draw(st.integers(-9, 9)))
        lines.append(Line((f"Line {number}", whole, D("0.5"))))
        lines += [Line(("A part", D(amount), None), "part") for amount in amounts]
    total = sum((D(str(lines[at].cells[1])) for at in own), D(0))
    role: Role = "subtotal" if draw(st.booleans()) else "total"
    lines.append(Line(("All lines", total, None), role, sums=tuple(own)))
    if role == "subtotal":
        lines.append(Line(("Loose", D(3), None), "subtotal"))
        sums = (len(lines) - 2, len(lines) - 1)
        lines.append(Line(("Total", total + 3, None), "total", sums=sums))
    return Table("Table", COLUMNS, tuple(lines), "table", "USD")


def own_lines(table: Table) -> list[Line]:
    return [line for line in table.lines if line.role in ("line", "part")]


@given(tables(), st.integers(1, 8), st.integers(0, 8))
def test_every_sum_is_still_the_sum_of_its_lines(
    table: Table, first: int, last: int
) -> None:
    shown = with_lines_between(table, first, last)
    for line in shown.lines:
        if line.sums:
            parts = [D(str(shown.lines[at].cells[1])) for at in line.sums]
            assert sum(parts) == line.cells[1]
            assert not {shown.lines[at].role for at in line.sums} & {"part", "total"}
    totals = [line._replace(sums=()) for line in table.lines if line.role == "total"]
    assert [
        line._replace(sums=()) for line in shown.lines if line.role == "total"
    ] == totals
    whole, left = own_lines(table), own_lines(shown)
    if len(whole) <= first + last + 1:
        assert shown == table
        return
    # A line may bring its parts along, of which there are three at the most.
    assert len(left) <= first + last + 1 + 3
    rest = [line for line in left if str(line.cells[0]).endswith(" more")]
    if not rest:
        assert left == whole
        return
    (one,) = rest
    at = left.index(one)
    assert left[:at] == whole[:at]
    after = len(left) - at - 1
    assert left[at + 1 :] == whole[len(whole) - after :]
    between = whole[at : len(whole) - after]
    several = [line for line in between if line.role == "line"]
    assert one.cells == (
        f"{len(several):,} more",
        sum((D(str(line.cells[1])) for line in several), D(0)),
        None,
    )


@pytest.mark.parametrize(
    "kept_whole",
    [
        {"plots": (Plot("By month", 1, None, (0, 1)),)},
        {"columns": (Column("To do", "prose"), *COLUMNS[1:])},
        {"lines": tuple(Line((str(at), D(1), None), depth=1) for at in range(9))},
    ],
)
def test_what_is_drawn_worked_off_or_a_tree_stays_whole(
    kept_whole: dict[str, object],
) -> None:
    lines = tuple(Line((str(at), D(1), None)) for at in range(9))
    made: dict[str, object] = {"columns": COLUMNS, "lines": lines, **kept_whole}
    table = Table(title="Table", slug="table", **made)  # type: ignore[arg-type]
    assert with_lines_between(table, 2, 2) == table


@pytest.fixture(scope="module")
def stated() -> list[Statement]:
    """The report of a ledger of many designs, each bought and sold once."""
    text = (
        'option "operating_currency" "USD"\nplugin "offcut.plugins"\n'
        "2025-01-01 open Assets:Cash\n2025-01-01 open Income:Sales:Web\n"
    )
    for number in range(1, DESIGNS + 1):
        text += (
            f'2025-01-01 commodity D{number}\n  stock: "product"\n'
            f'2025-01-02 * "Printer"\n  Assets:Stock:D{number}  2 D{number} {{0.20 USD}}\n'
            "  Assets:Cash\n"
            f'2025-03-01 * "Order" ^order-{number}\n  Income:Sales:Web  -{number}.00 USD\n'
            f'    item: "D{number}"\n    quantity: 1\n  Assets:Cash\n'
        )
    entries, errors, options = loader.load_string(text)
    assert not errors, errors[0]
    books = Books(entries, options)
    return at_length(whole_report(books, Period(), "USD", "value", TODAY))


def test_many_designs_have_the_first_and_the_last_lines(stated: list[Statement]) -> None:
    table = stated[0].tables[0]
    names = [str(line.cells[0]) for line in table.lines]
    assert names[:400] == [f"D{number}" for number in range(DESIGNS, DESIGNS - 400, -1)]
    assert names[400:402] == ["400 more", "D100"]
    assert names[-2:] == ["D1", "Total"]
    at = [column.heading for column in table.columns].index("Sales")
    assert table.lines[400].cells[at] == D(sum(range(101, 501)))
    assert table.lines[-1].cells[at] == D(sum(range(1, DESIGNS + 1)))
    assert table.more.startswith("400 lines between the first 400 and the last 100")
    assert all(each.holds for each in stated)


def test_page_of_many_designs_is_no_longer_than_that(stated: list[Statement]) -> None:
    tables = [table for each in stated for table in each.tables]
    assert max(len(own_lines(table)) for table in tables) == 501
    sources = [len(line.sources) for table in tables for line in table.lines]
    assert sum(sources) <= MOST_OF_A_PAGE
    text = page(stated, "Reports", "Books", TODAY)
    # Of 5,000 designs it is as long.
    assert len(text) < 4_000_000
    assert text.count(" stand together in one; the CSV file") > 4
    # Long tables open when they are asked for, and say how long they are.
    assert "<summary>Profit per design, all dates, in USD: 502 lines</summary>" in text
    assert text.count('<details class="fold">') == sum(
        bool(table.folded or len(table.lines) > MOST_OPEN) for table in tables
    )
    assert "This page has room for what is behind" in text

"""What is behind a figure adds up to it, and stands where it is said to stand."""

from __future__ import annotations

import datetime
from collections import defaultdict
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports import sources as sources_module
from offcut.reports import trend_by_name, trend_sources, years_sources
from offcut.reports.allocation import RULES, Rule
from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.drawing.page_length import within
from offcut.reports.ledger_file import load_ledger
from offcut.reports.order_table import in_period
from offcut.reports.outlets import fairs_table
from offcut.reports.period import Period
from offcut.reports.profit import ALL_GROUPINGS, profit_of
from offcut.reports.profit_sources import profit_sources
from offcut.reports.profit_statement import profit_statement
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.sources import behind
from offcut.reports.statement import Line, Source, Statement, Table
from offcut.reports.trend import GROUPINGS
from offcut.reports.trend_statement import trend_statement
from offcut.reports.years_statement import years_statement
from tests.reports.test_random_ledgers import ledgers, load, periods

D = Decimal
# An order may have nothing in a period but its part of what its fair cost.
SUMS = tuple(
    f"{what}-per-{grouping}"
    for what in ("profit", "unallocated")
    for grouping in ALL_GROUPINGS
    if grouping != "order"
)
OVER_TIME = ("trend", "years", "fairs")
# How many transactions are told, in each kind of table.
MOST = (
    (trend_by_name, "MOST_OF_A_YEAR"),
    (trend_by_name, "MOST_OVER_TIME"),
    (trend_sources, "MOST_OF_A_MONTH"),
    (years_sources, "MOST_OF_A_LINE"),
    (fairs_table, "MOST_OF_A_FAIR"),
)
FOLDER = Path("/books")
ALL: tuple[Period, str, Rule] = (Period(), "USD", "value")
TODAY = datetime.date(2026, 1, 31)
LEDGER = """
option "operating_currency" "USD"
option "title" "Books"
plugin "offcut.plugins"
include "imports/*.beancount"
2025-01-01 commodity HERON
  name: "Heron sticker"
  stock: "product"
  design: "Heron"
2025-01-01 open Assets:Cash
2025-01-01 open Assets:Receivable:Shops
2025-01-01 open Income:Sales:Web
2025-01-01 open Expenses:Postage
2025-01-01 open Expenses:Events:Table

2025-01-02 * "Printer" "First lot"
  Assets:Stock:HERON  100 HERON {0.25 USD}
  Assets:Cash
"""
MARCH = """
2025-03-01 * "Reed Books" "Invoice" ^order-7
  Assets:Receivable:Shops  8.00 USD
  Income:Sales:Web  -8.00 USD
    item: "HERON"
    quantity: 2

2025-03-04 * "Label" ^order-7
  Expenses:Postage  1.10 USD
  Assets:Cash

2025-03-05 * "Table"
  Expenses:Events:Table  30.00 USD
  Assets:Cash
"""


@pytest.fixture
def books(tmp_path: Path) -> Books:
    """A ledger of two files."""
    (tmp_path / "imports").mkdir()
    (tmp_path / "imports" / "march.beancount").write_text(MARCH, encoding="utf-8")
    main = tmp_path / "main.beancount"
    main.write_text(LEDGER, encoding="utf-8")
    ledger = load_ledger(main)
    assert not ledger.errors, ledger.errors
    return Books(ledger.entries, ledger.options, ledger.errors, main)


def statements(books: Books, period: Period, currency: str, rule: Rule) -> list[Statement]:
    reports = profit_of(books, period, currency, ALL_GROUPINGS, rule)
    found = profit_sources(books, reports)
    return [
        *(profit_statement(reports, each, True, None, found) for each in ALL_GROUPINGS),
        channels_statement(books, period, currency, TODAY),
    ]


def over_time(books: Books, period: Period, currency: str) -> list[Statement]:
    return [
        *(trend_statement(books, period, currency, each, TODAY) for each in GROUPINGS),
        years_statement(books, period, currency, TODAY),
    ]


def tables_of(stated: list[Statement]) -> list[Table]:
    return [table for each in stated for table in each.tables]


def check_sums(table: Table, line: Line) -> None:
    """Check that sources add up to their line wherever they say anything."""
    for at, column in enumerate(table.columns):
        told = [
            cell for each in line.sources if isinstance(cell := each.cells[at], Decimal)
        ]
        if told:
            assert column.adds_up
            assert sum(told) == line.cells[at], (table.title, line.cells[0], column.heading)


def has_sums(table: Table, line: Line) -> bool:
    """Tell whether a line that is no sum of others has anything that adds up."""
    cells = zip(line.cells, table.columns, strict=True)
    is_any = any(isinstance(cell, Decimal) and cell for cell, of in cells if of.adds_up)
    return line.role in ("line", "part") and is_any


@settings(max_examples=60, deadline=None)
@given(ledgers(), periods(), st.sampled_from(RULES), st.sampled_from([1, 2, 30]))
def test_sources_add_up_to_their_line(
    text: str, period: Period, rule: Rule, most: int
) -> None:
    entries, options = load(text)
    books = Books(entries, options)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(sources_module, "MOST_OF_A_LINE", most)
        stated = statements(books, period, "USD", rule)
    for table in tables_of(stated):
        for line in table.lines:
            check_sums(table, line)
            if line.role in ("line", "part") and table.slug.startswith(SUMS):
                assert line.sources
            if table.slug.startswith(SUMS):
                # One left out is told as the rest.
                assert len(line.sources) <= most + 1


@settings(max_examples=30, deadline=None)
@given(ledgers(), periods(), st.sampled_from([1, 2]))
def test_sources_over_time_add_up_to_their_line(
    text: str, period: Period, most: int
) -> None:
    entries, options = load(text)
    books = Books(entries, options)
    with pytest.MonkeyPatch.context() as patched:
        for module, name in MOST:
            patched.setattr(module, name, most)
        fairs = channels_statement(books, period, "USD", TODAY).tables
        tables = [*tables_of(over_time(books, period, "USD")), *fairs]
    for table in tables:
        for line in table.lines:
            check_sums(table, line)
            if table.slug.startswith(OVER_TIME) and has_sums(table, line):
                assert line.sources


@settings(max_examples=60, deadline=None)
@given(ledgers(), periods(), st.sampled_from(RULES), st.sampled_from([1, 2, 30]))
def test_each_source_is_what_its_transaction_gives(
    text: str, period: Period, rule: Rule, most: int
) -> None:
    """Summed up here row by row, apart from how offcut groups rows."""
    entries, options = load(text)
    books = Books(entries, options)
    table = books.allocated(rule)
    rows = in_period(table[table["currency"] == "USD"], period)
    sums: dict[str, dict[tuple[str, int, str], Decimal]] = defaultdict(dict)
    for row in rows.itertuples():
        if not row.channel:
            continue
        key = (row.file, row.line, row.order)
        # Whatever comes later in the table stands later here.
        before = sums[row.channel].pop(key, D(0))
        sums[row.channel][key] = before + row.contribution
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(sources_module, "MOST_OF_A_LINE", most)
        stated = statements(books, period, "USD", rule)
    shown = next(each for each in tables_of(stated) if each.slug == "profit-per-channel")
    at = [column.heading for column in shown.columns].index("Contribution")
    for line in shown.lines:
        if line.role != "line":
            continue
        latest = list(reversed(sums[str(line.cells[0])].items()))
        told = [each for each in line.sources if each.covers == 1][:most]
        assert [(each.place, each.cells[at]) for each in told] == [
            (f"{file}:{number}", amount) for (file, number, _), amount in latest[:most]
        ]
        if len(latest) > most:
            rest = line.sources[-1]
            assert rest.covers == len(latest) - most
            assert rest.cells[at] == sum(amount for _, amount in latest[most:])
        else:
            assert len(line.sources) == len(latest)


def test_sources_stand_where_they_say(books: Books) -> None:
    stated = statements(books, Period(), "USD", "value")
    tables = {table.slug: table for table in tables_of(stated)}
    design = tables["profit-per-design"].lines[0]
    assert [(each.cells[0], each.place) for each in design.sources] == [
        ("2025-03-04 order 7", "imports/march.beancount:8"),
        ("2025-03-01 order 7", "imports/march.beancount:2"),
    ]
    assert [each.cells[-2] for each in design.sources] == [D("-1.10"), D("7.50")]
    loose = tables["unallocated-per-design"].lines[0]
    assert [(each.cells, each.place) for each in loose.sources] == [
        (
            ("2025-03-05 Expenses:Events:Table", D("-30.00")),
            "imports/march.beancount:12",
        )
    ]
    owed = tables["receivables"].lines[0]
    assert [each.place for each in owed.sources] == ["imports/march.beancount:3"]


def test_sources_of_months_and_years_stand_where_they_say(books: Books) -> None:
    tables = {table.slug: table for table in tables_of(over_time(books, Period(), "USD"))}
    march = tables["trend"].lines[0]
    assert [(each.cells[0], each.place) for each in march.sources] == [
        ("2025-03-05 Expenses:Events:Table", "imports/march.beancount:12"),
        ("2025-03-04 order 7", "imports/march.beancount:8"),
        ("2025-03-01 order 7", "imports/march.beancount:2"),
    ]
    postage = next(line for line in tables["years"].lines if line.cells[0] == "Postage")
    assert [(each.cells[1], each.place) for each in postage.sources] == [
        (D("-1.10"), "imports/march.beancount:8")
    ]
    sold = {table.slug: table for table in tables_of(statements(books, *ALL))}
    buyer = sold["buyers-on-invoice"].lines[0]
    assert [each.place for each in buyer.sources] == [
        *("imports/march.beancount:8", "imports/march.beancount:2"),
    ]


def test_lots_name_their_receipt(books: Books) -> None:
    tables = tables_of([shelf_statement(books, Period(), "USD")])
    lots = next(table for table in tables if table.slug == "shelf-lots")
    assert [(each.cells[0], each.place) for each in lots.lines[0].sources] == [
        ("2025-01-02 Printer First lot: 100 came", "main.beancount:17")
    ]


def test_the_rest_says_how_to_be_seen() -> None:
    text = (
        '2025-01-01 commodity HERON\n  stock: "product"\n  design: "Heron\'s rest"\n'
        "2025-01-01 open Assets:Cash\n2025-01-01 open Income:Sales:Web\n"
    )
    for day in range(1, 29):
        for month in (2, 3):
            text += (
                f'2025-{month:02}-{day:02} * "Order"\n  Income:Sales:Web  -2.00 USD\n'
                '    item: "HERON"\n    quantity: 1\n  Assets:Cash\n'
            )
    entries, errors, options = loader.load_string(text)
    assert not errors
    stated = statements(Books(entries, options), Period(), "USD", "value")
    tables = {table.slug: table for table in tables_of(stated)}
    line = tables["profit-per-design"].lines[0]
    assert len(line.sources) == 31
    assert line.sources[-1].cells[:2] == ("and 26 earlier", D(26))
    command = "offcut trace 'Heron'\"'\"'s rest 2025-02', and months before"
    assert line.sources[-1].place == command
    channel = tables["profit-per-channel"].lines[0].sources[-1]
    assert "profit-per-order.csv" in channel.place


@settings(max_examples=30, deadline=None)
@given(ledgers(), st.integers(0, 60))
def test_a_page_has_no_more_than_its_share(text: str, most: int) -> None:
    entries, options = load(text)
    before = statements(Books(entries, options), Period(), "USD", "value")
    after = within(before, most)
    count = 0
    for old, new in zip(tables_of(before), tables_of(after), strict=True):
        for was, line in zip(old.lines, new.lines, strict=True):
            count += len(line.sources)
            check_sums(new, line)
            assert line._replace(sources=()) == was._replace(sources=())
            if line.sources:
                covered = sum(each.covers for each in line.sources)
                assert covered == sum(each.covers for each in was.sources)
    assert count <= most


def test_nothing_is_taken_away_where_there_is_room() -> None:
    lines = (Line(("a", D(1)), sources=(Source(("b", D(1)), "x:1"),)),)
    stated = [Statement("t", "p", (Table("t", (), lines, "t"),))]
    assert within(stated, 1) == stated


def test_no_rows() -> None:
    entries, errors, options = loader.load_string("")
    assert not errors
    table = Books(entries, options).table
    found = behind(table, table["channel"], FOLDER)
    assert found.transactions == [] and found.figures == {} and found.left_out == {}

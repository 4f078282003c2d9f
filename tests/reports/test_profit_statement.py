"""Profit statements: their tables, what is listed and what summed up, what they say."""

from __future__ import annotations

import io
import re
from decimal import Decimal
from typing import Any

import pytest
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.allocation import RULES
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.period import Period
from offcut.reports.profit import ALL_GROUPINGS, ProfitReports, profit_reports
from offcut.reports.profit_lines import Grouping
from offcut.reports.profit_statement import profit_statement
from offcut.reports.statement import Statement, Table

D = Decimal
HEAD = """
    option "operating_currency" "USD"
    2025-01-01 commodity HERON
      name: "Heron at Dusk"
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Discounts:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Income:Shipping:Web
    2025-01-01 open Expenses:Fees:Card
    2025-01-01 open Expenses:Postage
    2025-01-01 open Expenses:Packaging
    2025-01-01 open Expenses:COGS
    2025-01-01 open Expenses:Marketing:Giveaways
    2025-01-01 open Expenses:Marketing:Advertising
    2025-01-01 open Expenses:Spoilage:HERON
    2025-01-01 open Expenses:Office
    2025-01-01 open Income:Tips:Web
"""
ONE_OF_EACH = """
    2025-03-01 * "Order" ^order-1
      Income:Sales:Web  -100.00 USD
        item: "HERON"
        quantity: 20
      Income:Discounts:Web  10.00 USD
      Income:Refunds:Web  5.00 USD
      Income:Shipping:Web  -4.00 USD
      Expenses:Fees:Card  3.00 USD
      Expenses:Postage  2.50 USD
      Expenses:Packaging  1.50 USD
      Expenses:COGS  20.00 USD
      Expenses:Marketing:Giveaways  0.75 USD
      Income:Tips:Web  -1.00 USD
      Assets:Cash
    2025-03-02 * "Advertising"
      channel: "Web"
      Expenses:Marketing:Advertising  6.00 USD
      Assets:Cash
    2025-03-03 * "Misprint"
      Expenses:Spoilage:HERON  2.25 USD
      Assets:Cash
    2025-03-04 * "Paper knife"
      Expenses:Office  7.00 USD
      Assets:Cash
"""


def reports_of(ledger: Any, **options: Any) -> ProfitReports:
    return profit_reports(
        *(ledger.entries, ledger.options, Period()),
        **{"groupings": ALL_GROUPINGS, **options},
    )


def orders(count: int) -> str:
    """Return so many orders, of 1.00, 2.00 and so on, a day after another."""
    return "".join(
        f"""
    2025-{1 + number // 28:02}-{1 + number % 28:02} * "Order" ^order-W{number}
      Income:Sales:Web  -{number + 1}.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
"""
        for number in range(count)
    )


def cells(table: Table, name: str) -> dict[str, Any]:
    """Return the cells of a line by their headings."""
    (line,) = [line for line in table.lines if line.cells[0] == name]
    headings = [column.heading for column in table.columns]
    return dict(zip(headings, line.cells, strict=True))


def notes(statement: Statement) -> str:
    return " ".join(note.text for note in statement.notes)


def printed(statement: Statement, width: int = 80) -> list[str]:
    output = io.StringIO()
    print_statements(Console(file=output, width=width), [statement])
    return [line.rstrip() for line in output.getvalue().splitlines()]


def test_detail_has_every_kind_by_itself(load: Any) -> None:
    reports = reports_of(load(HEAD + ONE_OF_EACH))
    statement = profit_statement(reports, "design", detail=True)
    main, detail, unallocated = statement.tables
    assert cells(detail, "Heron at Dusk") == {
        "Design": "Heron at Dusk",
        "Units": D(20),
        "Gross sales": D(100),
        "Discounts": D(-10),
        "Refunds": D(-5),
        "Shipping": D(4),
        "Fees": D(-3),
        "Postage": D("-2.50"),
        "Packaging": D("-1.50"),
        "Goods": D(-20),
        "Giveaways": D("-0.75"),
        "Spoilage": D("-2.25"),
        "Selling": D(-6),
        "Other": D(1),
        "Contribution": D(54),
        "Margin": D(54) / D(89),
        "A piece": D("2.7"),
        "Hours": None,
        "An hour": None,
    }
    # As before, the table in front has some of these together.
    some = cells(main, "Heron at Dusk")
    assert (some["Sales"], some["Post, pack"], some["Other"]) == (85, -4, -8)
    assert (some["Carriage"], some["Charges"]) == (0, -11)
    assert cells(unallocated, "Expenses:Office") == {
        "Account": "Expenses:Office",
        "Amount": D(-7),
    }
    assert profit_statement(reports, "design").tables == (main, unallocated)


@pytest.mark.parametrize("grouping", ALL_GROUPINGS)
@pytest.mark.parametrize("rule", RULES)
def test_sums_of_every_table_add_up(load: Any, grouping: Grouping, rule: str) -> None:
    reports = reports_of(load(HEAD + ONE_OF_EACH + orders(5)), rule=rule)
    statement = profit_statement(reports, grouping, True, 3)
    for table in statement.tables:
        for line in table.lines:
            for at, column in enumerate(table.columns):
                if line.sums and column.adds_up:
                    parts = [table.lines[each].cells[at] for each in line.sums]
                    assert sum(parts) == line.cells[at]
        amounts = ("Sales", "Shipping", "Fees", "Post, pack", "Goods", "Other")
        if table is statement.tables[0]:
            total = cells(table, "Total")
            assert sum(total[name] for name in amounts) == total["Contribution"] == 62
    assert statement.holds
    assert "All rows add up to 62.00 USD" in statement.checks[0].sentence


def test_orders_stand_by_date_the_earlier_ones_in_one_line(load: Any) -> None:
    reports = reports_of(load(HEAD + orders(50)))
    statement = profit_statement(reports, "order", most_orders=40)
    lines = statement.tables[0].lines
    assert lines[0].cells[:3] == ("10 earlier", None, "")
    # 1.00 to 10.00 together.
    assert cells(statement.tables[0], "10 earlier")["Contribution"] == D(55)
    numbers = [line.cells[0] for line in lines[1:-1]]
    assert numbers == [f"W{number}" for number in range(10, 50)]
    assert (lines[1].cells[1].isoformat(), lines[1].code) == ("2025-01-11", "^order-W10")
    assert cells(statement.tables[0], "Total")["Contribution"] == D(1275)
    assert "Of 50 orders the latest 40 are listed" in notes(statement)

    whole = profit_statement(reports, "order", most_orders=None)
    assert len(whole.tables[0].lines) == 51
    assert "are listed" not in notes(whole)


def test_one_order_alone_is_not_summed_up(load: Any) -> None:
    reports = reports_of(load(HEAD + orders(41)))
    lines = profit_statement(reports, "order", most_orders=40).tables[0].lines
    assert [line.cells[0] for line in lines[:2]] == ["W0", "W1"]


def test_orders_of_two_channels_with_one_number(load: Any) -> None:
    other = """
    2025-01-01 open Income:Sales:Market
    2025-01-05 * "Order" ^order-W0
      Income:Sales:Market  -7.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
"""
    report = reports_of(load(HEAD + orders(1) + other)).reports["order"]
    found = [(line.name, line.channel, line.figures.sales) for line in report.lines]
    assert found == [("W0", "Web", D(1)), ("W0", "Market", D(7))]


def test_an_order_bears_its_part_of_what_its_channel_cost(load: Any) -> None:
    cost = """
    2025-01-20 * "Charge of January"
      channel: "Web"
      Expenses:Marketing:Advertising  1.00 USD
      Assets:Cash
"""
    report = reports_of(load(HEAD + orders(3) + cost)).reports["order"]
    # 1.00 over 1.00, 2.00 and 3.00: 0.1666…, 0.3333…, 0.50.
    selling = [line.figures.selling for line in report.lines]
    assert selling == [D("-0.17"), D("-0.33"), D("-0.50")]
    assert report.unallocated == ()


def test_the_rule_is_said_and_how_to_have_another(load: Any) -> None:
    ledger = load(HEAD + ONE_OF_EACH)
    for rule, words, others in (
        ("value", "over them by sales value, to", "--allocate units or --allocate weight"),
        ("units", "by pieces (discounts and refunds by sales value)", "--allocate value"),
        ("weight", "by weight (discounts and refunds by sales value)", "--allocate units"),
    ):
        reports = reports_of(ledger, rule=rule)
        for grouping in ALL_GROUPINGS:
            said = notes(profit_statement(reports, grouping))
            assert words in said and others in said
    assert "No weight is known of HERON: " in said
    assert "`weight: 12`" in said
    assert "No weight" not in notes(profit_statement(reports_of(ledger), "design"))


def test_how_to_record_hours_is_said(load: Any) -> None:
    reports = reports_of(load(HEAD + ONE_OF_EACH))
    said = notes(profit_statement(reports, "design", detail=True))
    assert "Hours are blank since no print run says how long it took" in said
    assert "`minutes: 95`" in said


def test_very_many_products_without_a_weight_are_not_all_named(load: Any) -> None:
    sold = "".join(
        f"""
    2025-01-01 * "Order"
      Income:Sales:Web  -1.00 USD
        item: "D{number}"
        quantity: 1
      Assets:Cash
"""
        for number in range(10, 30)
    )
    reports = reports_of(load(HEAD + sold), rule="weight")
    said = notes(profit_statement(reports, "product"))
    assert "of D10, D11, D12, D13, D14, D15 and 14 more: " in said


@pytest.mark.parametrize("grouping", ALL_GROUPINGS)
@pytest.mark.parametrize("width", [80, 100, 250])
def test_detail_fits_any_terminal(load: Any, grouping: Grouping, width: int) -> None:
    fair = """
    2025-04-01 * "Fair" #event-harbour-fair-2025
      Income:Sales:Web  -20.00 USD
        item: "HERON"
        quantity: 4
      Assets:Cash
"""
    reports = reports_of(load(HEAD + ONE_OF_EACH + orders(30) + fair))
    statement = profit_statement(reports, grouping, detail=True)
    lines = printed(statement, width)
    assert max(map(cell_len, lines)) <= width
    heading = statement.tables[1].columns[0].heading
    bands = [line.split() for line in lines if re.match(f"{heading} ", line)]
    # The first is of the other table; each band begins with the names again.
    words = [word for band in bands[1:] for word in band[1:]]
    for column in statement.tables[1].columns:
        if column.shown == "always" and column.heading != heading:
            assert set(column.heading.split()) <= set(words)
    assert (len(bands) == 2) == (width == 250)


def test_products_go_by_their_commodity_on_a_narrow_terminal(load: Any) -> None:
    statement = profit_statement(reports_of(load(HEAD + ONE_OF_EACH)), "product")
    assert any(line.startswith("HERON ") for line in printed(statement))
    assert any(line.startswith("Heron at Dusk ") for line in printed(statement, 200))


@pytest.mark.parametrize("text", ["", orders(1)])
def test_every_grouping_of_next_to_nothing(load: Any, text: str) -> None:
    reports = reports_of(load(HEAD + text))
    for grouping in ALL_GROUPINGS:
        statement = profit_statement(reports, grouping, detail=True)
        assert statement.holds
        assert printed(statement)[0].startswith(f"Profit per {grouping}, all dates")

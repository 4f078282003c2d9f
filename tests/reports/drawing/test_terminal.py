"""Reports on a terminal: at 80 columns nothing wraps and no number is cut."""

from __future__ import annotations

import dataclasses
import io
import re
from decimal import Decimal

import pytest
from beancount import loader
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.drawing.terminal import print_statements
from offcut.reports.net_income import Tie
from offcut.reports.period import Period
from offcut.reports.profit import GROUPINGS, Grouping, ProfitReports, profit_reports
from offcut.reports.profit_statement import profit_statement
from offcut.reports.statement_cells import cell_text

D = Decimal


def printed(
    reports: ProfitReports,
    width: int = 80,
    groupings: tuple[Grouping, ...] = GROUPINGS,
    **console: object,
) -> str:
    output = io.StringIO()
    statements = [profit_statement(reports, grouping) for grouping in groupings]
    print_statements(Console(file=output, width=width, **console), statements)
    return output.getvalue()


def one_sale(amount: str) -> ProfitReports:
    entries, errors, options = loader.load_string(
        'option "operating_currency" "USD"\n'
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Income:Sales:Web\n"
        "2025-01-01 open Expenses:Fees:Card\n"
        '2025-03-01 * "Order"\n'
        f'  Income:Sales:Web  -{amount} USD\n    item: "HERON"\n    quantity: 1\n'
        f"  Expenses:Fees:Card  {amount} USD\n"
    )
    assert not errors
    return profit_reports(entries, options, Period())


def test_single_sale_in_full() -> None:
    lines = printed(one_sale("4.00"), groupings=("design",)).splitlines()
    assert [line.rstrip() for line in lines[:8]] == [
        "Profit per design, all dates, in USD",
        "",
        "Design Units Sales Carriage Charges Goods Contribution Margin",
        "─────────────────────────────────────────────────────────────",
        "HERON      1  4.00     0.00   -4.00  0.00         0.00     0%",
        "─────────────────────────────────────────────────────────────",
        "Total      1  4.00     0.00   -4.00  0.00         0.00     0%",
        "",
    ]
    assert "All rows add up to 0.00 USD" in " ".join(lines)


def test_no_line_is_longer_than_the_terminal(shop_reports: ProfitReports) -> None:
    lines = printed(shop_reports).splitlines()
    assert max(map(cell_len, lines)) <= 80


@pytest.mark.parametrize("width", [80, 100, 132, 200])
def test_every_figure_is_printed_whole(shop_reports: ProfitReports, width: int) -> None:
    words = printed(shop_reports, width).split()
    for grouping in GROUPINGS:
        table = profit_statement(shop_reports, grouping).tables[0]
        shown = table.shown_columns(narrow=width < 110)[1:]
        for line in table.lines:
            for at in shown:
                text = cell_text(line.cells[at], table.columns[at], "USD")
                assert text in words or not text


def test_figures_stand_in_columns(shop_reports: ProfitReports) -> None:
    lines = printed(shop_reports, groupings=("design",)).splitlines()
    heading = next(at for at, line in enumerate(lines) if line.startswith("Design"))
    total = next(at for at, line in enumerate(lines) if line.startswith("Total"))
    figures = [line for line in lines[heading : total + 1] if "Unallocated" not in line]
    assert len({cell_len(line.rstrip()) for line in figures}) == 1


def test_narrow_columns_add_up_to_the_contribution(shop_reports: ProfitReports) -> None:
    total = shop_reports.reports["design"].total
    parts = total.sales + total.carriage + total.charges + total.goods
    assert parts == total.contribution


def test_long_name_is_shortened(shop_reports: ProfitReports) -> None:
    text = printed(shop_reports)
    assert re.search(r"^A design whose [a-z ]*… ", text, re.MULTILINE)
    assert "…" not in printed(shop_reports, 200)


def test_wide_terminal_has_one_line_each(shop_reports: ProfitReports) -> None:
    text = printed(shop_reports, 140, groupings=("channel",))
    (heading,) = (line for line in text.splitlines() if line.startswith("Channel"))
    assert heading.split("  ")[0] == "Channel"
    assert all(
        name in heading
        for name in ("Units", "Sales", "Shipping", "Fees", "Post, pack", "Goods", "Other")
    )


def test_numbers_too_long_for_any_terminal_are_not_cut() -> None:
    text = printed(one_sale("123456789012345678901.00"))
    assert "123,456,789,012,345,678,901.00" in text
    assert "-123,456,789,012,345,678,901.00" in text


def test_products_stand_below_their_design(shop_reports: ProfitReports) -> None:
    lines = printed(shop_reports, 140, groupings=("design",)).splitlines()
    at = next(at for at, line in enumerate(lines) if line.startswith("Heron at Dusk"))
    assert lines[at + 1].startswith("  HERON-PRT ")
    assert lines[at + 2].startswith("  HERON-STK ")


def test_tie_and_unallocated(shop_reports: ProfitReports, net_income_text: str) -> None:
    text = printed(shop_reports)
    sentence = f"All rows add up to {net_income_text} USD"
    assert text.count(sentence) == 2
    assert "Unallocated: belongs to no design, in USD\n" in text
    assert "\nExpenses:Software  -9.00\n" in text
    assert "the ledger has 1.25 EUR of net income" in " ".join(text.split())


def test_broken_tie_is_said(shop_reports: ProfitReports) -> None:
    report = shop_reports.reports["design"]
    broken = dataclasses.replace(report, tie=Tie(D(1), D(2), "USD"))
    reports = dataclasses.replace(shop_reports, reports={"design": broken})
    assert "THIS REPORT DOES NOT ADD UP" in printed(reports, groupings=("design",))


def test_rounding_is_said_only_where_it_shows(shop_reports: ProfitReports) -> None:
    assert "rounded by itself" not in printed(one_sale("4.00"))
    entries, errors, options = loader.load_string(
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Expenses:A\n"
        "2025-01-01 open Expenses:B\n"
        '2025-03-01 * "Halves"\n'
        "  Expenses:A  0.004 USD\n  Expenses:B  0.004 USD\n  Assets:Cash\n"
    )
    assert not errors
    assert "rounded by itself" in printed(profit_reports(entries, options, Period()))


def test_nothing_in_the_period() -> None:
    text = printed(profit_reports([], loader.load_string("")[2], Period()))
    assert text.count("No income and no costs on these days.") == 2


def test_no_colour_where_it_is_not_wanted(
    shop_reports: ProfitReports, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "\x1b[31m" in printed(shop_reports, force_terminal=True)
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[31m" not in printed(shop_reports, force_terminal=True)
    assert "\x1b" not in printed(shop_reports)


def test_names_cannot_move_the_cursor() -> None:
    entries, errors, options = loader.load_string(
        "2025-01-01 commodity HERON\n"
        '  name: "\x1b[2J[red]Heron[/red]\u202e"\n  stock: "product"\n'
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Income:Sales:Web\n"
        '2025-03-01 * "Order"\n'
        '  Income:Sales:Web  -4.00 USD\n    item: "HERON"\n    quantity: 1\n'
        "  Assets:Cash\n"
    )
    assert not errors
    text = printed(profit_reports(entries, options, Period()))
    assert "�[2J[red]Heron[/red]�" in text
    assert "\x1b" not in text

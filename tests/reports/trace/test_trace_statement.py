"""A trace on a terminal and in files: every step at its place, none of it cut off."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from beancount.core.amount import Amount
from click.testing import CliRunner
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.command import main
from offcut.reports.drawing.table_csv import table_csv
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.order_table import order_table
from offcut.reports.trace.index import TraceIndex
from offcut.reports.trace.nodes import Node
from offcut.reports.trace.tracing import trace
from offcut.reports.trace_statement import trace_statement
from tests.conftest import Loaded
from tests.reports.trace.test_tracing import SHOP

D = Decimal
DAY = datetime.date(2025, 3, 4)


def node(what: str, money: str = "", *parts: Node, note: str = "", line: int = 1) -> Node:
    amounts = (Amount(D(money), "USD"),) if money else ()
    return Node(what, DAY, "/books/a.beancount", line, None, amounts, note, parts)


@pytest.fixture
def shop_file(tmp_path: Path) -> Path:
    path = tmp_path / "main.beancount"
    path.write_text(SHOP, encoding="utf-8")
    return path


def printed(root: Node, width: int, depth: int | None = None) -> list[str]:
    output = io.StringIO()
    statement = trace_statement(root, Path("/books/main.beancount"), depth)
    print_statements(Console(file=output, width=width), [statement])
    return output.getvalue().splitlines()


@pytest.fixture
def heron(load: Callable[[str], Loaded]) -> Node:
    ledger = load(SHOP)
    index = TraceIndex(ledger.entries, ledger.options)
    return trace(
        "Heron at Dusk 2025-03", index, lambda: order_table(ledger.entries, ledger.options)
    )


def test_a_sale_leads_to_the_line_of_its_vinyl(shop_file: Path) -> None:
    result = CliRunner(env={"COLUMNS": "80"}).invoke(
        main, ["trace", "Heron at Dusk 2025-03", str(shop_file)]
    )
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    sale, run, vinyl = (
        next(at for at, line in enumerate(lines) if text in line)
        for text in ("-2 HERON-STK, lot of 2025-02-03", "58 HERON-STK", "50 VINYL")
    )
    assert sale < run < vinyl
    bought = SHOP.splitlines().index("  Assets:Materials:VINYL  50 VINYL {0.40 USD}") + 1
    assert lines[vinyl].rstrip().endswith(f" 20.00 main.beancount:{bought}")
    assert max(map(len, lines)) <= 80


def test_steps_of_a_month_come_to_it(heron: Node) -> None:
    (check,) = trace_statement(heron, Path("main.beancount")).checks
    assert check.holds
    assert check.sentence.startswith("The 2 orders and costs come to the figure: ")


def test_a_part_that_is_missing_is_told() -> None:
    part = node("Order 1", "3.00", note="contribution")
    root = node("Heron, March 2025", "5.00", part)
    statement = trace_statement(root, Path("main.beancount"))
    assert not statement.holds
    assert "DO NOT COME" in statement.checks[0].sentence
    assert "3.00 USD of 5.00 USD" in statement.checks[0].sentence


def test_depth_leaves_out_what_is_below(heron: Node) -> None:
    lines = printed(heron, 80, depth=1)
    assert sum("Order W" in line for line in lines) == 2
    assert not any("VINYL" in line for line in lines)
    statement = trace_statement(heron, Path("main.beancount"), 1)
    notes = [line.cells[-1] for line in statement.tables[0].lines[1:]]
    assert all(str(note).endswith("goes on below") for note in notes)


def test_what_was_told_is_not_told_again() -> None:
    vinyl = node("Vinyl", "20.00", node("Purchase", "20.00"))
    lines = printed(node("Order 1", "", vinyl, vinyl), 80)
    assert sum("Purchase" in line for line in lines) == 1
    assert sum("Vinyl, as above" in line for line in lines) == 1


def test_file_is_named_from_the_ledgers_folder_and_money_of_another_coin_is_kept() -> None:
    euro = Node(
        "Fee", DAY, "/books/imports/b.beancount", 7, None, (Amount(D("1.5"), "EUR"),)
    )
    statement = trace_statement(
        node("Order 1", "4.00", euro), Path("/books/main.beancount")
    )
    rows = list(csv.reader(io.StringIO(table_csv(statement.tables[0]))))
    fee = dict(zip(rows[0], rows[2], strict=True))
    assert fee["File and line"] == "imports/b.beancount:7"
    assert fee["Note"] == "1.50 EUR"
    assert fee["Amount"] == ""


@pytest.mark.parametrize("name", ["فراشة الليل", "夜の灯台と月の海", "Owl 🦉", "=1+1"])
def test_names_of_any_script_fit(name: str) -> None:
    lines = printed(node(name, "4.00", node(name * 9, "4.00")), 80)
    assert max(map(cell_len, lines)) <= 80
    assert sum("4.00" in line and "a.beancount:1" in line for line in lines) == 2


def test_words_that_name_nothing_are_refused_in_a_line(shop_file: Path) -> None:
    result = CliRunner().invoke(main, ["trace", "Heron at Dsk 2025-03", str(shop_file)])
    assert result.exit_code == 1
    assert result.stderr.count("\n") == 1
    assert "did you mean Heron at Dusk" in result.stderr

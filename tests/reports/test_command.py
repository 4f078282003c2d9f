"""The command `offcut`, from the outside."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len

from offcut.importers.problems import ImportRefused, Problem
from offcut.reports.command import main
from offcut.reports.net_income import Tie

START = "from offcut.reports.command import main; main(prog_name='offcut')"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.mark.parametrize(
    "command",
    [
        *([], ["import"], ["profit"], ["report"], ["inventory"], ["opening-stock"]),
        *(["layout"], ["items"], ["fair"], ["trace"], ["channels"], ["close"]),
        *(["shelf"], ["trend"], ["years"], ["plan"], ["tax"], ["year-end"], ["view"]),
        *(["new"], ["move-in"], ["month"], ["check"], ["guide"], ["completion"]),
    ],
)
def test_help_fits_a_terminal(command: list[str]) -> None:
    result = run(*command, "--help")
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    assert f"offcut {command[0] if command else 'import'} " in result.output


def test_help_names_the_exit_codes() -> None:
    output = run("--help").output
    for code in ("0  done", "1  not done", "2  not done", "3  done, but"):
        assert code in output


def test_version() -> None:
    assert run("--version").output == f"offcut {metadata.version('offcut')}\n"


def test_help_loads_nothing_slow() -> None:
    code = (
        "import sys, offcut.reports.command\n"
        "slow = {'pandas', 'beancount', 'matplotlib', 'rich', 'jinja2', 'babel'}\n"
        "assert not slow & set(sys.modules), slow & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_profit_prints_both_reports(shop_ledger: Path, net_income_text: str) -> None:
    result = run("profit", shop_ledger)
    assert result.exit_code == 0
    assert result.stderr == ""
    assert result.stdout.index("Profit per design") < result.stdout.index(
        "Profit per channel"
    )
    assert result.stdout.count(f"All rows add up to {net_income_text} USD") == 2


def test_profit_by_one_grouping_or_in_the_order_asked_for(shop_ledger: Path) -> None:
    assert "Profit per design" not in run("profit", shop_ledger, "--by", "channel").stdout
    both = run("profit", shop_ledger, "--by", "channel", "--by", "design").stdout
    assert both.index("Profit per channel") < both.index("Profit per design")


def test_profit_by_every_grouping_and_rule(shop_ledger: Path, net_income_text: str) -> None:
    groupings = ("design", "product", "channel", "event", "order")
    by = [word for grouping in groupings for word in ("--by", grouping)]
    for rule in ("value", "units", "weight"):
        result = run("profit", shop_ledger, *by, "--detail", "--all", "--allocate", rule)
        assert (result.exit_code, result.stderr) == (0, "")
        assert max(map(cell_len, result.stdout.splitlines())) <= 80
        assert result.stdout.count(f"All rows add up to {net_income_text} USD") == 5
        for grouping in groupings:
            assert f"Profit per {grouping} in detail" in result.stdout or (
                grouping == "event"
            )


def test_profit_allocated_by_what_is_no_rule(shop_ledger: Path) -> None:
    result = run("profit", shop_ledger, "--allocate", "size")
    assert result.exit_code == 2
    assert "'size' is not one of 'value', 'units', 'weight'" in result.stderr


def test_report_lists_all_orders_in_csv_files(shop_ledger: Path, tmp_path: Path) -> None:
    with shop_ledger.open("a") as file:
        for number in range(2, 503):
            file.write(
                f'2025-05-01 * "Order" ^order-{number}\n  Assets:Cash\n'
                '  Income:Sales:Web  -1.00 USD\n    item: "LONG"\n    quantity: 1\n'
            )
    page, figures = tmp_path / "all.html", tmp_path / "figures"
    result = run("report", shop_ledger, "--html", page, "--csv", figures)
    assert (result.exit_code, result.stderr) == (0, "")
    rows = (figures / "profit-per-order.csv").read_text(encoding="utf-8").splitlines()
    assert len([row for row in rows if row.startswith("line,")]) == 502
    assert "102 earlier" in page.read_text(encoding="utf-8")
    assert "profit-per-design-in-detail.csv" in os.listdir(figures)


def test_profit_of_a_period_and_a_currency(shop_ledger: Path) -> None:
    for options, income in (
        (("--month", "2025-03"), "732.62 USD"),
        (("--year", "2024"), "No income and no costs"),
        (("--from", "2025-03-02"), "1.45 USD"),
        (("--to", "2025-03-01"), "731.17 USD"),
        (("--currency", "EUR"), "1.25 EUR"),
    ):
        result = run("profit", shop_ledger, *options)
        assert result.exit_code == 0
        assert income in result.stdout


def test_pipe_that_does_not_know_every_letter(
    shop_ledger: Path, net_income_text: str
) -> None:
    result = subprocess.run(
        [sys.executable, "-c", START, "profit", str(shop_ledger)],
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert "????????" in result.stdout
    assert f"All rows add up to {net_income_text} USD" in result.stdout


def test_ledger_with_errors_is_reported_all_the_same(shop_ledger: Path) -> None:
    with shop_ledger.open("a") as file:
        file.write("2025-04-01 balance Assets:Cash  1.00 USD\n")
    line = len(shop_ledger.read_text(encoding="utf-8").splitlines())
    result = run("profit", shop_ledger)
    assert result.exit_code == 3
    assert result.stderr.startswith(
        f"{shop_ledger}:{line}: Balance failed for 'Assets:Cash'"
    )
    assert result.stderr.count("\n") == 1
    assert "Profit per channel" in result.stdout


def test_report_that_does_not_tie_is_told_by_the_exit_code(
    shop_ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Tie, "holds", property(lambda _: False))
    result = run("profit", shop_ledger)
    assert result.exit_code == 3
    assert "THIS REPORT DOES NOT ADD UP" in result.stdout
    result = run("report", shop_ledger, "--html", shop_ledger.with_name("report.html"))
    assert result.exit_code == 3
    assert result.stderr.startswith("THIS REPORT DOES NOT ADD UP")


@pytest.mark.parametrize("command", ["profit", "report"])
def test_unreadable_ledger_is_one_line(command: str, tmp_path: Path) -> None:
    target = tmp_path / "out.html"
    options = ["--html", target] if command == "report" else []
    for ledger in (tmp_path / "nope.beancount", tmp_path):
        result = run(command, ledger, *options)
        assert result.exit_code == 1
        assert result.stdout == ""
        assert result.stderr.startswith(f"Error: {ledger}: ")
        assert result.stderr.count("\n") == 1
    assert not target.exists()


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--year", "25"], "Error: --year: expected a year such as 2025, found '25'\n"),
        (
            ["--year", "2025", "--month", "2025-03"],
            "Error: Name the period in one way only: --year or --month\n",
        ),
    ],
)
def test_period_that_is_none(options: list[str], message: str, tmp_path: Path) -> None:
    result = run("profit", tmp_path / "unread.beancount", *options)
    assert result.exit_code == 2
    assert result.stderr.endswith(message)


def test_report_writes_the_page(shop_ledger: Path, tmp_path: Path) -> None:
    target = tmp_path / "2025.html"
    result = run("report", shop_ledger, "--html", target, "--year", "2025")
    assert (result.exit_code, result.stdout) == (0, f"Wrote {target}\n")
    assert "<h1>Reports, 2025</h1>" in target.read_text(encoding="utf-8")


def test_page_that_cannot_be_written(shop_ledger: Path, tmp_path: Path) -> None:
    for target in (tmp_path / "nope" / "report.html", tmp_path):
        result = run("report", shop_ledger, "--html", target)
        assert result.exit_code == 1
        assert result.stderr.startswith(f"Error: {target}: cannot be written: ")
        assert result.stderr.endswith("a folder that exists and is yours to write to\n")
        assert result.stderr.count("\n") == 1
    assert sorted(os.listdir(tmp_path)) == ["main.beancount"]


PAYMENTS = """\
Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference
2025-03-04,Sale,W1,Order W1,10.50,0.61,9.89,USD,ch_1
"""
ORDERS = """\
Order,Date,Item,Quantity,Unit price,Discount,Shipping,Sales tax,Currency
W1,2025-03-04,HERON-STK,2,4.00,0.00,2.50,0.00,USD
"""
BOOKS = """\
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 commodity HERON-STK
  stock: "product"
  design: "Heron"
2025-01-01 open Assets:Cash
2025-01-01 open Assets:Stock:HERON-STK
2025-01-02 * "Printed"
  Assets:Stock:HERON-STK  10 HERON-STK {0.41 USD}
  Assets:Cash
"""


@pytest.fixture
def month(tmp_path: Path) -> Path:
    """A folder with books and the files of a month."""
    (tmp_path / "payments.csv").write_text(PAYMENTS)
    (tmp_path / "orders.csv").write_text(ORDERS)
    (tmp_path / "main.beancount").write_text(BOOKS)
    return tmp_path


def import_month(folder: Path, *options: str) -> Result:
    return run(
        *("import", folder / "payments.csv", folder / "orders.csv"),
        *("--into", folder / "main.beancount", *options),
    )


def test_month_from_files_to_profit(month: Path) -> None:
    result = import_month(month)
    assert result.exit_code == 0, result.stderr
    assert "1 row = 1 booked + 0 already in the ledger + 0 left out" in result.stdout
    profit = run("profit", month / "main.beancount", "--by", "design")
    assert (profit.exit_code, profit.stderr) == (0, "")
    # 8.00 and 2.50 of shipping, less the fee 0.61 and two stickers at 0.41.
    assert "All rows add up to 9.07 USD" in profit.stdout
    assert "Heron " in profit.stdout

    before = {path: path.read_bytes() for path in month.rglob("*.beancount")}
    again = import_month(month)
    assert again.exit_code == 0
    assert "Nothing new" in again.stdout
    assert {path: path.read_bytes() for path in month.rglob("*.beancount")} == before


def test_dry_run_writes_nothing(month: Path) -> None:
    result = import_month(
        month, "--dry-run", "--layout", "card-payments", "--layout", "shop-orders"
    )
    assert result.exit_code == 0, result.stderr
    assert "Would write" in result.stdout
    assert sorted(os.listdir(month)) == ["main.beancount", "orders.csv", "payments.csv"]


def test_refused_import_is_a_line_for_each_problem(month: Path) -> None:
    (month / "payments.csv").write_text(PAYMENTS.replace("10.50", "x").replace("0.61", "y"))
    result = import_month(month)
    assert result.exit_code == 1
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert len(lines) == 2
    assert all(line.startswith("payments.csv: row 2, column ") for line in lines)
    assert sorted(os.listdir(month)) == ["main.beancount", "orders.csv", "payments.csv"]


def test_refusal_cannot_move_the_cursor(
    month: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise ImportRefused([Problem("a\x1b[2J.csv", 2, "Gross", "expected a number")])

    monkeypatch.setattr("offcut.importers.importing.import_files", refuse)
    result = import_month(month)
    assert result.exit_code == 1
    assert "\x1b" not in result.stderr


def test_what_changed_in_an_order_is_booked_where_the_user_says_it_is_newer(
    month: Path,
) -> None:
    import_month(month)
    orders = (month / "orders.csv").read_text()
    (month / "orders.csv").write_text(orders.replace(",2,4.00", ",3,4.00"))

    told = import_month(month)
    booked = import_month(month, "--newer")

    assert "Nothing new" in told.stdout
    assert "import it again with --newer" in " ".join(told.stdout.split())
    assert "the difference of 4.00 is booked" in " ".join(booked.stdout.split())


def test_import_needs_files() -> None:
    assert "Missing argument 'FILES...'" in run("import", "--into", "x").stderr


def test_the_ledger_of_the_folder_is_meant_where_none_is_named(
    shop_ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    named = run("profit", shop_ledger)
    monkeypatch.setenv("OFFCUT_LEDGER", str(shop_ledger))
    assert run("profit").output == named.output
    monkeypatch.delenv("OFFCUT_LEDGER")
    monkeypatch.chdir(shop_ledger.parent)
    shop_ledger.rename("main.beancount")
    assert run("profit").output.splitlines()[-1] == named.output.splitlines()[-1]

"""The commands of `offcut plan`, from the outside."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len

from offcut.reports.command import main

COMMANDS = ("wholesale", "make-or-order", "first-print", "next-print", "what-if", "fair")

LEDGER = """
option "title" "Prints & papers"
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 commodity HERON-STK
  name: "Heron at Dusk, sticker"
  stock: "product"
  design: "Heron at Dusk"
  list-price: 4.00 USD
2025-01-01 commodity POST
  stock: "product"
  list-price: 3.00 USD
2025-01-01 commodity ARABIC
  name: "فراشة الليل"
  stock: "product"
  design: "فراشة الليل"
  list-price: 4.00 USD
2025-01-01 commodity EMOJI
  stock: "product"
  design: "Owl 🦉👩🏽‍🎨 and a name that is longer than a column has room for"
  list-price: 4.00 USD
2025-01-01 commodity VINYL
  stock: "material"
2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Sales:Fair
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:Postage
2025-01-01 open Expenses:Events:TableFees
2025-01-02 * "Bought"
  Assets:Materials:VINYL  100 VINYL {0.60 USD}
  Assets:Stock:POST  20 POST {2.00 USD}
  Assets:Stock:ARABIC  20 ARABIC {0.50 USD}
  Assets:Stock:EMOJI  20 EMOJI {0.50 USD}
  Assets:Cash
2025-02-01 custom "print-run" 60 HERON-STK
  minutes: 60
2025-03-03 * "Web order" ^order-1
  Income:Sales:Web  -40.00 USD
    item: "HERON-STK"
    quantity: 10
  Income:Sales:Web  -8.00 USD
    item: "ARABIC"
    quantity: 2
  Income:Sales:Web  -8.00 USD
    item: "EMOJI"
    quantity: 2
  Expenses:Fees:Card  1.12 USD
  Expenses:Postage  1.50 USD
  Assets:Cash
2025-03-16 * "Fair" #event-quay
  Income:Sales:Fair  -60.00 USD
    item: "HERON-STK"
    quantity: 15
  Assets:Cash
2025-03-16 * "Table" #event-quay
  Expenses:Events:TableFees  27.00 USD
  Assets:Cash
"""
# Each command with what it needs, and something that it says.
ASKED = {
    "wholesale": ((), "Sold at 1.50 it costs 2.00: each piece loses 0.50"),
    "make-or-order": (("HERON-STK",), "Break-even: the cheaper way by quantity"),
    "first-print": (("HERON-STK",), "Good pieces to print"),
    "next-print": ((), "Working: the reorder point"),
    "what-if": ((), "Every design, before and after"),
    "fair": ((), "Sales that pay for it"),
}
OPTIONS = {
    "wholesale": (),
    "make-or-order": ("--pieces", "300", "--break", "250=0.42", "--break", "500=0.33"),
    "first-print": ("--following", "1200"),
    "next-print": (),
    "what-if": ("--price", "HERON-STK=4.50"),
    "fair": ("--event", "quay"),
}


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    path = tmp_path / "main.beancount"
    path.write_text(LEDGER, encoding="utf-8")
    return path


def plan(*arguments: str | Path) -> Result:
    env = {"COLUMNS": "80"}
    return CliRunner(env=env).invoke(main, ["plan", *map(str, arguments)])


def asked(command: str, ledger: Path, *more: str | Path) -> Result:
    return plan(command, *ASKED[command][0], ledger, *OPTIONS[command], *more)


@pytest.mark.parametrize("command", COMMANDS)
def test_help_fits_a_terminal_and_has_examples(command: str) -> None:
    result = plan(command, "--help")
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    assert f"  offcut plan {command} " in result.output


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_answers_within_80_columns(command: str, ledger: Path) -> None:
    for more in ((), ("--hour", "18")):
        if more and command in ("first-print", "what-if"):
            continue
        result = asked(command, ledger, *more)
        assert result.exit_code == 0, result.output
        assert result.stderr == ""
        assert ASKED[command][1] in result.stdout
        assert max(map(cell_len, result.stdout.splitlines())) <= 80


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_writes_files(command: str, ledger: Path, tmp_path: Path) -> None:
    targets = ("--html", tmp_path / "p.html", "--xlsx", tmp_path / "p.xlsx")
    result = asked(command, ledger, *targets, "--csv", tmp_path / "figures")
    assert result.exit_code == 0, result.output
    assert ASKED[command][1] in (tmp_path / "p.html").read_text(encoding="utf-8")
    assert (tmp_path / "p.xlsx").read_bytes().startswith(b"PK")
    files = sorted((tmp_path / "figures").iterdir())
    assert files
    for file in files:
        rows = list(csv.reader(file.open(encoding="utf-8", newline="")))
        assert len({len(row) for row in rows}) == 1
    assert result.stdout.count("Wrote ") == 3
    assert f"Wrote {len(files)} tables into" in result.stdout


@pytest.mark.parametrize("command", COMMANDS)
def test_ledger_of_the_folder(
    command: str, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger.parent)
    result = plan(command, *ASKED[command][0], *OPTIONS[command])
    assert result.exit_code == 0, result.output


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("wholesale", "--rate", "50"), "expected a share such as 50%"),
        (("wholesale", "--rate", "0%"), "expected a share such as 50%"),
        (("wholesale", "--hour", "18,50"), "expected a number such as 4.50, found '18,50'"),
        (("make-or-order", "HERON-STK"), "Missing option '--pieces'"),
        (("make-or-order", "HERON-STK", "--pieces", "3"), "Say what ordering costs"),
        (("make-or-order", "X", "--pieces", "2.5"), "expected a whole number such as 250"),
        (("make-or-order", "X", "--pieces", "3", "--break", "9"), "such as 250=0.42"),
        (("first-print", "HERON-STK"), "Say how many people follow you"),
        (("what-if",), "Say what changes"),
        (("what-if", "--postage", "0.20"), "expected a change such as +0.20"),
        (("what-if", "--fee", "2%"), "expected a change such as +10%"),
        (("fair",), "Name a fair that was"),
        (("fair", "--cost", "table"), "a name and a figure such as table=85.00"),
        (("fair", "--cost", "t=9", "--left", "60%"), "--left and --price go together"),
        (("next-print", "--break", "9=1"), "A quote is for one product"),
    ],
)
def test_command_line_that_is_not_understood(
    arguments: tuple[str, ...], words: str, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger.parent)
    result = plan(*arguments)
    assert result.exit_code == 2, result.output
    assert words in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (
            ("first-print", "HERN-STK", "--following", "9"),
            "Error: The ledger has no product HERN-STK; did you mean HERON-STK?",
        ),
        (
            ("wholesale", "--product", "VINYL"),
            "Error: VINYL is a material, and no product",
        ),
        (
            ("wholesale", "--channel", "Market"),
            "Error: Nothing was sold on a channel Market; there is: Fair, Web",
        ),
        (
            ("make-or-order", "POST", "--pieces", "3", "--break", "9=1"),
            'Error: POST has no bill of materials; write custom "bill-of-materials" 1 POST '
            "1 SHEET",
        ),
        (
            ("what-if", "--price", "POST=4"),
            "Error: POST was not sold on these days",
        ),
        (
            ("fair", "--event", "key"),
            "Error: Nothing in USD is tagged #event-key; there is: quay",
        ),
        (
            ("next-print", "--service", "100%"),
            "Error: The service level must lie between 0 and 1, such as 0.95 for 19 times "
            "out of 20; it is 1",
        ),
        (
            ("make-or-order", "HERON-STK", "--pieces", "3", "--break", "9=0"),
            "Error: The unit price from 9 pieces on must be more than zero, not 0",
        ),
    ],
)
def test_what_cannot_be_is_one_line(
    arguments: tuple[str, ...], line: str, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger.parent)
    result = plan(*arguments)
    assert result.exit_code == 1, result.output
    assert result.stderr == f"{line}\n"
    assert result.stdout == ""


def test_settings_hold_where_nothing_is_given(ledger: Path) -> None:
    (ledger.parent / "offcut.toml").write_text(
        '[plan]\nhour = 30.00\nfollowing = 5000\nwholesale = "40%"\n', encoding="utf-8"
    )
    result = plan("wholesale", ledger)
    assert "offcut.toml" in result.stdout
    # A minute a piece, at 30.00 an hour.
    assert "0.50" in result.stdout
    assert plan("first-print", "POST", ledger).exit_code == 0
    given = plan("wholesale", ledger, "--rate", "50%", "--hour", "6")
    assert "offcut.toml" not in given.stdout


def test_settings_with_a_mistake(ledger: Path) -> None:
    (ledger.parent / "offcut.toml").write_text("[plan]\nhours = 30\n", encoding="utf-8")
    result = plan("wholesale", ledger)
    assert result.exit_code == 1
    assert result.stderr == (
        "Error: offcut.toml: [plan] unknown key 'hours' (did you mean hour?); correct the "
        "settings\n"
    )


def test_quote_file(ledger: Path, tmp_path: Path) -> None:
    quote = tmp_path / "quote.csv"
    quote.write_text("Quantity,Unit price\n250,0.42\n500,0.33\n", encoding="utf-8")
    head = ("make-or-order", "HERON-STK", ledger, "--pieces", "300")
    by_file = plan(*head, "--quote", quote, "--set-up", "25")
    by_options = plan(*head, "--break", "500=0.33", "--break", "250=0.42", "--set-up", "25")
    assert by_file.exit_code == by_options.exit_code == 0
    assert by_file.stdout == by_options.stdout
    both = plan(*head, "--quote", quote, "--break", "250=0.42")
    assert both.exit_code == 2
    quote.write_text("Quantity,Unit price\n250,x\n", encoding="utf-8")
    wrong = plan(*head, "--quote", quote)
    assert wrong.exit_code == 1
    assert wrong.stderr == (
        f"Error: {quote}: row 2, column Unit price: expected a number such as 4.50, found "
        "'x'; correct the row\n"
    )


def test_ledger_with_errors_is_planned_with_all_the_same(ledger: Path) -> None:
    with ledger.open("a") as file:
        file.write("2025-04-01 balance Assets:Cash  1.00 USD\n")
    for command in COMMANDS:
        result = asked(command, ledger)
        assert result.exit_code == 3
        assert "Balance failed" in result.stderr


def test_empty_ledger(tmp_path: Path) -> None:
    empty = tmp_path / "main.beancount"
    empty.write_text("", encoding="utf-8")
    for arguments in (("wholesale",), ("next-print",), ("what-if", "--price", "+1%")):
        result = plan(*arguments, str(empty))
        assert result.exit_code == 0, result.output


def test_file_that_cannot_be_written(ledger: Path, tmp_path: Path) -> None:
    target = tmp_path / "none" / "page.html"
    result = asked("wholesale", ledger, "--html", target)
    assert result.exit_code == 1
    assert result.stderr.startswith(f"Error: {target}: cannot be written: No such file")

"""`offcut fair`, from the outside."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data
from click.testing import CliRunner, Result

from offcut.reports.command import main

LEDGER = """\
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 commodity HERON-STK
  stock: "product"
2025-01-01 open Assets:Bank
2025-01-01 open Expenses:Events:Table
2025-01-02 * "Bought"
  Assets:Stock:HERON-STK  100 HERON-STK {0.50 USD}
  Assets:Bank
2026-03-01 * "Table" #event-harbour-fair-2026
  Expenses:Events:Table  30.00 USD
  Assets:Bank
"""
SETTINGS = """\
[[items]]
text = "Heron*"
product = "HERON-STK"
[layouts.reader]
kind = "payments"
source = "reader"
channel = "Fair"
currency = "USD"
columns = { date = "Day", gross = "Taken", tip = "Tip", id = "Number" }
types = { default = "sale" }
"""
MONEY = ("--cash", "212.50", "--float", "50.00")


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """A ledger with a product on the shelf, and the papers of a fair beside it."""
    (tmp_path / "offcut.toml").write_text(SETTINGS, "utf-8")
    (tmp_path / "tally.csv").write_text(
        'Sold,Count,Price,Reduced by\n"Heron, 3 in",65,4.00,\n', "utf-8"
    )
    (tmp_path / "reader.csv").write_text(
        "Day,Taken,Tip,Number\n2026-06-14,49.00,4.00,r1\n2026-06-14,50.00,,r2\n", "utf-8"
    )
    path = tmp_path / "main.beancount"
    path.write_text(LEDGER, "utf-8")
    return path


def run(ledger: Path, *options: str, event: str = "harbour-fair-2026") -> Result:
    arguments = ["fair", str(ledger.parent / "tally.csv"), "--event", event]
    arguments += ["--into", str(ledger), *options]
    return CliRunner().invoke(main, arguments)


def booked(ledger: Path, *options: str) -> Result:
    card = str(ledger.parent / "reader.csv")
    return run(ledger, "--date", "2026-06-14", *MONEY, "--card", card, *options)


def test_it_says_what_the_day_came_to(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger.parent)
    result = booked(ledger)

    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.splitlines()[:2] == [
        "harbour-fair-2026, 2026-06-14: 65 pieces sold",
        "tally 260.00, cash 162.50, card 95.00, tips 4.00, short 2.50 USD",
    ]
    assert "fair-2026-06.beancount: 3 transactions" in result.stdout
    assert "reader-2026-06.beancount: 2 transactions" in result.stdout


def test_the_ledger_is_sound_and_the_pieces_have_left_the_shelf(ledger: Path) -> None:
    booked(ledger)
    entries, errors, _ = loader.load_file(str(ledger))

    assert [error.message for error in errors] == []
    shelf = [
        posting.units.number
        for entry in data.filter_txns(entries)
        for posting in entry.postings
        if posting.account == "Assets:Stock:HERON-STK"
    ]
    assert sum(shelf) == Decimal(35)


def test_again_it_says_that_nothing_is_new(ledger: Path) -> None:
    booked(ledger)
    result = booked(ledger)

    assert result.exit_code == 0
    assert "Nothing new: the ledger has all of it already." in result.stdout


def test_other_figures_are_refused_on_one_line(ledger: Path) -> None:
    booked(ledger)
    result = booked(ledger, "--cash", "210")

    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr == (
        "harbour-fair-2026 2026-06-14: the ledger has this day with other figures: cash "
        "162.50, not 160.00; correct the ledger by hand, as nothing in it is booked over, "
        "nothing was booked\n"
    )


def test_more_money_than_the_tally_is_over(ledger: Path) -> None:
    result = run(ledger, "--date", "2026-06-14", "--cash", "261")

    assert "card 0.00, tips 0.00, over 1.00 USD" in result.stdout
    assert "no file of card payments was given (--card): none are counted" in result.stdout


def test_nothing_is_said_to_be_short_where_nothing_is(ledger: Path) -> None:
    result = run(ledger, "--date", "2026-06-14", "--cash", "260")

    assert "card 0.00, tips 0.00 USD; nothing over or short\n" in result.stdout
    assert "short 0.00" not in result.stdout


def test_tax_in_the_reader_s_file_is_noted_and_long_notes_are_wrapped(
    ledger: Path,
) -> None:
    settings = ledger.parent / "offcut.toml"
    settings.write_text(
        SETTINGS.replace('tip = "Tip"', 'tip = "Tip", tax = "Tax", shipping = "Post"'),
        "utf-8",
    )
    (ledger.parent / "reader.csv").write_text(
        "Day,Taken,Tip,Tax,Post,Number\n2026-06-14,49.00,4.00,3.20,,r1\n"
        "2026-06-14,50.00,,0.30,1.00,r2\n",
        "utf-8",
    )
    result = booked(ledger)

    assert max(map(len, result.stdout.splitlines())) <= 80
    text = " ".join(result.stdout.split())
    for what, account in (
        ("sales tax, 3.50", "Liabilities:SalesTax"),
        ("shipping, 1.00", "Income:Shipping:Fair"),
    ):
        assert (
            f"reader.csv: {what} USD of the card payments, is in the tally's sales, or "
            f"over where its prices are without; move it to {account} in the ledger by hand"
        ) in text
    assert "kept back" not in text


def test_unknown_texts_are_listed(ledger: Path) -> None:
    with (ledger.parent / "tally.csv").open("a") as sheet:
        sheet.write("Owl sticker,1,4.00,\n")
    result = booked(ledger)

    assert "1 item text is not known and went to the suspense account:" in result.stdout
    assert "Owl sticker: 1 line, 4.00 USD" in result.stdout


def test_a_dry_run_writes_nothing(ledger: Path) -> None:
    result = booked(ledger, "--dry-run")

    assert result.exit_code == 0
    assert "Would write" in result.stdout
    assert not (ledger.parent / "imports").exists()


@pytest.mark.parametrize(
    ("options", "code", "message"),
    [
        (("--date", "2026-06-14"), 1, "--cash: expected the money that was taken"),
        (("--cash", "10"), 1, "tally.csv: expected the day of the fair"),
        (("--date", "14.06.2026", "--cash", "10"), 2, "'14.06.2026' does not match"),
        (("--date", "2026-06-14", "--cash=-5"), 1, "--cash: expected zero or more"),
        (("--date", "2026-06-14", "--cash", "5", "--float", "6"), 1, "--float: expected"),
        (("--date", "2026-06-14", "--card", "none.csv"), 1, "none.csv: the file cannot be"),
        (("--date", "2026-06-14", "--cash", "5", "--layout", "x"), 1, "no such layout"),
    ],
)
def test_bad_input(ledger: Path, options: tuple[str, ...], code: int, message: str) -> None:
    result = run(ledger, *options)

    assert (result.exit_code, result.stdout) == (code, "")
    assert message in result.stderr
    assert not (ledger.parent / "imports").exists()


def test_a_name_that_no_tag_can_have(ledger: Path) -> None:
    result = run(ledger, "--date", "2026-06-14", "--cash", "5", event="Hafenfest für alle")

    assert result.exit_code == 1
    assert result.stderr.startswith("--event: expected a name of letters, digits and -_/.")


def test_help_fits_a_terminal() -> None:
    output = CliRunner().invoke(main, ["fair", "--help"]).stdout
    assert max(map(len, output.splitlines())) <= 80
    assert "offcut fair tally.csv --event" in output

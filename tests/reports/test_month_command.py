"""`offcut month`, from the outside: inbox, list and page in one go, as often as wanted."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len

from offcut.reports.command import main

ORDERS = """\
Order,Date,Item,Quantity,Unit price,Discount,Shipping,Sales tax,Currency
W1,2025-01-10,Owl,2,4.00,0.00,2.50,0.00,USD
"""
PAYMENTS = """\
Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference
2025-01-10,Sale,W1,Web order,10.50,0.60,9.90,USD,ch_1
2025-01-28,Payout,,To the bank,-9.90,0.00,-9.90,USD,po_1
"""
BANK = """\
Booked,Counterparty,Purpose,Amount,Balance,Currency,Entry
2025-01-30,Card payments,po_1,9.90,9.90,USD,B-3
"""
TALLY = "Sold,Count,Price,Reduced by\nOwl,2,4.00,0.00\n"


@pytest.fixture
def books(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """New books with a material in stock, and a rule for a text that is an income."""
    folder = tmp_path / "books"
    first = ("--currency", "USD", "--first-day", "2025-01-01")
    result = CliRunner().invoke(main, ["new", str(folder), "--name", "Press", *first])
    assert result.exit_code == 0
    with (folder / "offcut.toml").open("a") as file:
        file.write('\n[[items]]\ntext = "Owl"\naccount = "Income:Sales:Web"\n')
    monkeypatch.chdir(folder)
    return folder


def run(folder: Path, *arguments: str) -> Result:
    assert Path.cwd() == folder
    return CliRunner().invoke(main, ["month", *arguments, "main.beancount"])


def contents(folder: Path) -> dict[Path, bytes]:
    return {
        path: path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != ".offcut.lock"
    }


def fill(books: Path) -> None:
    for name, text in (("orders", ORDERS), ("card", PAYMENTS), ("bank", BANK)):
        (books / "inbox" / f"{name}.csv").write_text(text)


def test_a_month_from_the_inbox_to_done(books: Path) -> None:
    fill(books)
    first = run(books, "2025-01")
    assert (first.exit_code, first.stderr) == (3, "")
    assert "The books have all of 3 files of inbox/: bank.csv, card.csv," in first.stdout
    assert "January 2025 is NOT DONE: 1 point stands between it and done." in first.stdout
    assert max(map(cell_len, map(str.rstrip, first.stdout.splitlines()))) <= 80
    line = "2025-02-01 balance Assets:Bank:Checking                9.90 USD"
    assert line in first.stdout
    with (books / "purchases.beancount").open("a") as file:
        file.write(f"\n{line}\n")

    second = run(books, "2025-01")
    assert (second.exit_code, second.stderr) == (0, "")
    assert "The books have all of 3 files of inbox/ already: bank.csv," in second.stdout
    assert second.stdout.endswith("January 2025 is done: nothing is left to do.\n")
    page = (books / "pages" / "2025-01.html").read_text("utf-8")
    assert "Reports, January 2025" in page
    # 8.00 for the pieces and 2.50 for shipping, less the fee of 0.60.
    assert "All rows add up to 9.90 USD" in page


def test_files_stay_and_nothing_changes_when_it_is_repeated(books: Path) -> None:
    fill(books)
    run(books, "2025-01")
    before = contents(books)
    assert sorted(path.name for path in (books / "inbox").glob("*.csv")) == [
        *("bank.csv", "card.csv", "orders.csv")
    ]
    run(books, "2025-01")
    after = contents(books)
    page = books / "pages" / "2025-01.html"
    assert {path for path in after if after[path] != before.get(path)} <= {page}
    assert after.keys() == before.keys()


def test_empty_inbox(books: Path) -> None:
    result = run(books, "2025-01")
    assert result.exit_code == 0
    assert "The folder inbox/ beside main.beancount is empty. Download" in result.stdout
    shutil.rmtree(books / "inbox")
    result = run(books, "2025-01")
    assert result.exit_code == 0
    assert "inbox/ beside main.beancount is not there. Download" in result.stdout


def test_what_is_no_file_to_import_is_named_and_the_rest_imported(books: Path) -> None:
    fill(books)
    (books / "inbox" / "notes.txt").write_text("call the printer\n")
    (books / "inbox" / "tally.csv").write_text(TALLY)
    result = run(books, "2025-01")
    assert result.exit_code == 3
    assert "NOT IMPORTED: notes.txt: row 1: no layout knows these columns" in result.stdout
    assert "tally.csv is the tally sheet of a fair: book it by `offcut" in result.stdout
    assert "The books have all of 3 files" in result.stdout


def test_refused_import_writes_nothing(books: Path) -> None:
    """The day is before the account is opened: the whole import is refused."""
    (books / "inbox" / "card.csv").write_text(PAYMENTS.replace("2025-01-10", "2023-01-10"))
    before = contents(books)
    result = run(books, "2025-01")
    assert result.exit_code == 1
    assert "when the ledger opens" in result.stderr
    assert "nothing was imported" in result.stderr
    assert contents(books) == before


def test_without_a_month_it_is_the_last_that_is_over(books: Path) -> None:
    result = run(books)
    today = datetime.date.today()
    last = today.replace(day=1) - datetime.timedelta(days=1)
    assert f"Wrote pages/{last:%Y-%m}.html\n" in result.stdout


def test_page_of_ones_own_choice(books: Path, tmp_path: Path) -> None:
    page = tmp_path / "march.html"
    words = ["month", "2025-01", str(books / "main.beancount"), "--html", str(page)]
    assert CliRunner().invoke(main, words).exit_code == 0
    assert "Reports, January 2025" in page.read_text("utf-8")
    assert not (books / "pages").exists()


def test_page_that_cannot_be_written(books: Path, tmp_path: Path) -> None:
    page = tmp_path / "nope" / "march.html"
    words = ["month", "2025-01", str(books / "main.beancount"), "--html", str(page)]
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 1
    assert f"{page}: cannot be written: No such file or directory" in result.stderr


def test_too_many_words() -> None:
    result = CliRunner().invoke(main, ["month", "2025-01", "a.beancount", "b.beancount"])
    assert result.exit_code == 2
    assert "Expected [MONTH] [LEDGER]" in result.stderr


def test_texts_of_files_do_not_work_the_terminal(books: Path) -> None:
    (books / "inbox" / "evil\x1b[31m.csv").write_text("When\x1b[2J,What\n1,2\n")
    result = run(books, "2025-01")
    assert result.exit_code == 3
    assert "\x1b" not in result.stdout + result.stderr

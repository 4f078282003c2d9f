"""`offcut check`, from the outside: one screen, what it says, and the next thing to do."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len

from offcut.importers.settings import load_settings
from offcut.reports.books import Books
from offcut.reports.command import main
from offcut.reports.ledger_file import load_ledger
from offcut.reports.standing.standing import standing

SALE = """\
2025-03-04 * "Web order" ^order-W1
  channel: "Web"
  source-id: "card/ch_1"
  lines-id: "shop-orders/W1"
  Assets:Clearing:Card    4.00 USD
  Income:Sales:Web       -4.00 USD
    item: "OWL-STK"
    quantity: 1
"""
STOCK = """\
2025-01-01 commodity OWL-STK
  stock: "product"
2025-01-01 commodity VINYL
  stock: "material"
2025-01-02 * "Shelf"
  Assets:Stock:OWL-STK   10 OWL-STK {0.40 USD}
  Equity:Opening-Stock
"""


@pytest.fixture
def books(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The main file of new books, in whose folder commands are run."""
    folder = tmp_path / "books"
    first = ("--currency", "USD", "--first-day", "2025-01-01")
    result = CliRunner().invoke(main, ["new", str(folder), "--name", "Press", *first])
    assert result.exit_code == 0
    monkeypatch.chdir(folder)
    return folder / "main.beancount"


def add(ledger: Path, name: str, text: str) -> None:
    with (ledger.parent / name).open("a", encoding="utf-8") as file:
        file.write(f"\n{text}")


def run(ledger: Path) -> Result:
    return CliRunner().invoke(main, ["check", ledger.name])


def said(ledger: Path, code: int = 0) -> dict[str, str]:
    """Return what is said, by what of; it must fit a screen of 80 columns, 24 lines."""
    result = run(ledger)
    assert (result.exit_code, result.stderr) == (code, "")
    lines = result.stdout.splitlines()
    assert len(lines) <= 24
    assert max(map(cell_len, lines[1:])) <= 80
    found: dict[str, str] = {}
    what = ""
    for line in filter(None, lines[1:]):
        is_more = line.startswith("  ")
        what = what if is_more else line[:14].strip()
        text = line if is_more else line[14:]
        found[what] = f"{found.get(what, '')} {text.strip()}".strip()
    return found


def test_new_books(books: Path) -> None:
    assert said(books) == {
        "Ledger": "no transactions yet",
        "Errors": "none",
        "Costing": "on",
        "Catalogue": "0 products, 0 materials, 0 stamps",
        "Settings": "offcut.toml: 0 rules for item texts, 0 own layouts",
        "Imported to": "nothing imported yet",
        "Inbox": "empty",
        "Counted": "nothing to count",
        "Balances": "none asserted yet",
        "Next": "Say what you sell and what it is made of, in catalogue.beancount or "
        "another file of the ledger; how, says: offcut guide first-month",
    }
    assert run(books).stdout.startswith("Press, main.beancount\n")


def test_books_in_use(books: Path) -> None:
    add(books, "catalogue.beancount", STOCK)
    add(books, "purchases.beancount", SALE)
    add(
        books,
        "workshop.beancount",
        '2025-03-31 custom "stock-count" 9 OWL-STK\n'
        "2025-04-01 balance Assets:Bank:Checking  0.00 USD\n"
        '2025-02-01 * "Corner Books" "Invoice" ^order-H1\n'
        "  Assets:Receivable:Wholesale   20.00 USD\n  Income:Suspense:Wholesale\n"
        '    item-text: "Owls"\n    quantity: 5\n',
    )
    found = said(books)
    today = datetime.date.today()
    days = (today - datetime.date(2025, 2, 1)).days
    assert found["Ledger"] == "3 transactions, 2025-01-02 to 2025-03-04"
    assert found["Catalogue"] == "1 product, 1 material, 0 stamps"
    assert found["Imported to"] == "card 2025-03-04, shop-orders 2025-03-04"
    assert found["In suspense"] == "Income:Suspense:Wholesale -20.00 USD"
    assert found["Counted"] == "last on 2025-03-31; 1 item never"
    assert found["Balances"] == "Assets:Bank:Checking 2025-04-01"
    assert found["Owed to you"] == f"20.00 USD; the oldest for {days} days"
    assert re.fullmatch(
        r"\w+ \d{4}: \d+ points? to settle|\w+ \d{4}: done", found["Month's end"]
    )
    assert found["Next"].startswith("Say what the item texts in suspense are: offcut items")


def test_what_began_the_books_is_no_import(books: Path) -> None:
    add(books, "catalogue.beancount", STOCK)
    add(
        books,
        "purchases.beancount",
        '2024-12-31 * "Opening balance"\n  source-id: "opening-balances/x/2024-12-31-USD"\n'
        "  Assets:Cash   5.00 USD\n  Equity:Opening-Balances\n"
        '2024-12-04 * "Buyer" "Invoice"\n  source-id: "open-invoices/H-1"\n'
        '  lines-id: "wholesale-invoices/H-1"\n'
        "  Assets:Receivable:Wholesale   5.00 USD\n  Equity:Opening-Balances\n",
    )
    assert said(books)["Imported to"] == "nothing imported yet"


def test_what_waits_in_the_inbox_is_next(books: Path) -> None:
    add(books, "catalogue.beancount", STOCK)
    (books.parent / "inbox" / "card.csv").write_text(
        "Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference\n"
        "2025-01-10,Sale,W1,Web order,10.50,0.60,9.90,USD,ch_1\n"
    )
    (books.parent / "inbox" / "notes.txt").write_text("call\n")
    found = said(books)
    assert found["Inbox"] == "1 file not imported, 1 file that cannot be imported"
    assert found["Next"].startswith("Import what lies in the inbox: offcut month 2025-01 ")


def test_errors_come_before_all_else(books: Path) -> None:
    add(
        books,
        "purchases.beancount",
        '2025-02-01 * "x"\n  Assets:Nope  1 USD\n  Assets:Cash\n',
    )
    found = said(books, code=3)
    assert (
        found["Errors"].startswith("1; the first: purchases.beancount:")
        and "unknown account 'Assets:Nope'" in found["Errors"]
    )
    assert found["Next"].startswith("Put the first error right; all of them are listed by:")


def test_file_left_out_and_costing_off(books: Path) -> None:
    add(books, "catalogue.beancount", STOCK)
    (books.parent / "more.beancount").write_text("; more\n")
    (books.parent / ".hidden.beancount").write_text("; not ours\n")
    assert said(books)["Not included"] == "more.beancount"
    books.write_text(
        books.read_text("utf-8").replace('plugin "offcut.plugins"', ""), "utf-8"
    )
    found = said(books, code=3)
    assert found["Costing"] == 'OFF: there is no line plugin "offcut.plugins"'


def test_settings_with_mistakes(books: Path) -> None:
    (books.parent / "offcut.toml").write_text("[close\n")
    found = said(books, code=3)
    assert found["Settings"].startswith("MISTAKES: offcut.toml: expected TOML in utf-8")
    assert "Inbox" not in found
    assert found["Next"].startswith("Correct offcut.toml, then look again: offcut check")


def test_a_great_many_errors_and_long_texts_still_fit(books: Path) -> None:
    for number in range(40):
        (books.parent / f"file-with-quite-a-long-name-{number}.beancount").write_text(
            "; x\n"
        )
        add(
            books,
            "purchases.beancount",
            f'2025-02-01 * "x"\n  Assets:{"A" * 60}:N{number}  1 USD\n  Equity:Suspense\n',
        )
    said(books, code=3)


def test_nothing_is_written(books: Path) -> None:
    add(books, "catalogue.beancount", STOCK)
    before = {path: path.read_bytes() for path in books.parent.rglob("*") if path.is_file()}
    run(books)
    after = {path: path.read_bytes() for path in books.parent.rglob("*") if path.is_file()}
    assert after == before


def test_title_is_inert(books: Path) -> None:
    text = books.read_text("utf-8").replace(
        'option "title" "Press"', 'option "title" "P\x1b[2J"'
    )
    books.write_text(text, "utf-8")
    assert "\x1b" not in run(books).stdout


def test_done_month_leaves_nothing_to_do(books: Path) -> None:
    add(books, "catalogue.beancount", STOCK)
    loaded = load_ledger(books)
    shop = Books(loaded.entries, loaded.options, loaded.errors, books)
    stands = standing(shop, load_settings(books), (), datetime.date(2025, 2, 3))
    assert dict(stands.said)["Month's end"] == "January 2025: done"
    assert (stands.todo, stands.how) == ("Nothing: January 2025 is done.", "")


def test_file_that_is_left_out_on_purpose_hides_nothing(books: Path) -> None:
    """It is named; what else is to do comes first where there is no error."""
    (books.parent / "other.beancount").write_text("; other books\n")
    found = said(books)
    assert found["Not included"] == "other.beancount"
    assert found["Next"].startswith("Say what you sell")

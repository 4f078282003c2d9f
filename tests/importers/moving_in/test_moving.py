"""Moving in: sheets checked together, booked once, and later files that meet them."""

from __future__ import annotations

import datetime
import os
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data, inventory
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.importing import import_files
from offcut.importers.moving_in.moving import Moving, move_in
from offcut.importers.moving_in.sheets import SHEETS, write_sheets
from offcut.importers.opening_stock import import_opening_stock
from offcut.importers.problems import ImportRefused
from offcut.reports.outlets.receivables import open_invoices

D = Decimal
LEDGER = """\
option "operating_currency" "USD"
plugin "offcut.plugins"
include "catalogue.beancount"
2024-12-31 open Assets:Bank:Checking USD
2024-12-31 open Assets:Cash
2024-12-31 open Liabilities:CreditCard
1970-01-01 open Assets:Receivable:Wholesale
1970-01-01 open Equity:Opening-Balances
"""
PRODUCTS = (
    "Item,Kind,Name,Design,Format,List price",
    'OWL-STK,product,"Barn Owl, 3 in sticker",Barn Owl,sticker-3in,4.00',
    "VINYL,Material,White vinyl,,,",
)
BALANCES = (
    "Account,Owned,Owed,Currency,Date",
    'Assets:Bank:Checking,"1,204.16",,USD,2024-12-31',
    "Liabilities:CreditCard,,310.20,,2024-12-31",
    "Assets:Cash,0,,USD,2024-12-31",
)
STOCK = (
    "Item,Quantity,Unit cost,Date",
    "OWL-STK,40,0.41,2024-12-31",
    "VINYL,12,0.45,2024-12-31",
)
INVOICES = (
    "Invoice,Date,Buyer,Channel,Amount,Currency",
    "H-031,2024-12-04,Harbour Books,,46.00,USD",
    "H-029,2024-11-01,Corner Books,Wholesale,20.00,",
)


class Folder:
    """A ledger, and a folder of sheets beside it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.ledger = path / "main.beancount"
        self.ledger.write_text(LEDGER)
        (path / "catalogue.beancount").write_text("; mine\n")
        self.sheets = path / "sheets"
        self.sheets.mkdir()

    def write(self, **sheets: tuple[str, ...]) -> None:
        """Write sheets, by the words of their names."""
        for name, rows in sheets.items():
            (self.sheets / f"{name.replace('_', '-')}.csv").write_text("\n".join(rows))

    def write_all(self) -> None:
        self.write(
            products=PRODUCTS,
            opening_balances=BALANCES,
            opening_stock=STOCK,
            open_invoices=INVOICES,
        )

    def move(self, **options: bool) -> Moving:
        return move_in(self.sheets, self.ledger, **options)

    def refused(self) -> list[str]:
        """Return the problems of moving in, which must change nothing."""
        before = self.contents()
        with pytest.raises(ImportRefused) as caught:
            self.move()
        assert self.contents() == before
        return [problem.line("") for problem in caught.value.problems]

    def contents(self) -> dict[Path, bytes]:
        return {path: path.read_bytes() for path in self.path.rglob("*.beancount")}

    def balances(self) -> dict[str, inventory.Inventory]:
        """Return what each account has; the ledger must have no errors."""
        entries, errors, _ = loader.load_file(str(self.ledger))
        assert [error.message for error in errors] == []
        found: dict[str, inventory.Inventory] = {}
        for entry in data.filter_txns(entries):
            for posting in entry.postings:
                of_account = found.setdefault(posting.account, inventory.Inventory())
                of_account.add_position(posting)
        return {account: each for account, each in found.items() if not each.is_empty()}

    def money(self) -> dict[str, Decimal]:
        """Return the balances in USD."""
        found = {
            account: each.get_currency_units("USD").number
            for account, each in self.balances().items()
        }
        return {account: number for account, number in found.items() if number}


@pytest.fixture
def books(tmp_path: Path) -> Folder:
    return Folder(tmp_path)


def test_all_sheets_together(books: Folder) -> None:
    books.write_all()
    moving = books.move()

    assert [(part.file, part.rows, part.new) for part in moving.parts] == [
        ("products.csv", 2, 2),
        ("opening-balances.csv", 2, 2),
        ("opening-stock.csv", 2, 2),
        ("open-invoices.csv", 2, 2),
    ]
    assert [dict(part.sums) for part in moving.parts] == [
        {},
        {"USD": D("893.96")},
        {"USD": D("21.80")},
        {"USD": D("66.00")},
    ]
    assert (moving.owned, moving.owed) == ({"USD": D("1204.16")}, {"USD": D("310.20")})
    assert books.money() == {
        "Assets:Bank:Checking": D("1204.16"),
        "Liabilities:CreditCard": D("-310.20"),
        "Assets:Receivable:Wholesale": D("66.00"),
        "Equity:Opening-Balances": D("-959.96"),
        "Equity:Opening-Stock": D("-21.80"),
    }
    assert str(books.balances()["Assets:Stock:OWL-STK"]) == (
        "(40 OWL-STK {0.41 USD, 2024-12-31})"
    )
    catalogue = (books.path / "catalogue.beancount").read_text()
    assert catalogue == (
        "; mine\n\n"
        '2024-12-31 commodity OWL-STK\n  name: "Barn Owl, 3 in sticker"\n'
        '  stock: "product"\n  design: "Barn Owl"\n  format: "sticker-3in"\n'
        "  list-price: 4.00 USD\n\n"
        '2024-12-31 commodity VINYL\n  name: "White vinyl"\n  stock: "material"\n'
    )


def test_a_second_time_changes_nothing(books: Folder) -> None:
    books.write_all()
    books.move()
    before = books.contents()
    again = books.move()
    assert not again.is_new
    assert [part.new for part in again.parts] == [0, 0, 0, 0]
    assert books.contents() == before


def test_a_row_more_is_booked_alone(books: Folder) -> None:
    books.write_all()
    books.move()
    books.write(
        open_invoices=(*INVOICES, "H-030,2024-11-20,Corner Books,,5.00,"),
        products=(*PRODUCTS, "FILM,material,,,,"),
    )
    again = books.move()
    assert [part.new for part in again.parts] == [1, 0, 0, 1]
    assert books.money()["Assets:Receivable:Wholesale"] == D("71.00")


def test_a_dry_run_writes_nothing(books: Folder) -> None:
    books.write_all()
    before = books.contents()
    assert books.move(dry_run=True).is_new
    assert books.contents() == before


def test_opening_stock_of_its_own_command_is_known(books: Folder) -> None:
    books.write(products=PRODUCTS)
    books.move()
    books.write(opening_stock=STOCK)
    import_opening_stock(books.sheets / "opening-stock.csv", books.ledger)
    assert not books.move().is_new


def test_templates_say_nothing_until_they_are_filled_in(books: Folder) -> None:
    assert [path.name for path in write_sheets(books.sheets)] == list(SHEETS)
    assert [part.rows for part in books.move().parts] == [0, 0, 0, 0]
    assert write_sheets(books.sheets) == []


def test_examples_of_the_templates_are_sound(books: Folder) -> None:
    """A note that is an example becomes a row by taking its mark away."""
    for path in write_sheets(books.sheets):
        notes = path.read_text().splitlines()
        path.write_text(
            "\n".join(
                line.removeprefix("# ")
                for line in notes[:1]
                + [
                    line
                    for line in notes
                    if line.startswith(("# OWL", "# VINYL", "# A", "# L", "# H"))
                    and "row for each" not in line
                ]
            )
        )
    moving = books.move()
    assert [part.new for part in moving.parts] == [2, 2, 2, 1]
    books.balances()


def test_a_windows_ledger_keeps_its_line_ends(books: Folder) -> None:
    for path in (books.ledger, books.path / "catalogue.beancount"):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    books.write_all()
    books.move()
    for contents in books.contents().values():
        assert contents.count(b"\n") == contents.count(b"\r\n") > 0
    assert books.money()["Assets:Bank:Checking"] == D("1204.16")
    assert not books.move().is_new


def test_without_a_catalogue_products_go_into_the_main_file(books: Folder) -> None:
    books.ledger.write_text(LEDGER.replace('include "catalogue.beancount"\n', ""))
    books.write_all()
    books.move()
    text = books.ledger.read_text()
    assert text.index("commodity OWL-STK") < text.index('include "imports/*.beancount"')
    assert len(books.balances()) == 7


def test_later_payment_from_the_bank_settles_an_invoice(books: Folder) -> None:
    books.write_all()
    books.move()
    bank = books.path / "bank.csv"
    bank.write_text(
        "Booked,Counterparty,Purpose,Amount,Balance,Currency,Entry\n"
        "2025-01-04,Harbour Books,Invoice H-031,46.00,1250.16,USD,B-0017\n"
    )
    report = import_files([bank], books.ledger)
    assert "running balance of 1 row agrees" in report.files[0].checks
    assert books.money()["Assets:Receivable:Wholesale"] == D("20.00")
    # The balance was there already: it is no opening balance of the bank's file.
    assert books.money()["Assets:Bank:Checking"] == D("1250.16")
    entries, _, options = loader.load_file(str(books.ledger))
    (left,) = open_invoices(entries, options, datetime.date(2025, 1, 31))
    assert (left.order, left.buyer, left.amount) == ("H-029", "Corner Books", D("20.00"))
    assert left.age(datetime.date(2025, 1, 31)) == 91


@pytest.mark.parametrize(("carriage", "notes"), [("6.00", 0), ("9.00", 1)])
def test_later_file_with_the_invoice_does_not_book_it_again(
    books: Folder, carriage: str, notes: int
) -> None:
    books.write_all()
    books.move()
    before = books.contents()
    file = books.path / "invoices.csv"
    file.write_text(
        "Invoice,Issued,Buyer,Goods,Pieces,Retail price,Trade discount,Carriage,State,"
        "Currency\n"
        f"H-031,2024-12-04,Harbour Books,Owl,20,4.00,50 %,{carriage},sent,USD\n"
    )
    report = import_files([file], books.ledger)
    assert report.files[0].already_there == 1
    assert sum("to 46.00 in the ledger" in note for note in report.notes) == notes
    assert books.contents() == before


@pytest.mark.parametrize(
    ("sheet", "row", "expected"),
    [
        ("products", "owl,product,,,,", "row 4, column Item: expected a short name"),
        (
            "products",
            "USD,product,,,,",
            "row 4, column Item: USD is the name of a currency",
        ),
        ("products", "FILM,produkt,,,,", "found 'produkt' (did you mean product?)"),
        (
            "products",
            'FILM,product,,,,"4,00"',
            "row 4, column List price: expected a number",
        ),
        (
            "products",
            "FILM,product,,,,-4",
            "row 4, column List price: expected zero or more",
        ),
        ("products", "VINYL,material,,,,", "row 4, column Item: VINYL is in row 3 too"),
        (
            "opening_balances",
            "Assets:Bank:Cheking,1,,USD,2024-12-31",
            "row 5, column Account: the ledger has no account Assets:Bank:Cheking (did you "
            "mean Assets:Bank:Checking?)",
        ),
        (
            "opening_balances",
            "Expenses:Fees,1,,USD,2024-12-31",
            "row 5, column Account: expected an account of Assets, which you own, or",
        ),
        (
            "opening_balances",
            "Assets:Receivable:Wholesale,1,,USD,2024-12-31",
            "row 5, column Account: what buyers owe goes into open-invoices.csv",
        ),
        (
            "opening_balances",
            "Assets:Stock:OWL-STK,1,,USD,2024-12-31",
            "row 5, column Account: what is on a shelf goes into opening-stock.csv",
        ),
        (
            "opening_balances",
            "Assets:Bank:Checking,1,,USD,2024-12-31",
            "row 5, column Account: Assets:Bank:Checking in USD is in row 2 too",
        ),
        (
            "opening_balances",
            "Assets:Cash,1,1,EUR,2024-12-31",
            "row 5, column Owned: expected an amount under Owned or under Owed",
        ),
        (
            "opening_balances",
            "Assets:Cash,,,EUR,2024-12-31",
            "row 5, column Owned: expected an amount under Owned or under Owed",
        ),
        (
            "opening_balances",
            "Assets:Cash,-5,,EUR,2024-12-31",
            "row 5, column Owned: expected an amount above zero in whole 0.01 EUR",
        ),
        (
            "opening_balances",
            "Assets:Cash,5.005,,EUR,2024-12-31",
            "row 5, column Owned: expected an amount above zero in whole 0.01 EUR",
        ),
        (
            "opening_balances",
            'Assets:Cash,"5,50",,EUR,2024-12-31',
            "row 5, column Owned: expected a number such as 1,234.50, found '5,50'",
        ),
        (
            "opening_balances",
            "Assets:Cash,5,,euro,2024-12-31",
            "row 5, column Currency: expected a currency such as USD, found 'euro'",
        ),
        (
            "opening_balances",
            "Assets:Cash,5,,EUR,31.12.2024",
            "row 5, column Date: expected a date such as 2025-03-31, found '31.12.2024'",
        ),
        (
            "opening_balances",
            "Assets:Cash,5,,EUR,2024-12-30",
            "row 5: Assets:Cash is opened on 2024-12-31, after 2024-12-30",
        ),
        (
            "opening_balances",
            "Assets:Bank:Checking,5,,EUR,2024-12-31",
            "row 5: Assets:Bank:Checking takes USD only, not EUR",
        ),
        ("opening_stock", "OWL-STC,1,1,2024-12-31", "(did you mean OWL-STK?)"),
        (
            "open_invoices",
            "H-031,2024-12-05,Corner Books,,1,",
            "row 4, column Invoice: H-031 is in row 2 too",
        ),
        (
            "open_invoices",
            "H-1,2024-12-05,,,1,",
            "row 4, column Buyer: expected who owes it",
        ),
        ("open_invoices", "#,2024-12-05,B,,1,", ""),
        ("open_invoices", "-,2024-12-05,B,,1,", "row 4, column Invoice: expected the inv"),
        ("open_invoices", "H-1,2024-12-05,B,Wholsale,1,", "(did you mean Wholesale?)"),
        (
            "open_invoices",
            "H-1,2024-12-05,B,,0,",
            "row 4, column Amount: expected an amount",
        ),
    ],
)
def test_a_bad_row_is_named_and_nothing_is_written(
    books: Folder, sheet: str, row: str, expected: str
) -> None:
    books.write_all()
    path = books.sheets / f"{sheet.replace('_', '-')}.csv"
    path.write_text(f"{path.read_text()}\n{row}\n")
    if not expected:  # a note
        assert books.move().is_new
        return
    (problem,) = books.refused()
    assert problem.startswith(f"{path.name}: ")
    assert expected in problem


def test_bad_rows_of_all_sheets_are_named_at_once(books: Folder) -> None:
    books.write(
        opening_balances=(BALANCES[0], "Assets:Bank:Checking,x,,USD,2024-12-31"),
        open_invoices=(INVOICES[0], "H-1,yesterday,B,,1,"),
        opening_stock=(STOCK[0], "OWL-STK,1,1,2024-12-31"),
    )
    assert len(books.refused()) == 3


def test_a_row_that_the_ledger_has_otherwise(books: Folder) -> None:
    books.write_all()
    books.move()
    books.write(
        opening_balances=(BALANCES[0], BALANCES[1].replace("1,204", "1,304"), BALANCES[2])
    )
    (problem,) = books.refused()
    assert problem == (
        "opening-balances.csv: row 2: the ledger has this row already, with 1204.16 USD in "
        "Assets:Bank:Checking; if the row is right, correct it in the ledger"
    )


def test_an_account_that_was_begun_already(books: Folder) -> None:
    """The bank's file came first, and brought its own opening balance."""
    bank = books.path / "bank.csv"
    bank.write_text(
        "Booked,Counterparty,Purpose,Amount,Balance,Currency,Entry\n"
        "2025-01-01,Web Host,January,-12.00,1192.16,USD,B-0016\n"
    )
    import_files([bank], books.ledger)
    books.write(opening_balances=BALANCES[:2])
    (problem,) = books.refused()
    assert problem == (
        "opening-balances.csv: row 2, column Account: the ledger has 1204.16 USD in "
        "Assets:Bank:Checking by 2024-12-31 already; take the row out, or what the ledger "
        "has"
    )


def test_an_invoice_that_was_imported_already(books: Folder) -> None:
    file = books.path / "invoices.csv"
    file.write_text(
        "Invoice,Issued,Buyer,Goods,Pieces,Retail price,Trade discount,Carriage,State,"
        "Currency\nH-031,2024-12-04,Harbour Books,Owl,20,4.00,50 %,6.00,sent,USD\n"
    )
    import_files([file], books.ledger)
    books.write(open_invoices=INVOICES)
    (problem,) = books.refused()
    assert problem.startswith(
        "open-invoices.csv: row 2, column Invoice: the ledger has order H-031 already"
    )


def test_a_folder_without_sheets(books: Folder) -> None:
    (problem,) = books.refused()
    assert "there is no products.csv, no opening-balances.csv" in problem
    books.sheets.rmdir()
    (problem,) = books.refused()
    assert "there is no such folder" in problem


def test_a_ledger_without_a_currency(books: Folder) -> None:
    books.ledger.write_text(LEDGER.partition("\n")[2])
    books.write_all()
    (problem,) = books.refused()
    assert 'write in the ledger: option "operating_currency" "USD"' in problem


def test_texts_are_inert(books: Folder) -> None:
    evil = '"x"" ^order-H-9 #tag\n2025-01-01 open Assets:Evil"'
    books.write(
        products=(PRODUCTS[0], f"OWL-STK,product,{evil},,,"),
        open_invoices=(INVOICES[0], f"H-031,2024-12-04,{evil},,46.00,USD"),
    )
    books.move()
    entries, errors, _ = loader.load_file(str(books.ledger))
    assert errors == []
    assert not any(getattr(entry, "account", "") == "Assets:Evil" for entry in entries)
    (entry,) = data.filter_txns(entries)
    assert entry.payee == 'x" ^order-H-9 #tag 2025-01-01 open Assets:Evil'
    assert (entry.links, entry.tags) == ({"order-H-031"}, frozenset())


def test_broken_off_between_two_files_is_finished_by_the_next_time(
    books: Folder, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    books.write_all()
    replace, done = os.replace, []

    def failing(source: str, target: str) -> None:
        if len(done) == 3:
            raise OSError(28, "No space left on device")
        done.append(target)
        replace(source, target)

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", failing)
        with pytest.raises(ImportRefused) as caught:
            books.move()
    (problem,) = caught.value.problems
    assert "No space left on device" in problem.message
    assert "written already: catalogue.beancount" in problem.message
    books.move()

    whole = Folder(tmp_path_factory.mktemp("whole"))
    whole.write_all()
    whole.move()
    assert books.balances() == whole.balances()
    assert not books.move().is_new


AMOUNTS = st.decimals(min_value=D("0.01"), max_value=D("999999.99"), places=2)


@given(
    st.dictionaries(
        st.tuples(
            st.sampled_from(["Assets:Cash", "Liabilities:CreditCard"]),
            st.sampled_from(["USD", "EUR"]),
        ),
        st.tuples(AMOUNTS, st.booleans()),
        min_size=1,
    )
)
def test_what_the_sheet_says_is_what_the_books_have(
    tmp_path_factory: pytest.TempPathFactory,
    rows: dict[tuple[str, str], tuple[Decimal, bool]],
) -> None:
    """Each balance is that of its row, equity is the other side, and twice is once."""
    books = Folder(tmp_path_factory.mktemp("any"))
    lines = [
        ",".join(
            (account, *(f"{amount}", "")[:: 1 if owned else -1], currency, "2024-12-31")
        )
        for (account, currency), (amount, owned) in rows.items()
    ]
    books.write(opening_balances=(BALANCES[0], *lines))
    books.move()
    found = books.balances()
    for (account, currency), (amount, owned) in rows.items():
        units = found[account].get_currency_units(currency)
        assert units.number == (amount if owned else -amount)
    for currency in ("USD", "EUR"):
        total = sum(each.get_currency_units(currency).number for each in found.values())
        assert total == 0
    before = books.contents()
    assert not books.move().is_new
    assert books.contents() == before

"""Statements under beangulp's command and in the viewer's import page."""

from __future__ import annotations

from pathlib import Path

from beancount import loader
from beancount.core import data
from beancount.parser import printer
from beangulp.extract import DUPLICATE

from offcut.importers.csv_importer import LayoutImporter, importers
from tests.importers.bank.bank_shop import MET_ACCOUNTS, bank_shop, payout, statement
from tests.importers.shop import Shop

ARRIVED = "2025-03-05,Card processor,Transfer 991,518.58,USD,B1"
SENT = payout("2025-03-03", "518.58", "po_1")


def importer(shop: Shop, name: str) -> LayoutImporter:
    (found,) = [each for each in importers(shop.ledger) if each.name == f"offcut.{name}"]
    assert isinstance(found, LayoutImporter)
    return found


def extract(shop: Shop, name: str, file: Path) -> list[data.Transaction]:
    """Extract a file, add what is new to the ledger, and return all of it."""
    one = importer(shop, name)
    assert one.identify(str(file))
    existing, errors, _ = loader.load_file(str(shop.ledger))
    assert not errors
    entries = one.extract(str(file), existing)
    one.deduplicate(entries, existing)
    new = [entry for entry in entries if DUPLICATE not in entry.meta]
    with shop.ledger.open("a") as ledger:
        ledger.writelines(printer.format_entry(entry) for entry in new)
    return entries


def open_accounts(shop: Shop) -> None:
    with shop.ledger.open("a") as ledger:
        ledger.writelines(f"1970-01-01 open {account}\n" for account in MET_ACCOUNTS)


def test_statement_before_and_after_its_payout(tmp_path: Path) -> None:
    for bank_first in (True, False):
        shop = bank_shop(tmp_path / str(bank_first))
        open_accounts(shop)
        files = [
            ("card-payments", shop.payments(SENT)),
            ("statement", statement(shop, ARRIVED)),
        ]
        for name, file in reversed(files) if bank_first else files:
            extract(shop, name, file)

        assert set(shop.balances()) == {"Assets:Bank:Checking", "Assets:Clearing:Card"}
        before = shop.balances()
        for name, file in files:
            assert all(DUPLICATE in entry.meta for entry in extract(shop, name, file))
        assert shop.balances() == before


def test_account_and_day_of_a_statement(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    file = statement(shop, ARRIVED)

    assert importer(shop, "statement").account(str(file)) == "Assets:Bank:Checking"
    assert str(importer(shop, "statement").date(str(file))) == "2025-03-05"


def test_rules_hold(tmp_path: Path) -> None:
    rule = '[[bank]]\ntext = "Card*"\naccount = "Income:Other"\n'
    shop = bank_shop(tmp_path, rule)

    (entry,) = importer(shop, "statement").extract(str(statement(shop, ARRIVED)), [])

    assert [posting.account for posting in entry.postings] == [
        "Assets:Bank:Checking",
        "Income:Other",
    ]


def test_row_that_is_there_takes_no_other_payout(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    again = payout("2025-03-04", "518.58", "po_2")
    shop.run(shop.payments(SENT, again), statement(shop, ARRIVED))
    second = "2025-03-06,Card processor,Transfer 992,518.58,USD,B2"

    entries = extract(shop, "statement", statement(shop, ARRIVED, second))

    assert [DUPLICATE in entry.meta for entry in entries] == [True, False]
    assert entries[1].links == {"payout-po_1"}  # po_2 is nearer to the first

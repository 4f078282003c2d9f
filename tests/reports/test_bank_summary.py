"""What an import prints of a bank's statement."""

from __future__ import annotations

import io
import tomllib
from pathlib import Path

from rich.console import Console

from offcut.reports.bank_summary import print_bank
from tests.importers.bank.bank_shop import bank_shop, payout, statement
from tests.importers.shop import Shop

LEDGER = """\
1970-01-01 open Assets:Bank:Checking
1970-01-01 open Expenses:Materials
2025-02-03 * "Paper Mill Ltd" "Invoice 4101"
  Expenses:Materials     60.00 USD
  Assets:Bank:Checking
"""
MILL = "2025-03-04,Paper Mill,Invoice 4411,-84.20,USD,B1"


def printed(shop: Shop, *files: Path) -> str:
    report = shop.run(*files)
    output = io.StringIO()
    print_bank(Console(file=output, width=80), report.bank)
    return "\n".join(line.rstrip() for line in output.getvalue().splitlines())


def test_row_that_waits_with_its_proposal(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path, ledger=LEDGER)

    assert printed(shop, statement(shop, MILL)) == (
        """
Not matched, in Equity:Suspense:
  2025-03-04 Paper Mill, Invoice 4411: -84.20 USD; like 2025-02-03 Paper Mill
Ltd, booked to Expenses:Materials

Say in offcut.toml what such rows are; the next import goes by it. Rows that are
booked already stay as they are: change their account in imports/ by hand. A
payout, and an order that is named, is found by itself once its file is
imported.
  [[bank]]
  text = "Paper Mill"
  account = "Expenses:Materials\""""
    )


def test_nothing_to_say_prints_nothing(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    sent = shop.payments(payout("2025-03-03", "10.00", "po_1"))

    assert printed(shop, sent, statement(shop, "2025-03-04,A,B,10.00,USD,B1")) == ""
    assert printed(shop, sent) == ""


def test_row_that_waited_and_payout_that_is_missing(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    sent = [payout("2025-03-03", "10.00", "po_1"), payout("2025-03-04", "11.00", "po_2")]
    rows = ["2025-03-05,A,B,10.00,USD,B1", "2025-03-15,A,B,1.00,USD,B2"]
    shop.run(statement(shop, *rows))

    assert printed(shop, shop.payments(*sent)) == (
        "\n1 row of the bank that waited is matched now"
    )
    text = printed(shop, statement(shop, *rows))
    assert text.endswith(
        "\nPayouts that should have arrived at the bank and did not:\n"
        "  2025-03-04 11.00 USD, ^payout-po_2"
    )
    assert (
        '  [[bank]]\n  text = "A"\n  account = "Income:YOUR-ACCOUNT"\n  direction = "in"'
    ) in text


def test_what_goes_out_is_an_expense_and_what_comes_in_is_none(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    rows = ["2025-03-05,Ink,B,-1.00,USD,B1", "2025-03-06,Paper,B,-2.00,USD,B2"]

    text = printed(shop, statement(shop, *rows, "2025-03-07,Prize,B,3.00,USD,B3"))

    assert text.endswith(
        '  [[bank]]\n  text = "Ink"\n  account = "Expenses:YOUR-ACCOUNT"\n'
        '  direction = "out"\n'
        '  [[bank]]\n  text = "Prize"\n  account = "Income:YOUR-ACCOUNT"\n'
        '  direction = "in"'
    )


def test_note_of_a_short_payment(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    order = "W1,2025-02-03,HERON,1,4.00,0,0,0,USD"

    text = printed(shop, shop.orders(order), statement(shop, "2025-03-04,A,W1,3,USD,B1"))

    assert "order W1: paid 3.00 USD by the bank on 2025-03-04; 1.00 stays in" in text


def test_text_of_a_row_is_inert(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    hostile = '2025-03-04,"[red]\x1b[31m ""a"" \\",b,-1.00,USD,B1'

    text = printed(shop, statement(shop, hostile))

    assert "\x1b" not in text
    assert "[red]" in text
    rule = tomllib.loads(text[text.index("  [[bank]]") :])["bank"][0]
    assert '"a" \\' in rule["text"]


def test_long_lists_are_cut(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    rows = [f"2025-03-04,Shop {n},{n},-1.00,USD,B{n}" for n in range(30)]

    assert "  … and 10 more rows\n" in printed(shop, statement(shop, *rows))

"""Rows of a bank meet payouts, rules and orders, or wait in suspense."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from tests.importers.bank.bank_shop import (
    BANK,
    CARD,
    HERON,
    PAYOUTS,
    SUSPENSE,
    bank_shop,
    payout,
    statement,
)
from tests.importers.shop import Shop

ARRIVED = "2025-03-05,Card processor,Transfer 991,518.58,USD,B1"
SENT = payout("2025-03-03", "518.58", "po_1")
MILL = "2025-03-06,Paper Mill,Card purchase 4411,-84.20,USD,B2"
MET = {BANK: Decimal("518.58"), CARD: Decimal("-518.58")}


@pytest.fixture
def bank(tmp_path: Path) -> Shop:
    """A shop with a bank, without rules."""
    return bank_shop(tmp_path / "bank")


def test_payout_and_arrival_in_one_import(bank: Shop) -> None:
    report = bank.run(bank.payments(SENT), statement(bank, ARRIVED))

    assert bank.text("checking-2025-03.beancount") == (
        """\
; checking 2025-03: `offcut import` adds here

2025-03-05 * "Card processor" "Transfer 991" ^payout-po_1
  movement: "bank"
  source-id: "checking/B1"
  Assets:Bank:Checking                               518.58 USD
  Assets:Clearing:Payouts                           -518.58 USD
"""
    )
    assert bank.balances() == MET
    assert report.bank.unmatched == report.bank.not_arrived == ()


def test_arrival_after_its_payout(bank: Shop) -> None:
    bank.run(bank.payments(SENT))
    assert bank.balances()[PAYOUTS] == Decimal("518.58")

    bank.run(statement(bank, ARRIVED))

    assert bank.balances() == MET


def test_arrival_before_its_payout_waits_and_is_moved(bank: Shop) -> None:
    report = bank.run(statement(bank, ARRIVED))
    assert bank.balances() == {BANK: Decimal("518.58"), SUSPENSE: Decimal("-518.58")}
    assert [each.row.amount for each in report.bank.unmatched] == [Decimal("518.58")]

    report = bank.run(bank.payments(SENT))

    assert bank.balances() == MET
    assert report.bank.moved == 1
    assert bank.text("checking-2025-03.beancount").endswith(
        """\

2025-03-05 * "Card processor" "Transfer 991" ^bank-checking/B1
  movement: "bank"
  source-id: "checking/B1"
  Assets:Bank:Checking                               518.58 USD
  Equity:Suspense                                   -518.58 USD
    note: "not matched"

2025-03-05 * "Card processor" "Transfer 991" ^bank-checking/B1 ^payout-po_1
  movement: "bank"
  Equity:Suspense                                    518.58 USD
  Assets:Clearing:Payouts                           -518.58 USD
"""
    )


@pytest.mark.parametrize("bank_first", [False, True])
def test_importing_again_changes_no_byte(bank: Shop, bank_first: bool) -> None:
    files = [bank.payments(SENT), statement(bank, ARRIVED, MILL)]
    if bank_first:
        files.reverse()
    for file in files:
        bank.run(file)
    before = bank.contents()

    for file in files:
        assert bank.run(file).written == ()
    report = bank.run(*files)

    assert bank.contents() == before
    # What still waits is listed again: it is the list for the end of the month.
    assert [each.row.link for each in report.bank.unmatched] == ["bank-checking/B2"]


@pytest.mark.parametrize(
    ("day", "is_met"), [(2, False), (3, True), (10, True), (11, False)]
)
def test_payout_arrives_within_a_week(bank: Shop, day: int, is_met: bool) -> None:
    row = f"2025-03-{day:02d},Card processor,Transfer,518.58,USD,B1"

    bank.run(bank.payments(SENT), statement(bank, row))

    assert (SUSPENSE not in bank.balances()) is is_met


@pytest.mark.parametrize("row", ["518.59,USD", "-518.58,USD", "518.58,EUR"])
def test_other_amount_or_currency_is_not_the_payout(bank: Shop, row: str) -> None:
    bank.run(bank.payments(SENT), statement(bank, f"2025-03-04,A,Transfer,{row},B1"))

    assert bank.balances()[SUSPENSE] == -Decimal(row.split(",")[0])


def test_nearest_payout_is_met_first(bank: Shop) -> None:
    later = payout("2025-03-05", "518.58", "po_2")

    bank.run(bank.payments(SENT, later), statement(bank, ARRIVED))

    assert "^payout-po_2\n" in bank.text("checking-2025-03.beancount")


def test_payout_that_the_bank_pays(bank: Shop) -> None:
    sent = "2025-03-03,Payout,,Charged back,12.00,0.00,12.00,USD,po_1"
    row = "2025-03-04,Card processor,Debit,-12.00,USD,B1"

    bank.run(statement(bank, row))
    bank.run(bank.payments(sent))

    assert bank.balances() == {BANK: Decimal("-12.00"), CARD: Decimal("12.00")}


def test_one_row_for_two_payouts_is_listed_and_not_guessed(bank: Shop) -> None:
    sent = [payout("2025-03-03", "20.00", "po_1"), payout("2025-03-03", "30.00", "po_2")]
    row = "2025-03-04,Card processor,Both,50.00,USD,B1"

    report = bank.run(bank.payments(*sent), statement(bank, row))

    assert bank.balances()[SUSPENSE] == Decimal("-50.00")
    assert [each.row.text for each in report.bank.unmatched] == ["Both"]


def test_row_that_two_payouts_want_is_given_up_for_another(bank: Shop) -> None:
    """April's statement first: it takes March's payout, until March's statement is in."""
    bank.run(bank.payments(payout("2025-03-28", "100.00", "po_1"), name="march.csv"))
    bank.run(statement(bank, "2025-04-04,Card,Transfer,100.00,USD,B2", name="b4.csv"))
    assert PAYOUTS not in bank.balances()
    bank.run(statement(bank, "2025-03-31,Card,Transfer,100.00,USD,B1", name="b3.csv"))
    assert bank.balances()[SUSPENSE] == Decimal("-100.00")

    bank.run(bank.payments(payout("2025-04-02", "100.00", "po_2"), name="april.csv"))

    assert bank.balances() == {BANK: Decimal("200.00"), CARD: Decimal("-200.00")}


def test_payout_met_by_hand_is_not_met_again(tmp_path: Path) -> None:
    by_hand = f"""\
{HERON}1970-01-01 open Assets:Bank:Checking
2025-03-04 * "Card processor" "Transfer" ^payout-po_1
  Assets:Bank:Checking     518.58 USD
  Assets:Clearing:Payouts
"""
    shop = bank_shop(tmp_path, ledger=by_hand)

    shop.run(shop.payments(SENT), statement(shop, ARRIVED))

    assert shop.balances()[SUSPENSE] == Decimal("-518.58")
    assert PAYOUTS not in shop.balances()


def test_two_processors_with_the_same_number_of_a_payout(bank: Shop) -> None:
    market = bank.file(
        "market.csv",
        "Posted;Entry;Order number;Details;Amount;Charges;Payable;Money;Entry number",
        "03/03/2025;Transfer;;Transfer;-60.00;0.00;-60.00;USD;po_1",
    )
    rows = [ARRIVED, "2025-03-05,Market,Transfer,60.00,USD,B2"]

    bank.run(bank.payments(SENT), market)
    bank.run(statement(bank, *rows))

    assert SUSPENSE not in bank.balances()
    assert PAYOUTS not in bank.balances()


def test_payouts_that_did_not_arrive_are_listed(bank: Shop) -> None:
    sent = [
        payout("2025-01-03", "11.00", "too-old"),
        payout("2025-02-20", "12.00", "late"),
        payout("2025-02-27", "13.00", "on-its-way"),
    ]
    report = bank.run(bank.payments(*sent), statement(bank, MILL))

    assert [each.link for each in report.bank.not_arrived] == ["payout-late"]
    assert bank.run(bank.payments(*sent)).bank.not_arrived == ()  # no statement


RULES = """\
[[bank]]
text = "paper mill*"
account = "Expenses:Materials"
direction = "out"
[[bank]]
text = "Card purchase*"
account = "Expenses:Office"
"""


@pytest.mark.parametrize(
    ("row", "account"),
    [
        ("Paper Mill Ltd,Card purchase 1,-84.20", "Expenses:Materials"),
        (",PAPER MILL,-84.20", "Expenses:Materials"),
        ("Paper Mill,Card purchase 1,84.20", "Expenses:Office"),
        ("The Paper Mill,Thanks,-84.20", SUSPENSE),
    ],
)
def test_rule_books_the_rest(tmp_path: Path, row: str, account: str) -> None:
    shop = bank_shop(tmp_path, RULES)

    shop.run(statement(shop, f"2025-03-06,{row},USD,B1"))

    amount = Decimal(row.rpartition(",")[2])
    assert shop.balances() == {BANK: amount, account: -amount}
    assert ("^" in shop.text("checking-2025-03.beancount")) is (account == SUSPENSE)


def test_payout_comes_before_a_rule(tmp_path: Path) -> None:
    rule = '[[bank]]\ntext = "*"\naccount = "Income:Other"\n'
    shop = bank_shop(tmp_path, rule)

    shop.run(shop.payments(SENT), statement(shop, ARRIVED))

    assert shop.balances() == MET


@pytest.mark.parametrize("bank_first", [False, True])
def test_rule_for_arrivals_needs_no_suspense(tmp_path: Path, bank_first: bool) -> None:
    rule = f'[[bank]]\ntext = "Card processor"\naccount = "{PAYOUTS}"\n'
    shop = bank_shop(tmp_path, rule)
    files = [shop.payments(SENT), statement(shop, ARRIVED)]
    for file in reversed(files) if bank_first else files:
        report = shop.run(file)
        assert SUSPENSE not in shop.balances()
        if file is files[1]:
            reasons = ["no payout of it is known"] if bank_first else []
            assert [each.reason for each in report.bank.unmatched] == reasons

    assert shop.balances() == MET
    report = shop.run(*files)
    assert report.written == ()
    assert report.bank.unmatched == report.bank.not_arrived == ()


def test_row_that_the_user_booked_by_hand_waits_no_longer(bank: Shop) -> None:
    bank.run(statement(bank, ARRIVED))
    path = bank.folder / "imports" / "checking-2025-03.beancount"
    path.write_text(path.read_text().replace(SUSPENSE, "Income:Prizes "))
    (bank.folder / "main.beancount").open("a").write("1970-01-01 open Income:Prizes\n")
    before = path.read_bytes()

    report = bank.run(bank.payments(SENT), statement(bank, ARRIVED))

    assert path.read_bytes() == before
    assert report.bank.unmatched == ()
    assert bank.balances()[PAYOUTS] == Decimal("518.58")


def test_rows_of_two_banks_with_the_same_numbers(tmp_path: Path) -> None:
    second = """\
[layouts.savings]
kind = "bank"
source = "savings"
currency = "USD"
columns = { date = "Day", text = "What", gross = "Sum", id = "No" }
"""
    shop = bank_shop(tmp_path, second)
    savings = shop.file("savings.csv", "Day,What,Sum,No", "2025-03-06,Interest,1.10,B1")

    report = shop.run(savings, statement(shop, ARRIVED))

    assert [each.row.link for each in report.bank.unmatched] == [
        "bank-checking/B1",
        "bank-savings/B1",
    ]
    assert shop.balances()["Assets:Bank:Savings"] == Decimal("1.10")


def test_text_of_a_row_is_inert(bank: Shop) -> None:
    text = "2025-01-01 open Assets:X ^payout-po_1 #tag"
    row = f'2025-03-06,"Mill ""Ltd"" \\","{text}",-1,USD,B1'

    bank.run(statement(bank, row))

    (transaction,) = bank.transactions()
    assert transaction.payee == 'Mill "Ltd" \\'
    assert transaction.links == {"bank-checking/B1"}
    assert bank.run(statement(bank, row)).bank.unmatched[0].row.payee == 'Mill "Ltd" \\'


def test_shipped_layout_reads_a_statement(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    file = shop.file(
        "bank.csv",
        "Booked,Counterparty,Purpose,Amount,Balance,Currency,Entry",
        "2025-03-04,Paper Mill,Invoice 4411,-84.20,115.80,USD,B-0017",
    )

    report = shop.run(file, layouts=["bank-statement"])

    assert shop.balances()[SUSPENSE] == Decimal("84.20")
    assert [(t.kind, t.net) for t in report.files[0].totals] == [
        ("bank", Decimal("-84.20"))
    ]


def test_statement_needs_no_channel_and_its_costs_have_none(bank: Shop) -> None:
    bank.run(statement(bank, MILL))

    assert all("channel" not in each.meta for each in bank.transactions())


@pytest.mark.parametrize("lines_first", [False, True])
def test_import_that_was_broken_off(bank: Shop, lines_first: bool) -> None:
    """Of a payout or an order and its row, written at once, only one file was written."""
    orders = bank.orders("W1,2025-02-03,HERON,1,4.00,0,0,0,USD")
    paid = "2025-03-06,Buyer,W1,4.00,USD,B3"
    files = [bank.payments(SENT), orders, statement(bank, ARRIVED, paid)]
    bank.run(*files)
    whole = bank.balances()
    lost = "checking-2025-03" if lines_first else "card-2025-03", "shop-orders-2025-02"
    for name in lost[:1] if lines_first else lost:
        (bank.folder / "imports" / f"{name}.beancount").unlink()

    bank.run(*files)

    assert bank.balances() == whole
    assert bank.run(*files).written == ()


TWO_COLUMNS = """\
[layouts.giro]
kind = "bank"
source = "giro"
currency = "EUR"
[layouts.giro.file]
delimiter = ";"
[layouts.giro.columns]
date = "Day"
text = ["Kind", "Purpose"]
credit = "In"
debit = "Out"
[layouts.giro.forms]
date = "%d.%m.%Y"
locale = "de_DE"
[[layouts.giro.book-to]]
column = "Kind"
equals = "Fees"
account = "Expenses:Bank"
"""


def test_layout_with_two_columns_and_a_rule_of_its_own(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path, TWO_COLUMNS)
    file = shop.file(
        "giro.csv",
        "Day;Kind;Purpose;In;Out",
        "04.03.2025;Transfer;Payout po_1;1.518,58;",
        "04.03.2025;Fees;March;;2,50",
        "04.03.2025;Fees;March;;2,50",
    )
    sent = payout("2025-03-03", "1518.58", "po_1", "EUR")

    shop.run(file)
    shop.run(shop.payments(sent))

    assert shop.balances() == {
        "Assets:Bank:Giro": Decimal("1513.58"),
        CARD: Decimal("-1518.58"),
        "Expenses:Bank": Decimal("5.00"),
    }
    assert shop.run(file).written == ()
    narrations = {each.narration for each in shop.transactions()}
    assert {"Transfer / Payout po_1", "Fees / March"} <= narrations

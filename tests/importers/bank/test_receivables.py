"""Rows of a bank that name orders settle what is owed for them."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from offcut.importers.bank.receivables import order_keys
from tests.importers.bank.bank_shop import BANK, SUSPENSE, bank_shop, statement
from tests.importers.shop import Shop

OWED = "Assets:Receivable:Web"


@pytest.fixture
def bank(tmp_path: Path) -> Shop:
    """A shop with a bank and three orders that are not paid."""
    shop = bank_shop(tmp_path / "bank")
    orders = [("W1042", "100.00"), ("W1043", "50.00"), ("1044", "30.00")]
    shop.run(
        shop.orders(
            *(f"{name},2025-02-03,HERON,1,{owed},0,0,0,USD" for name, owed in orders)
        )
    )
    return shop


def row(text: str, amount: str, number: str = "B1", currency: str = "USD") -> str:
    return f'2025-03-04,Harbour Books,"{text}",{amount},{currency},{number}'


def test_order_paid_at_the_bank(bank: Shop) -> None:
    report = bank.run(statement(bank, row("Invoice W1042", "100.00")))

    assert bank.text("checking-2025-03.beancount").endswith(
        """
2025-03-04 * "Harbour Books" "Invoice W1042" ^order-W1042
  movement: "bank"
  source-id: "checking/B1"
  Assets:Bank:Checking                               100.00 USD
  Assets:Receivable:Web                             -100.00 USD
"""
    )
    assert bank.balances()[OWED] == Decimal("80.00")
    assert report.bank.notes == report.bank.unmatched == ()


@pytest.mark.parametrize(
    ("text", "settles"),
    [
        ("W1042", True),
        ("thanks for W1042.", True),
        ("no.W1042/2025", True),
        ("#W1042", True),
        ("inv w1042", True),  # banks write what they like
        ("XW1042", False),
        ("W10421", False),
        ("W1042-2", False),
        ("W 1042", False),
    ],
)
def test_number_stands_by_itself(bank: Shop, text: str, settles: bool) -> None:
    bank.run(statement(bank, row(text, "100.00")))

    assert (SUSPENSE not in bank.balances()) is settles


def test_number_may_stand_in_the_payee(bank: Shop) -> None:
    bank.run(statement(bank, "2025-03-04,Buyer of W1042,,100.00,USD,B1"))

    assert SUSPENSE not in bank.balances()


def test_short_payment_settles_what_was_paid(bank: Shop) -> None:
    report = bank.run(statement(bank, row("W1042", "95.00")))

    assert bank.balances()[OWED] == Decimal("85.00")
    assert report.bank.notes == (
        "order W1042: paid 95.00 USD by the bank on 2025-03-04; 5.00 stays in "
        "Assets:Receivable:Web",
    )
    report = bank.run(statement(bank, row("rest of W1042", "5.00", "B2")))
    assert bank.balances()[OWED] == Decimal("80.00")
    assert report.bank.notes == ()


def test_rest_of_what_was_paid_waits(bank: Shop) -> None:
    report = bank.run(statement(bank, row("W1042", "110.00")))

    assert bank.balances()[SUSPENSE] == Decimal("-10.00")
    assert [(each.row.amount, each.reason) for each in report.bank.unmatched] == [
        (Decimal("10.00"), "more than W1042 owed")
    ]


def test_several_orders_that_fit(bank: Shop) -> None:
    bank.run(statement(bank, row("W1042 and W1043", "150.00")))

    assert bank.balances()[OWED] == Decimal("30.00")
    assert bank.text("checking-2025-03.beancount").endswith(
        """
2025-03-04 * "Harbour Books" "W1042 and W1043" ^order-W1042 ^order-W1043
  movement: "bank"
  source-id: "checking/B1"
  Assets:Bank:Checking                               150.00 USD
  Assets:Receivable:Web                             -100.00 USD
    order: "W1042"
  Assets:Receivable:Web                              -50.00 USD
    order: "W1043"
"""
    )
    # What the transaction says of each order is understood again.
    report = bank.run(statement(bank, row("W1042", "1.00", "B2")))
    assert bank.balances()[SUSPENSE] == Decimal("-1.00")
    assert report.bank.unmatched[0].reason == ""


def test_several_orders_that_do_not_fit_are_listed(bank: Shop) -> None:
    report = bank.run(statement(bank, row("W1042 and W1043", "149.00")))

    assert bank.balances()[SUSPENSE] == Decimal("-149.00")
    assert report.bank.unmatched[0].reason == (
        "it names W1042 and W1043, which owe 150.00 USD together"
    )


@pytest.mark.parametrize(("amount", "settles"), [("30.00", True), ("29.00", False)])
def test_digits_alone_have_to_fit(bank: Shop, amount: str, settles: bool) -> None:
    report = bank.run(statement(bank, row("Rent 1044", amount)))

    assert (SUSPENSE not in bank.balances()) is settles
    reasons = [] if settles else ["it may be for 1044, which owes 30.00 USD"]
    assert [each.reason for each in report.bank.unmatched] == reasons


@pytest.mark.parametrize("wrong", ["-100.00,USD", "100.00,EUR"])
def test_money_that_goes_out_or_is_another(bank: Shop, wrong: str) -> None:
    bank.run(statement(bank, f"2025-03-04,Buyer,W1042,{wrong},B1"))

    assert bank.balances()[SUSPENSE] == -Decimal(wrong[:-4])


def test_order_that_is_known_later(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)
    shop.run(statement(shop, row("W1042", "100.00")))
    assert shop.balances() == {BANK: Decimal("100.00"), SUSPENSE: Decimal("-100.00")}

    shop.run(shop.orders("W1042,2025-04-03,HERON,1,120.00,0,0,0,USD"))

    assert shop.balances()[OWED] == Decimal("20.00")
    assert SUSPENSE not in shop.balances()
    assert "^bank-checking/B1 ^order-W1042\n" in shop.text("checking-2025-03.beancount")
    before = shop.contents()
    shop.run(shop.orders("W1042,2025-04-03,HERON,1,120.00,0,0,0,USD"))
    assert shop.contents() == before


def test_order_of_this_import(tmp_path: Path) -> None:
    shop = bank_shop(tmp_path)

    shop.run(
        statement(shop, row("W1042", "100.00")),
        shop.orders("W1042,2025-02-03,HERON,1,100.00,0,0,0,USD"),
    )

    assert shop.balances() == {
        BANK: Decimal("100.00"),
        "Income:Sales:Web": Decimal("-100.00"),
    }


def test_rule_comes_before_an_order(tmp_path: Path) -> None:
    rule = '[[bank]]\ntext = "Harbour Books"\naccount = "Income:Other"\n'
    shop = bank_shop(tmp_path, rule)

    shop.run(
        statement(shop, row("W1042", "100.00")),
        shop.orders("W1042,2025-02-03,HERON,1,100.00,0,0,0,USD"),
    )

    assert shop.balances()[OWED] == Decimal("100.00")


def test_order_that_the_user_booked_by_hand(tmp_path: Path) -> None:
    by_hand = """\
1970-01-01 open Assets:Receivable:Wholesale
1970-01-01 open Income:Sales:Wholesale
2025-02-03 * "Harbour Books" "Invoice" ^order-INV-7
  Income:Sales:Wholesale   -60.00 USD
  Assets:Receivable:Wholesale
"""
    shop = bank_shop(tmp_path, ledger=by_hand)

    shop.run(statement(shop, row("INV-7", "60.00")))

    assert shop.balances() == {
        BANK: Decimal("60.00"),
        "Income:Sales:Wholesale": Decimal("-60.00"),
    }


def test_keys_have_the_prefixes_of_layouts() -> None:
    assert order_keys(["Order 12, M-7."], {"", "shop-"}) == [
        "12",
        "shop-12",
        "m-7",
        "shop-m-7",
    ]

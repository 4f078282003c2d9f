"""Wholesale: an invoice, a receivable, and a payment weeks later, in full or short."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from tests.importers.shop import Shop

D = Decimal
INVOICES = (
    "Invoice,Issued,Buyer,Goods,Pieces,Retail price,Trade discount,Carriage,State,Currency"
)
SENT = "H-031,2025-03-04,Harbour Books,Heron,20,4.00,50 %,6.00,sent,USD"
PAID = "H-031,2025-04-20,Harbour Books,Heron,20,4.00,50 %,6.00,paid,USD"
TRANSFERS = """\
kind = "payments"
source = "transfers"
channel = "Wholesale"
currency = "USD"
[columns]
date = "Date"
order = "Invoice"
gross = "Gross"
[types]
default = "sale"
"""
OWED = "Assets:Receivable:Wholesale"


@pytest.fixture
def trade(shop: Shop) -> Shop:
    """A shop whose invoices are paid by transfer."""
    (shop.folder / "layouts").mkdir()
    (shop.folder / "layouts" / "transfers.toml").write_text(TRANSFERS, "utf-8")
    return shop


def invoices(shop: Shop, *rows: str, name: str = "invoices.csv") -> Path:
    """Write a file of the layout `wholesale-invoices`."""
    return shop.file(name, INVOICES, *rows)


def transfers(shop: Shop, *rows: str, name: str = "transfers.csv") -> Path:
    """Write a file of transfers."""
    return shop.file(name, "Date,Invoice,Gross", *rows)


def test_invoice_is_receivable_with_its_discount_apart(trade: Shop) -> None:
    trade.run(invoices(trade, SENT))

    assert trade.balances() == {
        OWED: D("46.00"),
        "Income:Discounts:Wholesale": D("40.00"),
        "Income:Sales:Wholesale": D("-80.00"),
        "Income:Shipping:Wholesale": D("-6.00"),
    }
    (transaction,) = trade.transactions()
    assert transaction.payee == "Harbour Books"
    assert transaction.narration == "Wholesale order H-031"


def test_prices_may_be_those_of_wholesale_already(trade: Shop) -> None:
    trade.run(invoices(trade, SENT.replace("4.00,50 %", "2.00,")))

    assert trade.balances() == {
        OWED: D("46.00"),
        "Income:Sales:Wholesale": D("-40.00"),
        "Income:Shipping:Wholesale": D("-6.00"),
    }


def test_invoice_that_was_sent_and_is_paid_is_booked_once(trade: Shop) -> None:
    report = trade.run(invoices(trade, SENT, PAID))
    assert report.files[0].left_out == {"listed again as paid": 1}
    before = trade.contents()

    trade.run(invoices(trade, PAID, name="april.csv"))
    report = trade.run(invoices(trade, SENT, PAID, name="all.csv"))

    assert trade.balances()[OWED] == D("46.00")
    assert report.notes == ()
    assert {k: v for k, v in trade.contents().items() if not k.endswith(".csv")} == {
        k: v for k, v in before.items() if not k.endswith(".csv")
    }


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
def test_payment_weeks_later_closes_it_on_its_own_day(
    trade: Shop, order: tuple[int | None, ...]
) -> None:
    files = [invoices(trade, SENT), transfers(trade, "2025-04-20,H-031,46.00")]
    for each in order:
        report = trade.run(*(files if each is None else [files[each]]))

    assert OWED not in trade.balances()
    assert "Income:Suspense:Wholesale" not in trade.balances()
    assert report.notes == ()
    assert [each.date.isoformat() for each in trade.transactions()] == [
        "2025-03-04",
        "2025-04-20",
    ]


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
def test_short_payment_leaves_the_rest_receivable(
    trade: Shop, order: tuple[int | None, ...]
) -> None:
    files = [invoices(trade, SENT), transfers(trade, "2025-04-20,H-031,40.00")]
    for each in order:
        report = trade.run(*(files if each is None else [files[each]]))

    assert trade.balances()[OWED] == D("6.00")
    assert "Income:Suspense:Wholesale" not in trade.balances()
    assert report.notes == (
        "Wholesale order H-031: paid 40.00, owed 46.00 USD; the difference of -6.00 is in "
        f"{OWED}",
    )

    trade.run(transfers(trade, "2025-05-02,H-031,6.00", name="may.csv"))
    assert OWED not in trade.balances()


def test_invoice_at_a_price_for_the_shop_and_a_free_sample(trade: Shop) -> None:
    sample = SENT.replace("Heron,20,4.00,50 %", "Moth,1,0.00,")
    trade.run(invoices(trade, SENT, sample))

    assert trade.balances()[OWED] == D("46.00")
    text = trade.text("wholesale-invoices-2025-03.beancount")
    assert 'cost-account: "Expenses:Marketing:Giveaways"' in text


def test_invoice_that_is_corrected_before_it_is_paid(trade: Shop) -> None:
    trade.run(invoices(trade, SENT))
    later = SENT.replace("H-031,2025-03-04", "H-032,2025-03-06")
    again = invoices(trade, SENT.replace(",20,4.00", ",15,4.00"), later, name="again.csv")
    trade.run(again)

    assert trade.balances()[OWED] == D("36.00") + D("46.00")
    (edited,) = [each for each in trade.transactions() if "#2" in each.meta["lines-id"]]
    assert edited.payee == "Harbour Books"


@pytest.mark.parametrize("word", ["cancelled", "Canceled", "void"])
def test_invoice_that_is_cancelled_is_not_owed(trade: Shop, word: str) -> None:
    trade.run(invoices(trade, SENT))
    file = invoices(trade, SENT.replace("sent", word), name="again.csv")

    report = trade.run(file)

    assert "was cancelled by again.csv" in report.notes[0]
    assert OWED not in trade.balances()
    assert trade.run(invoices(trade, SENT)).files[0].booked == 0
    assert OWED not in trade.balances()

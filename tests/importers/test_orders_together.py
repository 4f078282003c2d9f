"""Payments for several orders, gift cards, tips, and tax that the marketplace keeps."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from decimal import Decimal
from itertools import permutations
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.importers.shop import Shop, new_shop

D = Decimal
PAYMENTS = """\
kind = "payments"
source = "till"
channel = "Web"
currency = "USD"
[columns]
date = "Date"
type = "Type"
order = "Order"
gross = "Gross"
fee = "Fee"
tip = "Tip"
tax-remitted = "Kept"
id = "Id"
[types]
sale = ["Sale"]
refund = ["Refund"]
deposit = ["Deposit"]
gift-card-use = ["Card"]
tax-remitted = ["Tax"]
[orders]
several = "+"
"""
ORDERS = """\
kind = "order-lines"
source = "book"
channel = "Web"
currency = "USD"
[columns]
order = "No"
date = "Day"
item = "Item"
quantity = "Pieces"
unit-price = "Each"
shipping = "Post"
tax = "Tax"
[orders]
tax = "remitted"
"""
OPEN = ("Assets:Receivable:Web", "Income:Suspense:Web", "Liabilities:Deposits")
KEPT = "Assets:Clearing:RemittedTax:Web"


def market_shop(folder: Path) -> Shop:
    """Make a shop whose payments and orders are such files."""
    shop = new_shop(folder)
    (shop.folder / "layouts").mkdir()
    for name, text in (("till", PAYMENTS), ("book", ORDERS)):
        (shop.folder / "layouts" / f"{name}.toml").write_text(text, "utf-8")
    return shop


@pytest.fixture
def market(tmp_path: Path) -> Shop:
    """A shop on a marketplace."""
    return market_shop(tmp_path / "market")


def till(shop: Shop, *rows: str, name: str = "till.csv") -> Path:
    """Write a file of payments."""
    return shop.file(name, "Date,Type,Order,Gross,Fee,Tip,Kept,Id", *rows)


def book(shop: Shop, *rows: str, name: str = "book.csv") -> Path:
    """Write a file of orders."""
    return shop.file(name, "No,Day,Item,Pieces,Each,Post,Tax", *rows)


def still_open(shop: Shop) -> dict[str, Decimal]:
    """Return what is owed, waits, or is tax in between."""
    return {k: v for k, v in shop.balances().items() if k in (*OPEN, KEPT)}


# --- one payment for two orders ----------------------------------------------------

ONE = "A1,2025-03-01,Heron,1,4.00,1.00,0"
TWO = "A2,2025-03-02,Moth,2,3.00,0,0"
BOTH = "2025-03-05,Sale,A1 + A2,11.00,0.40,,,t1"


@pytest.mark.parametrize("order", [*permutations(range(3)), (None,)])
def test_payment_for_two_orders_settles_both(
    market: Shop, order: tuple[int | None, ...]
) -> None:
    files = [
        book(market, ONE, name="one.csv"),
        book(market, TWO, name="two.csv"),
        till(market, BOTH),
    ]
    for each in order:
        report = market.run(*(files if each is None else [files[each]]))

    assert still_open(market) == {}
    assert report.notes == ()
    (payment,) = [each for each in market.transactions() if "source-id" in each.meta]
    assert payment.links == {"order-A1", "order-A2"}
    assert market.balances()["Assets:Clearing:Till"] == D("10.60")


def test_until_all_lines_are_there_the_rest_waits(market: Shop) -> None:
    market.run(book(market, ONE))
    report = market.run(till(market, BOTH))

    assert still_open(market) == {"Income:Suspense:Web": D("-6.00")}
    assert report.notes == (
        "1 payment names an order whose lines are not imported: 6.00 USD of sales is in "
        "Income:Suspense:Web until they are",
    )


@pytest.mark.parametrize(
    ("gross", "account", "rest"),
    [
        ("9.00", "Assets:Receivable:Web", "2.00"),
        ("12.50", "Income:Suspense:Web", "-1.50"),
    ],
)
def test_payment_for_two_orders_that_differs_is_noted(
    market: Shop, gross: str, account: str, rest: str
) -> None:
    report = market.run(book(market, ONE, TWO), till(market, BOTH.replace("11.00", gross)))

    assert still_open(market) == {account: D(rest)}
    assert report.notes == (
        f"Web orders A1 + A2: paid {gross}, owed 11.00 USD; the difference of "
        f"{D(gross) - 11} is in {account}",
    )


def test_order_of_two_payments_one_of_them_shared(market: Shop) -> None:
    first = "2025-03-03,Sale,A1,2.00,0,,,t0"
    market.run(till(market, first), book(market, ONE))
    assert still_open(market) == {"Assets:Receivable:Web": D("3.00")}
    market.run(till(market, BOTH.replace("11.00", "9.00"), name="both.csv"))
    market.run(book(market, TWO, name="two.csv"))

    assert still_open(market) == {}


# --- gift cards and tips -----------------------------------------------------------


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
def test_gift_card_and_a_payment_pay_an_order_together(
    market: Shop, order: tuple[int | None, ...]
) -> None:
    files = [
        till(market, "2025-03-05,Card,A1,2.00,,,,c1", "2025-03-05,Sale,A1,3.00,0.10,,,t1"),
        book(market, ONE),
    ]
    for each in order:
        report = market.run(*(files if each is None else [files[each]]))

    assert still_open(market) == {}
    assert report.notes == ()
    balances = market.balances()
    assert balances["Assets:Clearing:Till"] == D("2.90")
    assert balances["Liabilities:GiftCards"] == D("2.00")


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
def test_tip_is_no_part_of_what_an_order_is_paid(
    market: Shop, order: tuple[int | None, ...]
) -> None:
    files = [till(market, "2025-03-05,Sale,A1,6.50,0.10,1.50,,t1"), book(market, ONE)]
    for each in order:
        report = market.run(*(files if each is None else [files[each]]))

    assert still_open(market) == {}
    assert report.notes == ()
    assert market.balances()["Income:Tips:Web"] == D("-1.50")


# --- sales tax that the marketplace pays over --------------------------------------

TAXED = ONE.replace("1.00,0", "1.00,0.45")
WITH_TAX = "2025-03-05,Sale,A1,5.45,0.40,,0.45,t1"
OWN_ROW = ("2025-03-05,Sale,A1,5.45,0.40,,,t1", "2025-03-05,Tax,A1,-0.45,,,,x1")


@pytest.mark.parametrize("payment", [(WITH_TAX,), OWN_ROW])
@pytest.mark.parametrize("lines", [ONE, TAXED])
@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
def test_tax_that_the_marketplace_keeps_is_neither_income_nor_owed(
    market: Shop, payment: Sequence[str], lines: str, order: tuple[int | None, ...]
) -> None:
    files = [till(market, *payment), book(market, lines)]
    for each in order:
        report = market.run(*(files if each is None else [files[each]]))

    assert report.notes == ()
    assert market.balances() == {
        "Assets:Clearing:Till": D("4.60"),
        "Expenses:Fees:Till": D("0.40"),
        "Income:Sales:Web": D("-4.00"),
        "Income:Shipping:Web": D("-1.00"),
    }


REFUND = "2025-03-09,Refund,A1,-4.36,0,,-0.36,r1"


@pytest.mark.parametrize("lines", [ONE, TAXED])
def test_refund_gives_the_tax_back_that_was_kept(market: Shop, lines: str) -> None:
    market.run(till(market, WITH_TAX, REFUND), book(market, lines))

    assert market.balances() == {
        "Assets:Clearing:Till": D("0.60"),
        "Expenses:Fees:Till": D("0.40"),
        "Income:Refunds:Web": D("4.00"),
        "Income:Sales:Web": D("-4.00"),
        "Income:Shipping:Web": D("-1.00"),
    }


@pytest.mark.parametrize("tax", ["0", "-0.36"])
@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_refund_of_a_cancelled_line_with_its_tax(
    market: Shop, order: tuple[int, ...], tax: str
) -> None:
    sold = "0.45" if tax != "0" else "0"
    files = [
        till(market, WITH_TAX, name="march.csv"),
        till(market, REFUND, name="april.csv"),
        book(
            market,
            f"A1,2025-03-01,Heron,1,4.00,1.00,{D(sold) + D(tax)}",
            f"A1,2025-03-08,Heron,-1,4.00,1.00,{D(sold) + D(tax)}",
        ),
    ]
    for each in order:
        report = market.run(files[each])

    assert still_open(market) == {}
    assert report.notes == ()
    assert market.balances()["Income:Refunds:Web"] == D("4.00")


# --- any trade ---------------------------------------------------------------------


class Trade(NamedTuple):
    """Rows of files: an item of the second is the rows of one order."""

    payments: list[str]
    orders: list[list[str]]


@st.composite
def trades(draw: st.DrawFn) -> Trade:
    """Orders and all kinds of payments, for one of them or for several."""
    cents = st.integers(1, 900).map(lambda each: D(each) / 100)
    keys = ["A1", "A2", "A3"][: draw(st.integers(1, 3))]
    orders, totals = [], {}
    for key in keys:
        post, tax = draw(cents), draw(st.sampled_from([D(0), D(0), D("0.45")]))
        totals[key], rows = post + tax, []
        for _ in range(draw(st.integers(1, 2))):
            pieces, each = draw(st.sampled_from([1, 2, -1])), draw(cents)
            item = draw(st.sampled_from(["Heron", "A box of things"]))
            totals[key] += pieces * each
            rows.append(f"{key},2025-03-02,{item},{pieces},{each},{post},{tax}")
        orders.append(rows)
    payments = []
    for number in range(draw(st.integers(0, 4))):
        of = draw(st.lists(st.sampled_from(keys), min_size=1, max_size=3, unique=True))
        total = sum((totals[key] for key in of), D(0))
        gross = draw(st.sampled_from([total, (total / 2).quantize(D("0.01")), D("3.10")]))
        kind = draw(st.sampled_from(["Sale", "Sale", "Card", "Deposit", "Refund", "Tax"]))
        kept = draw(st.sampled_from([D(0), D(0), D("0.45")]))
        gross = abs(gross) + D("0.50")
        tip = draw(st.sampled_from(["", "0.50"])) if kind == "Sale" else ""
        if kind in ("Refund", "Tax"):
            gross, kept = -gross, -kept
        kept = kept if kind in ("Sale", "Refund") else D(0)
        if kind == "Tax":
            gross, of = D("-0.45"), of[:1]
        payments.append(f"2025-03-05,{kind},{'+'.join(of)},{gross},,{tip},{kept},p{number}")
    return Trade(payments, orders)


# Files are drawn between the imports, which the check takes for slow drawing.
@settings(suppress_health_check=[HealthCheck.too_slow])
@given(trade=trades(), data=st.data())
def test_any_order_of_imports_comes_to_the_same_balances(
    trade: Trade, data: st.DataObject
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        balances = []
        for name in ("at-once", "piecemeal"):
            shop = market_shop(Path(folder) / name)
            files = [
                till(shop, row, name=f"p{n}.csv") for n, row in enumerate(trade.payments)
            ]
            files += [
                book(shop, *rows, name=f"o{n}.csv") for n, rows in enumerate(trade.orders)
            ]
            if name == "at-once":
                shop.run(*files)
            else:
                for file in data.draw(st.permutations(files)):
                    shop.run(file)
                before = shop.contents()
                shop.run(*files)
                assert shop.contents() == before
            balances.append(shop.balances())
        assert balances[0] == balances[1]

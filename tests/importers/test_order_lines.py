"""What a file of order lines says beside its lines: reductions, coupons, buyers, status."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from tests.importers.shop import Shop, new_shop

LAYOUT = """\
kind = "order-lines"
source = "studio"
channel = "Web"
currency = ["USD", "JPY"]
[columns]
order = "No"
date = "Day"
item = "Item"
quantity = "Pieces"
unit-price = "Each"
{columns}
[forms]
{forms}
[orders]
{orders}
"""


def layout(shop: Shop, columns: str, forms: str = "", orders: str = "") -> str:
    """Write a layout with more columns than it needs; return its path."""
    text = LAYOUT.format(columns=columns, forms=forms, orders=orders)
    return str(shop.file("studio.toml", *text.splitlines()))


RATE = 'discount-rate = "Rate"'
HEADER = "No,Day,Item,Pieces,Each"


def discounts(shop: Shop) -> list[tuple[str, str]]:
    """Return what was taken off, and from which item."""
    return [
        (str(posting.units.number), (posting.meta or {}).get("item", ""))
        for transaction in shop.transactions()
        for posting in transaction.postings
        if posting.account == "Income:Discounts:Web"
    ]


# --- discounts in percent ----------------------------------------------------------


@pytest.mark.parametrize(
    ("rate", "forms", "off"),
    [
        ("50", "", "4.01"),  # half of 8.01 is 4.005, rounded half up
        ("50 %", "", "4.01"),
        ("50%", "", "4.01"),
        ("12.5", "", "1.00"),
        ("100", "", "8.01"),
        ("-50 %", 'discount = "negative"', "4.01"),
        ("12,5\u00a0%", 'locale = "de_DE"', "1.00"),
    ],
)
def test_rate_is_taken_off_the_lines_amount(
    shop: Shop, rate: str, forms: str, off: str
) -> None:
    each = "8,01" if "de_DE" in forms else "8.01"
    rows = [f'W1,2025-03-03,Heron,1,"{each}","{rate}"', f'W1,2025-03-03,Moth,1,"{each}",']
    shop.run(
        shop.file("a.csv", f"{HEADER},Rate", *rows), layouts=[layout(shop, RATE, forms)]
    )

    assert discounts(shop) == [(off, "HERON-STK")]
    assert shop.balances()["Assets:Receivable:Web"] == Decimal("16.02") - Decimal(off)


def test_rate_of_a_cancelled_line_gives_the_discount_back(shop: Shop) -> None:
    rows = ["W1,2025-03-03,Heron,2,8.01,50", "W1,2025-03-04,Heron,-1,8.01,50"]
    shop.run(shop.file("a.csv", f"{HEADER},Rate", *rows), layouts=[layout(shop, RATE)])

    assert discounts(shop) == [("8.01", "HERON-STK"), ("-4.01", "HERON-STK")]


def test_rate_and_discount_of_a_line_add_up(shop: Shop) -> None:
    own = layout(shop, f'{RATE}\ndiscount = "Off"')
    row = "W1,2025-03-03,Heron,1,8.00,25,1.00"
    shop.run(shop.file("a.csv", f"{HEADER},Rate,Off", row), layouts=[own])

    assert discounts(shop) == [("3.00", "HERON-STK")]


def test_rate_in_a_currency_without_minor_unit(shop: Shop) -> None:
    own = layout(shop, f'{RATE}\ncurrency = "Money"')
    row = "W1,2025-03-03,Heron,1,333,50,JPY"
    shop.run(shop.file("a.csv", f"{HEADER},Rate,Money", row), layouts=[own])

    assert discounts(shop) == [("167", "HERON-STK")]


@pytest.mark.parametrize("rate", ["101", "-1", "half", "50 percent", "%%"])
def test_rate_that_is_none_is_refused(shop: Shop, rate: str) -> None:
    file = shop.file("a.csv", f"{HEADER},Rate", f"W1,2025-03-03,Heron,1,8.00,{rate}")

    (line,) = shop.refused(file, layouts=[layout(shop, RATE)])

    assert line.startswith("a.csv: row 2, column Rate: expected a")


# --- discounts of the whole order --------------------------------------------------


def test_discount_of_the_order_stands_on_every_line(shop: Shop) -> None:
    own = layout(shop, 'order-discount = "Off"\ncoupon = "Code"')
    rows = ["W1,2025-03-03,Heron,1,8.00,3.00,SPRING", "W1,2025-03-03,Moth,1,4.00,3.00,"]
    shop.run(shop.file("a.csv", f"{HEADER},Off,Code", *rows), layouts=[own])

    assert discounts(shop) == [("3.00", "")]
    (transaction,) = shop.transactions()
    assert transaction.meta["coupon"] == "SPRING"
    assert shop.balances()["Assets:Receivable:Web"] == Decimal("9.00")


def test_discounts_of_the_order_add_up_and_are_negative_in_the_file(shop: Shop) -> None:
    own = layout(
        shop,
        'order-discount = "Off"\ncoupon = "Code"',
        'discount = "negative"',
        'amounts = "add-up"',
    )
    rows = [
        "W1,2025-03-03,Heron,1,8.00,-3.00,SPRING",
        "W1,2025-03-03,Moth,1,4.00,-1.00,TWO",
    ]
    report = shop.run(shop.file("a.csv", f"{HEADER},Off,Code", *rows), layouts=[own])

    assert discounts(shop) == [("4.00", "")]
    (transaction,) = shop.transactions()
    assert transaction.meta["coupon"] == "SPRING, TWO"
    totals = {total.kind: total.net for total in report.files[0].totals}
    assert totals == {"lines": Decimal("12.00"), "order discounts": Decimal("-4.00")}


def test_discounts_of_one_order_that_disagree_are_refused(shop: Shop) -> None:
    rows = ["W1,2025-03-03,Heron,1,8.00,3.00", "W1,2025-03-03,Moth,1,4.00,2.00"]
    file = shop.file("a.csv", f"{HEADER},Off", *rows)

    (line,) = shop.refused(file, layouts=[layout(shop, 'order-discount = "Off"')])

    assert line.startswith(
        "a.csv: row 3, column Off: expected 3.00 as in row 2 of the same"
    )


def test_coupon_is_kept_where_the_payment_comes_with_the_lines(shop: Shop) -> None:
    own = layout(shop, 'order-discount = "Off"\ncoupon = "Code"')
    file = shop.file(
        "a.csv", f"{HEADER},Off,Code", "W1,2025-03-03,Heron,1,8.00,3.00,SPRING"
    )
    paid = shop.payments("2025-03-04,Sale,W1,,5.00,0.20,4.80,USD,ch_1")
    report = shop.run(file, paid, layouts=[own, "card-payments"])

    (transaction,) = shop.transactions()
    assert transaction.meta["coupon"] == "SPRING"
    assert report.notes == ()


@pytest.mark.parametrize(("shipping", "owed"), [("0.00", "8.00"), ("-2.50", "5.50")])
def test_free_shipping_may_be_nothing_or_taken_off(
    shop: Shop, shipping: str, owed: str
) -> None:
    shop.run(shop.orders(f"W1,2025-03-03,Heron,2,4.00,0,{shipping},0,USD"))

    balances = shop.balances()
    assert balances["Assets:Receivable:Web"] == Decimal(owed)
    assert balances.get("Income:Shipping:Web", Decimal(0)) == -Decimal(shipping)


# --- variants and extras -----------------------------------------------------------


def test_item_of_several_columns_is_matched_as_one_text(tmp_path: Path) -> None:
    settings = (
        '[[items]]\ntext = "Heron * / 3 in*"\nproduct = "HERON-STK"\n'
        '[[items]]\ntext = "Heron * / *glossy"\nproduct = "MOTH-STK"\n'
    )
    shop = new_shop(tmp_path / "shop", settings=settings)
    text = LAYOUT.replace('item = "Item"', 'item = ["Item", "Size", "Finish"]')
    text = text.format(columns="", forms="", orders="")
    own = str(shop.file("studio.toml", *text.splitlines()))
    file = shop.file(
        "a.csv",
        "No,Day,Item,Size,Finish,Pieces,Each",
        "W1,2025-03-03,Heron at Dusk,3 in,matt,1,4.00",
        "W1,2025-03-03,Heron at Dusk,5 in,glossy,1,6.00",
        "W1,2025-03-03,Heron at Dusk,,,1,1.00",
    )

    report = shop.run(file, layouts=[own])

    items = [
        posting.meta.get("item") or posting.meta.get("item-text")
        for transaction in shop.transactions()
        for posting in transaction.postings
        if "quantity" in (posting.meta or {})
    ]
    assert items == ["HERON-STK", "MOTH-STK", "Heron at Dusk"]
    assert [each.text for each in report.unknown_items] == ["Heron at Dusk"]


def test_free_extra_is_given_away_and_its_account_opened(shop: Shop) -> None:
    shop.run(
        shop.orders(
            "W1,2025-03-03,Heron,2,4.00,0,0,0,USD", "W1,2025-03-03,Moth,1,0,0,0,0,USD"
        )
    )

    free = shop.transactions()[0].postings[-1]
    assert (free.account, free.units.number) == ("Income:Sales:Web", Decimal(0))
    assert free.meta["item"] == "MOTH-STK"
    assert free.meta["quantity"] == 1
    assert free.meta["cost-account"] == "Expenses:Marketing:Giveaways"
    assert "open Expenses:Marketing:Giveaways" in shop.text("accounts.beancount")


def test_line_whose_whole_price_is_taken_off_is_a_sale(shop: Shop) -> None:
    shop.run(shop.orders("W1,2025-03-03,Heron,1,4.00,4.00,0,0,USD"))

    assert "cost-account" not in shop.text("shop-orders-2025-03.beancount")


def test_unknown_free_extra_waits_in_suspense(shop: Shop) -> None:
    shop.run(shop.orders("W1,2025-03-03,A postcard,1,0,0,0,0,USD"))

    text = shop.text("shop-orders-2025-03.beancount")
    assert 'item-text: "A postcard"' in text
    assert "cost-account" not in text


def test_cancelled_free_extra_comes_back_to_the_shelf(shop: Shop) -> None:
    main = shop.ledger.read_text()
    shop.ledger.write_text(
        f'plugin "offcut.plugins"\n{main}\n'
        "2025-01-01 open Assets:Bank\n"
        '2025-01-02 * "Bought"\n  Assets:Stock:MOTH-STK  9 MOTH-STK {1.00 USD}\n'
        "  Assets:Bank  -9.00 USD\n"
    )
    shop.run(
        shop.orders("W1,2025-03-03,Moth,3,0,0,0,0,USD", "W1,2025-03-04,Moth,-1,0,0,0,0,USD")
    )

    balances = shop.balances()
    assert balances["Expenses:Marketing:Giveaways"] == Decimal("2.00")
    assert "Expenses:COGS:MOTH-STK" not in balances


# --- an invoice that is listed again -----------------------------------------------

STATUS = 'buyer = "For"\nstatus = "State"'
STATUS_HEADER = f"{HEADER},For,State"


def test_invoice_that_is_sent_and_paid_is_read_once(shop: Shop) -> None:
    own = layout(shop, STATUS)
    rows = [
        "7,2025-03-03,Heron,10,2.00,Harbour Books,sent",
        "7,2025-03-03,Moth,5,2.00,Harbour Books,sent",
        "8,2025-03-05,Moth,5,2.00,Tide Books,sent",
        "7,2025-04-20,Moth,5,2.00,Harbour Books,paid",
        "7,2025-04-20,Heron,10,2.00,Harbour Books,paid",
    ]
    report = shop.run(shop.file("a.csv", STATUS_HEADER, *rows), layouts=[own])

    assert report.files[0].left_out == {"listed again as paid": 2}
    assert shop.balances()["Assets:Receivable:Web"] == Decimal("40.00")
    one, other = shop.transactions()
    assert (one.date.isoformat(), one.payee) == ("2025-03-03", "Harbour Books")
    assert (other.date.isoformat(), other.payee) == ("2025-03-05", "Tide Books")


def test_invoice_exported_again_when_it_is_paid_is_not_booked_twice(shop: Shop) -> None:
    own = layout(shop, STATUS)
    row = "7,2025-03-03,Heron,10,2.00,Harbour Books"
    shop.run(shop.file("a.csv", STATUS_HEADER, f"{row},sent"), layouts=[own])
    before = shop.contents()

    report = shop.run(
        shop.file("a.csv", STATUS_HEADER, f"{row},paid".replace("03-03", "04-20")),
        layouts=[own],
    )

    assert (report.files[0].booked, report.files[0].already_there) == (0, 1)
    assert {**shop.contents(), "a.csv": b""} == {**before, "a.csv": b""}
    assert report.notes == ()


def test_two_statuses_with_different_lines_are_refused(shop: Shop) -> None:
    rows = [
        "7,2025-03-03,Heron,10,2.00,Harbour Books,sent",
        "7,2025-03-03,Heron,9,2.00,Harbour Books,paid",
    ]
    file = shop.file("a.csv", STATUS_HEADER, *rows)

    (line,) = shop.refused(file, layouts=[layout(shop, STATUS)])

    assert line.startswith("a.csv: row 3, column State: expected the lines of order 7 as")


def test_buyers_of_one_order_must_agree_but_may_be_left_blank(shop: Shop) -> None:
    own = layout(shop, 'buyer = "For"')
    rows = ["7,2025-03-03,Heron,1,2.00,", "7,2025-03-03,Moth,1,2.00,Tide Books"]
    shop.run(shop.file("a.csv", f"{HEADER},For", *rows), layouts=[own])
    assert shop.transactions()[0].payee == "Tide Books"

    rows = [
        "8,2025-03-03,Heron,1,2.00,Harbour Books",
        "8,2025-03-03,Moth,1,2.00,Tide Books",
    ]
    (line,) = shop.refused(shop.file("b.csv", f"{HEADER},For", *rows), layouts=[own])
    assert line.startswith(
        "b.csv: row 3, column For: expected Harbour Books as in row 2 of the same order"
    )
    assert "add-up" not in line


# --- what is wrong with a file -----------------------------------------------------


def test_problems_of_all_stages_are_named_at_once_by_row(shop: Shop) -> None:
    own = layout(
        shop,
        'currency = "Money"\nshipping = "Post"\norder-discount = "Off"\nstatus = "State"',
    )
    file = shop.file(
        "a.csv",
        f"{HEADER},Money,Post,Off,State",
        "W1,2025-03-03,Heron,1,8.00,USD,2.50,0,paid",
        "W1,2025-03-03,Moth,1,8.00,USD,3.50,0,paid",
        "W2,soon,Heron,1,8.00,USD,0,0,paid",
        "W3,2025-03-03,Heron,1,8.00,XYZ,0,0,paid",
        "W4,2025-03-03,Heron,1,eight,USD,0,0,paid",
        "W5,2025-03-03,Heron,1,8.00,USD,some,0,paid",
        "W6,2025-03-03,Heron,1,8.00,USD,0,-1.00,paid",
        "W7,2025-03-03,Heron,1,8.00,USD,0,0,sent",
        "W7,2025-03-03,Heron,2,8.00,USD,0,0,paid",
        "W8,2025-03-03,,1,8.00,USD,0,0,paid",
        ",2025-03-03,Heron,1,8.00,USD,0,0,paid",
    )

    lines = shop.refused(file, layouts=[own])

    assert [line.split(": ")[1] for line in lines] == [
        "row 3, column Post",
        "row 4, column Day",
        "row 5, column Money",
        "row 6, column Each",
        "row 7, column Post",
        "row 8, column Off",
        "row 10, column State",
        "row 11, column Item",
        "row 12, column No",
    ]

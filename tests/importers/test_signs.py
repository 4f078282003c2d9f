"""Tests of signs and dates that a file does not prove, and of accounts that disagree."""

from __future__ import annotations

import tomllib

import pytest

from offcut.importers.layout_schema import mistakes
from tests.importers.shop import Shop

OWN = """\
kind = "payments"
source = "my"
channel = "Web"
currency = "USD"
[columns]
date = "Day"
type = "Kind"
fee = "Fee"
gross = "Sum"
[types]
sale = ["sale"]
refund = ["refund"]
reversal = ["won"]
"""


def with_layout(shop: Shop, layout: str = OWN) -> list[str]:
    """Write a layout, return it as what to choose."""
    path = shop.folder / "my.toml"
    path.write_text(layout)
    return [str(path)]


def test_negative_fee_of_a_sale_needs_a_net(shop: Shop) -> None:
    layouts = with_layout(shop)
    file = shop.file("a.csv", "Day,Kind,Fee,Sum", "2025-03-01,sale,-0.50,5.00")

    assert shop.refused(file, layouts=layouts) == [
        "a.csv: row 2, column Fee: expected a fee that was charged, found -0.50 on a sale "
        'of 5.00, which would be one given back; write [forms] fee = "negative" where the '
        "file writes charges so, or name the columns of both gross and net, which prove "
        "it, nothing was imported"
    ]


def test_positive_fee_where_charges_are_negative(shop: Shop) -> None:
    layouts = with_layout(shop, OWN + '[forms]\nfee = "negative"\n')
    file = shop.file("a.csv", "Day,Kind,Fee,Sum", "2025-03-01,sale,0.50,5.00")

    (line,) = shop.refused(file, layouts=layouts)

    assert "found 0.50 on a sale" in line
    assert 'write [forms] fee = "positive"' in line


def test_net_proves_a_fee_that_was_given_back(shop: Shop) -> None:
    layouts = with_layout(shop, OWN.replace('fee = "Fee"', 'fee = "Fee"\nnet = "Net"'))
    file = shop.file("a.csv", "Day,Kind,Fee,Sum,Net", "2025-03-01,sale,-0.50,5.00,5.50")

    shop.run(file, layouts=layouts)

    assert str(shop.balances()["Expenses:Fees:My"]) == "-0.50"


@pytest.mark.parametrize("row", ["refund,-0.50,-5.00", "won,-15.00,5.00"])
def test_fee_given_back_with_a_refund_or_a_dispute(shop: Shop, row: str) -> None:
    layouts = with_layout(shop)

    shop.run(shop.file("a.csv", "Day,Kind,Fee,Sum", f"2025-03-01,{row}"), layouts=layouts)

    assert shop.balances()["Expenses:Fees:My"] < 0


def test_negative_discount_is_refused(shop: Shop) -> None:
    row = "W1,2025-03-04,Heron,1,10.00,-2.00,0,0,USD"

    assert shop.refused(shop.orders(row)) == [
        "orders.csv: row 2, column Discount: expected a positive amount, which is what was "
        'taken off, found -2.00; write [forms] discount = "negative" in the layout where '
        "the file writes reductions so, or correct the row, nothing was imported"
    ]


@pytest.mark.parametrize("discount", ["-2.00", "2.00"])
def test_discount_of_a_cancelled_line_has_either_sign(shop: Shop, discount: str) -> None:
    shop.run(shop.orders(f"W1,2025-03-04,Heron,-1,10.00,{discount},0,0,USD"))

    assert shop.balances()


@pytest.mark.parametrize(
    ("forms", "sound"),
    [
        ('["%d/%m/%Y", "%m/%d/%Y"]', False),
        ('["%Y-%m-%d", "%m/%d/%y", "%d/%m/%y"]', False),
        ('["%Y-%m-%d", "%Y-%d-%m"]', False),
        ('["%d/%m/%Y", "%m-%d-%Y"]', True),
        ('["%Y-%m-%d", "%Y-%m-%d %H:%M"]', True),
        ('["%d.%m.%Y", "%d.%m.%y"]', True),
    ],
)
def test_dates_have_one_reading(forms: str, sound: bool) -> None:
    found = mistakes(tomllib.loads(f"{OWN}[forms]\ndate = {forms}\n"))

    assert (found == []) is sound
    assert sound or "forms that read every date alike" in found[0]


@pytest.mark.parametrize(
    ("key", "account"),
    [
        ("receivable", "Assets:Receivable:Shop"),
        ("suspense", "Equity:Unclear"),
        ("deposits", "Liabilities:Ahead"),
    ],
)
def test_layouts_of_a_channel_name_the_same_open_accounts(
    shop: Shop, key: str, account: str
) -> None:
    layouts = with_layout(shop, f'{OWN}[accounts]\n{key} = "{account}"\n')
    own = shop.file("a.csv", "Day,Kind,Fee,Sum", "2025-03-01,sale,0,5.00")
    orders = shop.orders("W1,2025-03-04,Heron,1,10.00,0,0,0,USD")

    (line,) = shop.refused(orders, own, layouts=[*layouts, "shop-orders"])

    assert line.startswith("a.csv: expected ")
    assert f" as {key}, as in shop-orders, the layout of orders.csv of" in line
    assert f"found {account} in my; name the same account" in line


ORDERS = """\
kind = "order-lines"
source = "own-orders"
channel = "Web"
currency = "USD"
[columns]
order = "Order"
date = "Day"
item = "Item"
quantity = "Pieces"
amount = "Sum"
order-discount = "Off"
"""


def test_negative_discount_of_a_whole_order_is_refused(shop: Shop) -> None:
    layouts = with_layout(shop, ORDERS)
    heading = "Order,Day,Item,Pieces,Sum,Off"
    file = shop.file("o.csv", heading, "W1,2025-03-04,Heron,1,10.00,-2.00")
    cancelled = shop.file("c.csv", heading, "W2,2025-03-04,Heron,-1,-10.00,-2.00")

    (line,) = shop.refused(file, layouts=layouts)
    shop.run(cancelled, layouts=layouts)

    assert line.startswith("o.csv: row 2, column Off: expected a positive amount")

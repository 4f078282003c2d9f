"""The one table: what a row is, and where each amount of the ledger goes."""

from __future__ import annotations

import datetime
import random
from decimal import Decimal
from typing import Any

import pandas as pd
import pytest

from offcut.reports.order_columns import COLUMNS, TRANSACTION, WHOLE_COLUMNS
from offcut.reports.order_table import order_table

D = Decimal
AMOUNTS = COLUMNS[7:21]


def table_of(ledger: Any) -> pd.DataFrame:
    return order_table(ledger.entries, ledger.options)


def rows(ledger: Any, *names: str) -> list[tuple[Any, ...]]:
    """Return some columns of a ledger's table, row by row."""
    table = table_of(ledger)
    return list(zip(*(table[name] for name in names), strict=True))


def test_shared_amounts_are_split_by_sales_value(sound_ledger: Any) -> None:
    """
    2025-01-01 commodity HERON-STK
      name: "Heron at Dusk, 3 in sticker"
      stock: "product"
      design: "Heron at Dusk"
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Shipping:Web
    2025-01-01 open Income:Discounts:Web
    2025-01-01 open Expenses:Fees:Card
    2025-01-01 open Liabilities:SalesTax:Home
    2025-03-04 * "Order" ^order-W1042 #event-harbour-fair
      Assets:Clearing:Card
      Expenses:Fees:Card              0.61 USD
      Liabilities:SalesTax:Home      -0.50 USD
      Income:Shipping:Web            -2.50 USD
      Income:Sales:Web               -8.00 USD
        item: "HERON-STK"
        quantity: 2
      Income:Sales:Web               -7.50 USD
        item: "MOTH-STK"
        quantity: "3"
      Income:Discounts:Web            1.00 USD
        item: "MOTH-STK"
    """
    # Values 8.00 and 6.50 of 14.50. Fee: 0.3365… and 0.2734…; shipping: 1.3793… and
    # 1.1206…: both spare cents go to the first line. Sales tax is no income.
    assert rows(sound_ledger, *COLUMNS[: COLUMNS.index("file")]) == [
        (
            *("W1042", datetime.date(2025, 3, 4), "Web", "harbour-fair"),
            *("HERON-STK", "Heron at Dusk", D(2)),
            *(D("8.00"), D(0), D(0), D("8.00"), D("1.38"), D("-0.34")),
            *(D(0),) * 7,
            *(D("9.04"), "USD", ""),
        ),
        (
            *("W1042", datetime.date(2025, 3, 4), "Web", "harbour-fair"),
            *("MOTH-STK", "MOTH-STK", D(3)),
            *(D("7.50"), D("-1.00"), D(0), D("6.50"), D("1.12"), D("-0.27")),
            *(D(0),) * 7,
            *(D("7.35"), "USD", ""),
        ),
    ]


def test_stock_and_packing_go_to_the_lines(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON-STK
      stock: "product"
    2025-01-01 commodity MOTH-STK
      stock: "product"
    2025-01-01 commodity MAILER
      stock: "material"
    2025-01-01 commodity STAMP
      stock: "stamp"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Stock:HERON-STK
    2025-01-01 open Assets:Stock:MOTH-STK
    2025-01-01 open Assets:Materials:MAILER
    2025-01-01 open Assets:Stamps:STAMP
    2025-01-01 open Income:Sales:Web
    2025-01-02 * "Bought"
      Assets:Stock:HERON-STK  10 HERON-STK {0.413 USD}
      Assets:Stock:MOTH-STK  10 MOTH-STK {0.20 USD}
      Assets:Materials:MAILER  10 MAILER {0.125 USD}
      Assets:Stamps:STAMP  10 STAMP {0.73 USD}
      Assets:Cash
    2025-01-02 custom "packing" "letter" 1 MAILER 1 STAMP
    2025-03-04 * "Order" ^order-1
      packing: "letter"
      Assets:Cash
      Income:Sales:Web  -8.00 USD
        item: "HERON-STK"
        quantity: 2
      Income:Sales:Web  -4.00 USD
        item: "MOTH-STK"
        quantity: 1
    """
    # The mailer's half cent is kept: 0.125 in thousandths, two thirds and one third.
    assert rows(sound_ledger, "product", "cost_of_goods", "packaging", "postage") == [
        ("HERON-STK", D("-0.826"), D("-0.083"), D("-0.49")),
        ("MOTH-STK", D("-0.20"), D("-0.042"), D("-0.24")),
    ]


def test_cost_of_an_item_on_two_lines_is_split_by_pieces(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:COGS
    2025-03-04 * "Two at a price, one at another"
      Income:Sales:Web  -8.00 USD
        item: "HERON-STK"
        quantity: 2
      Income:Sales:Web  -2.00 USD
        item: "HERON-STK"
        quantity: 1
      Expenses:COGS  1.20 USD
        item: "HERON-STK"
      Assets:Cash
    """
    assert rows(sound_ledger, "gross", "cost_of_goods") == [
        (D("8.00"), D("-0.80")),
        (D("2.00"), D("-0.40")),
    ]


def test_what_comes_later_is_split_over_the_lines_on_its_own_day(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Postage
    2025-03-04 * "Label, bought the day before it was booked as sold" ^order-1
      Expenses:Postage  1.00 USD
      Assets:Cash
    2025-03-05 * "Order" ^order-1
      Income:Sales:Web  -6.00 USD
        item: "HERON-STK"
        quantity: 1
      Income:Sales:Web  -3.00 USD
        item: "MOTH-STK"
        quantity: 1
      Assets:Cash
    2025-04-01 * "Half of all given back" ^order-1
      Income:Refunds:Web  4.50 USD
      Assets:Cash
    """
    names = ("date", "product", "quantity", "postage", "refund", "channel")
    assert rows(sound_ledger, *names) == [
        (datetime.date(2025, 3, 4), "HERON-STK", D(0), D("-0.67"), D(0), "Web"),
        (datetime.date(2025, 3, 4), "MOTH-STK", D(0), D("-0.33"), D(0), "Web"),
        (datetime.date(2025, 3, 5), "HERON-STK", D(1), D(0), D(0), "Web"),
        (datetime.date(2025, 3, 5), "MOTH-STK", D(1), D(0), D(0), "Web"),
        (datetime.date(2025, 4, 1), "HERON-STK", D(0), D(0), D("-3.00"), "Web"),
        (datetime.date(2025, 4, 1), "MOTH-STK", D(0), D(0), D("-1.50"), "Web"),
    ]


def test_label_for_two_orders(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Postage
    2025-03-05 * "Order" ^order-1
      Income:Sales:Web  -6.00 USD
        item: "HERON-STK"
        quantity: 1
      Assets:Cash
    2025-03-05 * "Order" ^order-2
      Income:Sales:Web  -3.00 USD
        item: "MOTH-STK"
        quantity: 1
      Assets:Cash
    2025-03-06 * "Labels" ^order-1 ^order-2
      Expenses:Postage  1.00 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "order", "product", "postage")[2:] == [
        ("1", "HERON-STK", D("-0.67")),
        ("2", "MOTH-STK", D("-0.33")),
    ]


def test_returned_pieces_and_kept_ones(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON-STK
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Stock:HERON-STK
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Fees:Card
    2025-01-02 * "Bought"
      Assets:Stock:HERON-STK  10 HERON-STK {0.41 USD}
      Assets:Cash
    2025-03-05 * "Order" ^order-1
      Income:Sales:Web  -8.00 USD
        item: "HERON-STK"
        quantity: 2
      Assets:Cash
    2025-03-09 * "One came back; part of the fee is given back too" ^order-1
      Income:Refunds:Web  4.00 USD
        item: "HERON-STK"
        quantity: 1
      Expenses:Fees:Card  -0.12 USD
      Assets:Cash
    2025-03-10 * "Something off for the other" ^order-1
      Income:Refunds:Web  1.00 USD
        item: "HERON-STK"
      Assets:Cash
    """
    names = ("quantity", "gross", "refund", "fees", "cost_of_goods", "contribution")
    assert rows(sound_ledger, *names) == [
        (D(2), D("8.00"), D(0), D(0), D("-0.82"), D("7.18")),
        (D(-1), D(0), D("-4.00"), D("0.12"), D("0.41"), D("-3.47")),
        (D(0), D(0), D("-1.00"), D(0), D(0), D("-1.00")),
    ]


def test_what_belongs_to_no_order_stands_alone(sound_ledger: Any) -> None:
    """
    2025-01-01 commodity HERON-STK
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Tips:Fair
    2025-01-01 open Expenses:Events:TableFee
    2025-01-01 open Expenses:Marketing:Giveaways
    2025-01-01 open Expenses:Shrinkage:VINYL
    2025-01-01 open Expenses:Spoilage:HERON-STK
    2025-01-01 open Expenses:Fees:Card
    2025-01-01 open Expenses:Postage
    2025-03-01 * "Fair" #event-harbour-fair #other
      Income:Tips:Fair  -5.00 USD
      Expenses:Events:TableFee  60.00 USD
      Assets:Cash
    2025-03-02 * "Given away"
      Expenses:Marketing:Giveaways  1.23 USD
        item: "HERON-STK"
      Assets:Cash
    2025-03-03 * "Counted"
      Expenses:Shrinkage:VINYL  0.45 USD
        item: "VINYL"
      Assets:Cash
    2025-03-04 * "Misprinted"
      Expenses:Spoilage:HERON-STK  2.00 USD
      Assets:Cash
    2025-03-05 * "Monthly fee"
      channel: "Web"
      Expenses:Fees:Card  9.00 USD
      Assets:Cash
    2025-03-06 * "Label of an order that is not in the ledger" ^order-9
      Expenses:Postage  1.00 USD
      Assets:Cash
    """
    names = ("order", "channel", "event", "product", "account", "contribution")
    assert rows(sound_ledger, *names) == [
        ("", "", "harbour-fair", "", "Expenses:Events:TableFee", D("-60.00")),
        ("", "Fair", "harbour-fair", "", "Income:Tips:Fair", D("5.00")),
        ("", "", "", "HERON-STK", "Expenses:Marketing:Giveaways", D("-1.23")),
        ("", "", "", "", "Expenses:Shrinkage:VINYL", D("-0.45")),
        ("", "", "", "HERON-STK", "Expenses:Spoilage:HERON-STK", D("-2.00")),
        ("", "Web", "", "", "Expenses:Fees:Card", D("-9.00")),
        ("9", "", "", "", "Expenses:Postage", D("-1.00")),
    ]


def test_unknown_item_is_a_line_without_a_product(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Suspense:Web
    2025-01-01 open Expenses:Fees:Card
    2025-03-05 * "Order" ^order-1
      Income:Sales:Web  -3.00 USD
        item: "HERON-STK"
        quantity: 1
      Income:Suspense:Web  -6.00 USD
        item-text: "Mystery bundle"
        quantity: 2
      Expenses:Fees:Card  0.90 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "product", "account", "quantity", "gross", "fees") == [
        ("", "Income:Suspense:Web", D(2), D("6.00"), D("-0.60")),
        ("HERON-STK", "", D(1), D("3.00"), D("-0.30")),
    ]


def test_payment_whose_order_lines_come_later(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Suspense:Web
    2025-01-01 open Expenses:Fees:Card
    2025-03-05 * "Payment" ^order-1
      Assets:Clearing:Card  9.40 USD
      Expenses:Fees:Card  0.60 USD
      Income:Suspense:Web  -10.00 USD
    2025-03-08 * "Its lines" ^order-1
      Income:Suspense:Web  10.00 USD
      Income:Sales:Web  -7.50 USD
        item: "HERON-STK"
        quantity: 1
      Income:Sales:Web  -2.50 USD
        item: "MOTH-STK"
        quantity: 1
    """
    table = table_of(sound_ledger)
    sums = {
        product: (sum(group["gross"]), sum(group["fees"]))
        for product, group in table.groupby("product")
    }
    # What the suspense account held and gave back is no line's.
    assert sums == {
        "": (D(0), D(0)),
        "HERON-STK": (D("7.50"), D("-0.45")),
        "MOTH-STK": (D("2.50"), D("-0.15")),
    }


def test_what_was_paid_too_much_is_no_products(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Suspense:Web
    2025-03-05 * "Paid too much" ^order-1
      Assets:Clearing:Card  8.50 USD
      Income:Suspense:Web  -1.00 USD
      Income:Sales:Web  -7.50 USD
        item: "HERON-STK"
        quantity: 1
    2025-03-08 * "Paid twice" ^order-1
      Assets:Clearing:Card  7.50 USD
      Income:Suspense:Web  -7.50 USD
    """
    assert rows(sound_ledger, "order", "product", "account", "quantity", "gross") == [
        ("1", "", "Income:Suspense:Web", D(0), D("1.00")),
        ("1", "HERON-STK", "", D(1), D("7.50")),
        ("1", "", "Income:Suspense:Web", D(0), D("7.50")),
    ]


def test_later_amount_of_a_payment_without_lines_keeps_its_channel(
    sound_ledger: Any,
) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Suspense:Web
    2025-01-01 open Expenses:Postage
    2025-03-05 * "Payment" ^order-1
      Income:Suspense:Web  -10.00 USD
      Assets:Cash
    2025-03-06 * "Label" ^order-1
      Expenses:Postage  1.00 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "order", "channel", "contribution") == [
        ("1", "Web", D("10.00")),
        ("1", "Web", D("-1.00")),
    ]


def test_channel_is_named_by_posting_then_transaction_then_account(
    sound_ledger: Any,
) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "By account"
      Income:Sales:Web  -1.00 USD
        item: "A"
        quantity: 1
      Assets:Cash
    2025-03-02 * "By transaction"
      channel: "Market"
      Income:Sales:Web  -1.00 USD
        item: "A"
        quantity: 1
      Assets:Cash
    2025-03-03 * "By posting"
      channel: "Market"
      Income:Sales:Web  -1.00 USD
        item: "A"
        quantity: 1
        channel: "Fair"
      Assets:Cash
    """
    assert rows(sound_ledger, "channel") == [("Web",), ("Market",), ("Fair",)]


def test_amount_in_another_currency_gets_a_row_of_its_own(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Fees:Card
    2025-03-01 * "Order" ^order-1
      Income:Sales:Web  -6.00 USD
        item: "A"
        quantity: 1
      Income:Sales:Web  -3.00 USD
        item: "B"
        quantity: 1
      Expenses:Fees:Card  30 JPY
      Assets:Cash  9.00 USD
      Assets:Cash  -30 JPY
    """
    assert rows(sound_ledger, "currency", "product", "quantity", "fees", "gross") == [
        ("JPY", "A", D(0), D(-20), D(0)),
        ("USD", "A", D(1), D(0), D("6.00")),
        ("JPY", "B", D(0), D(-10), D(0)),
        ("USD", "B", D(1), D(0), D("3.00")),
    ]


def test_cost_of_goods_recorded_later_finds_its_line(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:COGS
    2025-03-01 * "Order" ^order-1
      Income:Sales:Web  -6.00 USD
        item: "A"
        quantity: 1
      Income:Sales:Web  -3.00 USD
        item: "B"
        quantity: 1
      Assets:Cash
    2025-03-02 * "Sold before it was recorded as made" ^order-1
      Expenses:COGS  0.41 USD
        item: "B"
      Assets:Cash
    2025-03-03 * "Sent instead of A" ^order-1
      Expenses:COGS  0.55 USD
        item: "C"
      Assets:Cash
    """
    assert rows(sound_ledger, "product", "cost_of_goods")[2:] == [
        ("B", D("-0.41")),
        ("C", D("-0.55")),
    ]


def test_free_lines_share_by_equal_parts(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Postage
    2025-03-01 * "Two samples"
      Income:Sales:Web  0.00 USD
        item: "A"
        quantity: 1
      Income:Sales:Web  0.00 USD
        item: "B"
        quantity: 5
      Expenses:Postage  1.00 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "product", "quantity", "postage") == [
        ("A", D(1), D("-0.50")),
        ("B", D(5), D("-0.50")),
    ]


@pytest.mark.parametrize("text", ["two", "", "NaN"])
def test_quantity_that_is_no_number_counts_no_pieces(text: str) -> None:
    from beancount import loader

    entries, errors, options = loader.load_string(
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Income:Sales:Web\n"
        '2025-03-01 * "Order"\n'
        '  Income:Sales:Web  -6.00 USD\n    item: "A"\n'
        f'    quantity: "{text}"\n'
        "  Assets:Cash\n"
    )
    assert not errors
    table = order_table(entries, options)
    assert list(table["quantity"]) == [D(0)]
    assert list(table["contribution"]) == [D("6.00")]


def test_renamed_root_accounts(sound_ledger: Any) -> None:
    """
    option "name_income" "Ertrag"
    option "name_expenses" "Aufwand"
    2025-01-01 open Assets:Cash
    2025-01-01 open Ertrag:Sales:Web
    2025-01-01 open Aufwand:Fees:Card
    2025-03-01 * "Order"
      Ertrag:Sales:Web  -6.00 USD
        item: "A"
        quantity: 1
      Aufwand:Fees:Card  0.30 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "sales", "fees") == [(D("6.00"), D("-0.30"))]


def test_columns_and_types(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "Order"
      Income:Sales:Web  -6.00 USD
        item: "A"
        quantity: 1
      Assets:Cash
    """
    table = table_of(sound_ledger)
    assert tuple(table.columns) == (*COLUMNS, TRANSACTION, *WHOLE_COLUMNS)
    assert all(table[name].dtype == "int64" for name in (TRANSACTION, *WHOLE_COLUMNS))
    assert all(type(table[name][0]) is Decimal for name in ("quantity", *AMOUNTS))
    assert type(table["date"][0]) is datetime.date
    assert all(table[name].dtype == "str" for name in ("order", "design", "account"))


def test_empty_ledger(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    """
    table = table_of(sound_ledger)
    assert tuple(table.columns) == (*COLUMNS, TRANSACTION, *WHOLE_COLUMNS)
    assert table.empty


def test_order_of_the_entries_does_not_matter(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Sales:Market
    2025-01-01 open Expenses:Postage
    2025-03-01 * "First parcel" ^order-1
      Income:Sales:Web  -3.00 USD
        item: "A"
        quantity: 1
      Assets:Cash
    2025-03-01 * "Second parcel" ^order-1
      Income:Sales:Market  -3.00 USD
        item: "A"
        quantity: 1
      Assets:Cash
    2025-03-02 * "Label" ^order-1
      Expenses:Postage  1.01 USD
      Assets:Cash
    """
    expected = rows(sound_ledger, *COLUMNS)
    shuffled = list(sound_ledger.entries)
    for seed in range(6):
        random.Random(seed).shuffle(shuffled)
        found = rows(sound_ledger._replace(entries=shuffled), *COLUMNS)
        assert sorted(map(repr, found)) == sorted(map(repr, expected))


def test_two_channels_that_number_their_orders_alike(sound_ledger: Any) -> None:
    """
    2025-01-01 commodity HERON-STK
      stock: "product"
    2025-01-01 commodity MOTH-STK
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Sales:Market
    2025-01-01 open Income:Refunds:Market
    2025-01-01 open Expenses:Postage
    2025-03-04 * "Web order" ^order-1001
      Assets:Cash
      Income:Sales:Web     -40.00 USD
        item: "HERON-STK"
        quantity: 10
    2025-03-04 * "Market order" ^order-1001
      Assets:Cash
      Income:Sales:Market  -10.00 USD
        item: "MOTH-STK"
        quantity: 1
    2025-03-05 * "Refund" ^order-1001
      Assets:Cash
      Income:Refunds:Market  8.00 USD
    2025-03-06 * "A label, of which nothing says the channel" ^order-1001
      Assets:Cash
      Expenses:Postage       5.00 USD
    """
    table = rows(sound_ledger, "channel", "product", "gross", "refund", "postage")
    assert sorted(table) == [
        ("Market", "MOTH-STK", D(0), D("-8.00"), D(0)),
        ("Market", "MOTH-STK", D(0), D(0), D("-1.00")),
        ("Market", "MOTH-STK", D("10.00"), D(0), D(0)),
        ("Web", "HERON-STK", D(0), D(0), D("-4.00")),
        ("Web", "HERON-STK", D("40.00"), D(0), D(0)),
    ]


def test_what_is_given_away_with_an_order_x(
    sound_ledger: Any,
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON-STK
      stock: "product"
    2025-01-01 commodity MOTH-STK
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Stock:HERON-STK    9 HERON-STK {1.00 USD}
      Assets:Stock:MOTH-STK     9 MOTH-STK {0.50 USD}
      Assets:Bank
    2025-01-05 * "Order" ^order-1
      channel: "Web"
      Assets:Bank               8.00 USD
      Income:Sales:Web         -8.00 USD
        item: "HERON-STK"
        quantity: 2
      Income:Sales:Web          0.00 USD
        item: "MOTH-STK"
        quantity: 3
        cost-account: "Expenses:Marketing:Giveaways"
    2025-01-06 * "One of the extras came back" ^order-1
      channel: "Web"
      Income:Refunds:Web        0.00 USD
        item: "MOTH-STK"
        quantity: 1
        cost-account: "Expenses:Marketing:Giveaways"
    """
    names = ("order", "product", "quantity", "gross", "cost_of_goods", "giveaways")
    assert rows(sound_ledger, *names) == [
        ("1", "HERON-STK", D(2), D("8.00"), D("-2.00"), D(0)),
        ("1", "MOTH-STK", D(3), D(0), D(0), D("-1.50")),
        ("1", "MOTH-STK", D(-1), D(0), D(0), D("0.50")),
    ]

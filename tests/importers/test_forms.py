"""What layouts can say about forms: signs, sums, shares of an order, rows to leave out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.importers.shop import Shop

PAYMENTS = """\
kind = "payments"
source = "till"
channel = "Fair"
currency = ["USD", "JPY"]
[columns]
date = "Day"
{columns}
[types]
default = "sale"
"""
ORDERS = """\
kind = "order-lines"
source = "web"
channel = "Web"
currency = "USD"
[columns]
date = "Day"
order = "No"
item = "What"
quantity = "Pieces"
{columns}
"""


def layout(shop: Shop, text: str, columns: str, more: str = "") -> list[str]:
    """Write a layout; return what to choose it by."""
    path = shop.folder / "own.toml"
    path.write_text(text.format(columns=columns) + more)
    return [str(path)]


@pytest.mark.parametrize(
    ("columns", "header", "row", "net", "fee"),
    [
        ('gross = "G"', "Day,G", "2025-05-03,4.00", "4.00", None),
        ('net = "N"', "Day,N", "2025-05-03,4.00", "4.00", None),
        ('gross = "G"\nnet = "N"', "Day,G,N", "2025-05-03,4.00,3.60", "3.60", "0.40"),
        ('gross = "G"\nfee = "F"', "Day,G,F", "2025-05-03,4.00,0.40", "3.60", "0.40"),
        ('net = "N"\nfee = "F"', "Day,N,F", "2025-05-03,3.60,0.40", "3.60", "0.40"),
        ('gross = "G"\nfee = "F"', "Day,G,F", "2025-05-03,4.00,", "4.00", None),
    ],
)
def test_two_of_gross_fee_and_net_give_the_third(
    shop: Shop, columns: str, header: str, row: str, net: str, fee: str | None
) -> None:
    shop.run(shop.file("till.csv", header, row), layouts=layout(shop, PAYMENTS, columns))

    balances = shop.balances()
    assert balances["Assets:Clearing:Till"] == Decimal(net)
    assert balances.get("Expenses:Fees:Till") == (Decimal(fee) if fee else None)
    assert sum(balances.values()) == 0


def test_fee_that_the_file_writes_negative(shop: Shop) -> None:
    own = layout(
        shop, PAYMENTS, 'gross = "G"\nfee = "F"\nnet = "N"', '[forms]\nfee = "negative"\n'
    )
    shop.run(shop.file("till.csv", "Day,G,F,N", "2025-05-03,4.00,-0.40,3.60"), layouts=own)

    assert shop.balances()["Expenses:Fees:Till"] == Decimal("0.40")


def test_wrong_sign_of_the_fee_is_named_as_such(shop: Shop) -> None:
    own = layout(shop, PAYMENTS, 'gross = "G"\nfee = "F"\nnet = "N"')

    (line,) = shop.refused(
        shop.file("till.csv", "Day,G,F,N", "2025-05-03,4.00,-0.40,3.60"), layouts=own
    )

    assert "expected 4.40" in line
    assert "or the layout's [forms] fee where it has the wrong sign" in line


def test_currencies_row_by_row(shop: Shop) -> None:
    own = layout(shop, PAYMENTS, 'gross = "G"\ncurrency = "C"')

    report = shop.run(
        shop.file("till.csv", "Day,G,C", "2025-05-03,4.00,usd", "2025-05-03,400,JPY"),
        layouts=own,
    )

    assert [(t.currency, t.gross) for t in report.files[0].totals] == [
        ("JPY", Decimal("400")),
        ("USD", Decimal("4.00")),
    ]
    assert "400 JPY\n" in shop.text("till-2025-05.beancount")


def test_ignored_words_and_left_out_rows_are_counted_by_reason(shop: Shop) -> None:
    text = PAYMENTS.replace('default = "sale"', 'sale = ["Sale"]\nignore = ["Hold"]')
    own = layout(
        shop,
        text,
        'gross = "G"\ntype = "T"',
        '[[leave-out]]\ncolumn = "Day"\nmatches = "Total.*"\nreason = "a sum of rows"\n'
        '[[leave-out]]\ncolumn = "G"\nequals = "0.00"\nreason = "nothing moved"\n',
    )
    rows = [
        "2025-05-03,4.00,SALE",
        "2025-05-03,9,hold",
        "2025-05-04,0.00,?",
        "Total May,4,",
    ]

    report = shop.run(shop.file("till.csv", "Day,G,T", *rows), layouts=own)

    assert report.files[0].booked == 1
    assert report.files[0].left_out == {
        "of a type that the layout ignores": 1,
        "a sum of rows": 1,
        "nothing moved": 1,
    }


def test_leave_out_of_a_column_that_is_not_there(shop: Shop) -> None:
    rule = '[[leave-out]]\ncolumn = "Status"\nequals = "x"\nreason = "x"\n'
    own = layout(shop, PAYMENTS, 'gross = "G"', rule)

    (line,) = shop.refused(shop.file("till.csv", "Day,G", "2025-05-03,4"), layouts=own)

    assert (
        "[[leave-out]] looks at the column 'Status', which the file does not have" in line
    )


@pytest.mark.parametrize(
    ("amounts", "shipping", "tax"),
    [("every-line", "2.50", "0.50"), ("add-up", "5.00", "1.00")],
)
def test_shipping_and_tax_of_an_order_of_two_lines(
    shop: Shop, amounts: str, shipping: str, tax: str
) -> None:
    own = layout(
        shop,
        ORDERS,
        'unit-price = "Each"\nshipping = "S"\ntax = "T"',
        f'[orders]\namounts = "{amounts}"\n',
    )
    header = "Day,No,What,Pieces,Each,S,T"
    rows = ["2025-05-04,7,Heron,1,4.00,2.50,0.50", "2025-05-03,7,Moth,1,4.00,2.50,0.50"]

    shop.run(shop.file("web.csv", header, *rows), layouts=own)

    balances = shop.balances()
    assert balances["Income:Shipping:Web"] == -Decimal(shipping)
    assert balances["Liabilities:SalesTax"] == -Decimal(tax)
    assert shop.transactions()[0].date.isoformat() == "2025-05-03"


def test_amount_of_the_line_and_negative_reduction(shop: Shop) -> None:
    own = layout(
        shop, ORDERS, 'amount = "Sum"\ndiscount = "R"', '[forms]\ndiscount = "negative"\n'
    )
    shop.run(
        shop.file(
            "web.csv", "Day,No,What,Pieces,Sum,R", "2025-05-03,7,Heron,3,10.00,-1.00"
        ),
        layouts=own,
    )

    balances = shop.balances()
    assert balances["Income:Sales:Web"] == Decimal("-10.00")
    assert balances["Income:Discounts:Web"] == Decimal("1.00")
    assert balances["Assets:Receivable:Web"] == Decimal("9.00")


def test_lines_of_an_order_that_are_alike_are_all_sold(shop: Shop) -> None:
    own = layout(shop, ORDERS, 'unit-price = "Each"')
    row = "2025-05-03,7,Heron,1,4.00"

    report = shop.run(
        shop.file("web.csv", "Day,No,What,Pieces,Each", row, row), layouts=own
    )

    assert report.files[0].booked == 2
    assert shop.balances()["Income:Sales:Web"] == Decimal("-8.00")


def test_lines_with_ids_of_their_own_may_be_repeated(shop: Shop) -> None:
    own = layout(shop, ORDERS, 'unit-price = "Each"\nid = "Id"')
    row = "2025-05-03,7,Heron,1,4.00,l1"

    report = shop.run(
        shop.file("web.csv", "Day,No,What,Pieces,Each,Id", row, row), layouts=own
    )

    assert report.files[0].left_out == {"repeated row": 1}
    assert shop.balances()["Income:Sales:Web"] == Decimal("-4.00")


def test_prefix_keeps_the_order_numbers_of_two_channels_apart(shop: Shop) -> None:
    own = layout(shop, ORDERS, 'unit-price = "Each"', '[orders]\nprefix = "M-"\n')

    shop.run(
        shop.file("web.csv", "Day,No,What,Pieces,Each", "2025-05-03,#7,Heron,1,4.00"),
        layouts=own,
    )

    (transaction,) = shop.transactions()
    assert transaction.links == {"order-M-7"}
    assert transaction.meta["lines-id"] == "web/M-7"


def test_pieces_of_a_fraction(shop: Shop) -> None:
    own = layout(shop, ORDERS, 'unit-price = "Each"')

    shop.run(
        shop.file("web.csv", "Day,No,What,Pieces,Each", "2025-05-03,7,Heron,2.50,4.00"),
        layouts=own,
    )

    assert shop.transactions()[0].postings[1].meta["quantity"] == Decimal("2.5")

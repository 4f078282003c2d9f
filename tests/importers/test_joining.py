"""Payments and order lines find each other, whatever comes first."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from decimal import Decimal
from itertools import chain, permutations
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.importers.shop import Shop, new_shop

LINES = 'W1,2025-03-03,"Heron at Dusk, 3 in",2,4.00,0.50,2.50,0.50,USD'
SALE = "2025-03-04,Sale,W1,,10.50,0.60,9.90,USD,ch_1"
TWO = (
    "2025-03-01,Sale,W1,,5.00,0.20,4.80,USD,ch_1",
    "2025-04-09,Sale,W1,,5.50,0.40,5.10,USD,ch_2",
)
BOOKED = {
    "Assets:Clearing:Card": Decimal("9.90"),
    "Expenses:Fees:Card": Decimal("0.60"),
    "Income:Discounts:Web": Decimal("0.50"),
    "Income:Sales:Web": Decimal("-8.00"),
    "Income:Shipping:Web": Decimal("-2.50"),
    "Liabilities:SalesTax": Decimal("-0.50"),
}


def test_lines_alone_are_owed_by_the_buyer(shop: Shop) -> None:
    shop.run(shop.orders(LINES))

    assert shop.balances()["Assets:Receivable:Web"] == Decimal("10.50")
    (transaction,) = shop.transactions()
    assert transaction.date.isoformat() == "2025-03-03"
    assert transaction.links == {"order-W1"}


def test_payment_after_its_lines_closes_what_is_owed(shop: Shop) -> None:
    shop.run(shop.orders(LINES))
    report = shop.run(shop.payments(SALE))

    assert shop.balances() == BOOKED
    assert report.notes == ()


def test_payment_without_lines_waits_in_suspense_and_is_noted(shop: Shop) -> None:
    report = shop.run(shop.payments(SALE))

    assert shop.balances()["Income:Suspense:Web"] == Decimal("-10.50")
    assert report.notes == (
        "1 payment names an order whose lines are not imported: 10.50 USD of sales is in "
        "Income:Suspense:Web until they are",
    )


def test_lines_after_their_payment_take_it_out_of_suspense(shop: Shop) -> None:
    shop.run(shop.payments(SALE))
    report = shop.run(shop.orders(LINES))

    assert shop.balances() == BOOKED
    assert report.notes == ()


SHORT = SALE.replace("10.50,0.60,9.90", "9,0,9")
LESS = (
    "Web order W1: paid 9.00, owed 10.50 USD; the difference of -1.50 is in "
    "Assets:Receivable:Web",
)


def test_what_is_paid_too_little_stays_receivable_and_is_noted(shop: Shop) -> None:
    report = shop.run(shop.payments(SHORT), shop.orders(LINES))

    assert shop.balances()["Assets:Receivable:Web"] == Decimal("1.50")
    assert "Income:Suspense:Web" not in shop.balances()
    assert report.notes == LESS


@pytest.mark.parametrize("lines_first", [True, False])
def test_too_little_is_noted_when_the_other_half_comes_later_too(
    shop: Shop, lines_first: bool
) -> None:
    files = [shop.orders(LINES), shop.payments(SHORT)]
    first, second = files if lines_first else files[::-1]
    shop.run(first)
    report = shop.run(second)

    assert shop.balances()["Assets:Receivable:Web"] == Decimal("1.50")
    assert "Income:Suspense:Web" not in shop.balances()
    assert report.notes == LESS


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
def test_what_is_paid_too_much_is_in_suspense_and_noted(
    shop: Shop, order: tuple[int | None, ...]
) -> None:
    more = SALE.replace("10.50,0.60,9.90", "12,0,12")
    files = [shop.orders(LINES), shop.payments(more)]
    for each in order:
        report = shop.run(*(files if each is None else [files[each]]))

    assert shop.balances()["Income:Suspense:Web"] == Decimal("-1.50")
    assert "Assets:Receivable:Web" not in shop.balances()
    assert report.notes == (
        "Web order W1: paid 12.00, owed 10.50 USD; the difference of 1.50 is in "
        "Income:Suspense:Web",
    )


def test_the_rest_of_what_was_paid_too_little_closes_it(shop: Shop) -> None:
    shop.run(shop.orders(LINES), shop.payments(SHORT))
    rest = "2025-04-20,Sale,W1,,1.50,0,1.50,USD,ch_2"
    report = shop.run(shop.payments(rest, name="rest.csv"))

    assert "Assets:Receivable:Web" not in shop.balances()
    assert report.notes == ()


def test_two_payments_make_the_whole(shop: Shop) -> None:
    report = shop.run(shop.payments(*TWO), shop.orders(LINES))

    assert shop.balances() == BOOKED
    assert report.notes == ()


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_two_payments_of_two_files_and_lines_in_any_order(
    shop: Shop, order: tuple[int, ...]
) -> None:
    files = [
        shop.payments(TWO[0], name="march.csv"),
        shop.payments(TWO[1], name="april.csv"),
        shop.orders(LINES),
    ]
    for each in order:
        report = shop.run(files[each])

    assert shop.balances() == BOOKED
    assert report.notes == ()
    assert {each.date.isoformat() for each in shop.transactions()} >= {
        "2025-03-01",
        "2025-04-09",
    }


def test_second_payment_with_the_lines_takes_the_first_from_suspense(shop: Shop) -> None:
    shop.run(shop.payments(TWO[0], name="march.csv"))
    report = shop.run(shop.payments(TWO[1], name="april.csv"), shop.orders(LINES))

    assert shop.balances() == BOOKED
    assert report.notes == ()
    assert len(shop.transactions()) == 2


def test_paid_twice_is_noted(shop: Shop) -> None:
    shop.run(shop.payments(SALE), shop.orders(LINES))
    report = shop.run(shop.payments(SALE.replace("ch_1", "ch_2"), name="more.csv"))

    assert shop.balances()["Income:Suspense:Web"] == Decimal("-10.50")
    assert len(report.notes) == 1
    assert "paid 10.50, owed 0" in report.notes[0]


def test_refund_gives_its_fee_back(shop: Shop) -> None:
    refund = "2025-03-09,Refund,W1,,-4.00,-0.10,-3.90,USD,re_1"
    shop.run(shop.payments(SALE, refund), shop.orders(LINES))

    balances = shop.balances()
    # Of 0.50 tax in 10.50, 4.00 has 0.1905.
    assert balances["Income:Refunds:Web"] == Decimal("3.81")
    assert balances["Liabilities:SalesTax"] == Decimal("-0.31")
    assert balances["Expenses:Fees:Card"] == Decimal("0.50")
    assert [each.links for each in shop.transactions()] == [{"order-W1"}, {"order-W1"}]


def test_cancelled_line_is_a_refund_that_puts_pieces_back(shop: Shop) -> None:
    shop.run(shop.orders("C1,2025-03-03,Heron,-2,4.00,0,0,0,USD"))

    (transaction,) = shop.transactions()
    owed, refund = transaction.postings
    assert (owed.account, owed.units.number) == ("Assets:Receivable:Web", Decimal("-8.00"))
    assert (refund.account, refund.units.number) == ("Income:Refunds:Web", Decimal("8.00"))
    assert (refund.meta["item"], refund.meta["quantity"]) == ("HERON-STK", 2)


def test_refund_of_a_cancelled_order_is_not_counted_twice(shop: Shop) -> None:
    cancelled = "W1,2025-03-08,Heron,-1,4.00,0.50,2.50,0.50,USD"
    refund = "2025-03-09,Refund,W1,,-4.00,0,-4.00,USD,re_1"
    sale = "2025-03-04,Sale,W1,,10.00,0,10.00,USD,ch_1"
    orders = shop.orders(LINES, cancelled)

    # 8.00 less 0.50, less 4.00 and 0.50 of discount, 2.50 shipping, 0.50 tax: 6.00 is left
    shop.run(shop.payments(sale, refund), orders)

    balances = shop.balances()
    assert balances["Income:Refunds:Web"] == Decimal("4.00")
    assert balances["Assets:Clearing:Card"] == Decimal("6.00")
    assert "Income:Suspense:Web" not in balances


def test_negative_price_with_pieces_is_a_refund_that_puts_nothing_back(shop: Shop) -> None:
    shop.run(shop.orders("W1,2025-03-03,Heron,1,-1.00,0,0,0,USD"))

    (transaction,) = shop.transactions()
    refund = transaction.postings[1]
    assert (refund.account, refund.units.number) == ("Income:Refunds:Web", Decimal("1.00"))
    assert refund.meta["item"] == "HERON-STK"
    assert "quantity" not in refund.meta


def test_free_piece_is_sold_for_nothing(shop: Shop) -> None:
    shop.run(shop.orders("W1,2025-03-03,Heron,1,0.00,0,0,0,USD"))

    (transaction,) = shop.transactions()
    (sale,) = transaction.postings
    assert (sale.account, sale.units.number) == ("Income:Sales:Web", Decimal("0.00"))
    assert sale.meta["quantity"] == 1


def test_line_with_an_account_is_booked_there_with_its_text(shop: Shop) -> None:
    shop.run(shop.orders("W1,2025-03-03,Gift wrap,1,1.00,0,0,0,USD"))

    (transaction,) = shop.transactions()
    assert transaction.postings[1].account == "Income:Extras:Web"
    assert transaction.postings[1].meta["line-text"] == "Gift wrap"


@pytest.mark.parametrize(
    ("row", "account", "amount", "link"),
    [
        ("Fee,,,0.00,2.00,-2.00,USD,f1", "Expenses:Fees:Card", "2.00", None),
        ("Fee,,,-2.00,0.00,-2.00,USD,f1", "Expenses:Fees:Card", "2.00", None),
        (
            "Payout,,,-50.00,0,-50.00,USD,po/1",
            "Assets:Clearing:Payouts",
            "50.00",
            "payout-po/1",
        ),
        ("Dispute,W1,,-4.00,15,-19.00,USD,d1", "Income:Refunds:Web", "4.00", "order-W1"),
        ("Dispute reversal,W1,,4,0,4,USD,d2", "Income:Refunds:Web", "-4.00", "order-W1"),
        ("Adjustment,,,-0.30,0,-0.30,USD,a1", "Income:Suspense:Web", "0.30", None),
    ],
)
def test_movements_that_are_no_sale(
    shop: Shop, row: str, account: str, amount: str, link: str | None
) -> None:
    shop.run(shop.payments(f"2025-03-04,{row}"))

    (transaction,) = shop.transactions()
    assert [p.units.number for p in transaction.postings if p.account == account] == [
        Decimal(amount)
    ]
    assert transaction.links == ({link} if link else set())
    assert transaction.meta["channel"] == "Web"


def test_sale_without_order_numbers_in_the_file_is_a_sale(empty_shop: Shop) -> None:
    layout = empty_shop.file(
        "reader.toml",
        'kind = "payments"\nsource = "reader"\nchannel = "Fair"\ncurrency = "USD"',
        '[columns]\ndate = "Day"\ngross = "Taken"\n[types]\ndefault = "sale"',
    )
    report = empty_shop.run(
        empty_shop.file("fair.csv", "Day,Taken", "2025-05-03,4.00", "2025-05-03,4.00"),
        layouts=[str(layout)],
    )

    assert report.files[0].booked == 2  # alike, and still two sales
    assert empty_shop.balances() == {
        "Assets:Clearing:Reader": Decimal("8.00"),
        "Income:Sales:Fair": Decimal("-8.00"),
    }


def test_channels_with_like_order_numbers_are_kept_apart(shop: Shop) -> None:
    shop.run(shop.orders("7,2025-03-03,Heron,1,4.00,0,0,0,USD"))
    market = shop.file(
        "market.csv",
        "Posted;Entry;Order number;Details;Amount;Charges;Payable;Money;Entry number",
        "05/03/2025;Order;7;;9.00;-0.90;8.10;USD;E-1",
    )
    shop.run(market)

    balances = shop.balances()
    assert balances["Assets:Receivable:Web"] == Decimal("4.00")
    assert balances["Income:Suspense:Market"] == Decimal("-9.00")


def test_payment_in_another_currency_is_not_matched(shop: Shop) -> None:
    euros = "2025-03-04,Sale,W1,,10.50,0.60,9.90,EUR,ch_1"
    report = shop.run(shop.payments(euros), shop.orders(LINES))

    assert len(report.notes) == 1
    amounts = {
        (posting.account, posting.units.to_string())
        for transaction in shop.transactions()
        for posting in transaction.postings
    }
    assert ("Assets:Receivable:Web", "10.50 USD") in amounts
    assert ("Income:Suspense:Web", "-10.50 EUR") in amounts


class Trade(NamedTuple):
    """Rows of files: an item of the second is the rows of one order."""

    payments: list[str]
    orders: list[list[str]]


@st.composite
def trades(draw: st.DrawFn) -> Trade:
    """Orders with their payments and refunds: split, missing, or of another amount."""
    payments, orders = [], []
    cents = st.integers(1, 900).map(lambda each: Decimal(each) / 100)
    items = st.sampled_from(["Heron", "Moth", "A box of things", "Gift wrap"])
    for number in range(draw(st.integers(1, 3))):
        order = f"W{number}"
        shipping, tax = draw(cents), draw(cents)
        total = shipping + tax
        rows = []
        for _ in range(draw(st.integers(1, 3))):
            quantity = draw(st.sampled_from([1, 2, -1]))
            price, discount = (
                draw(cents),
                draw(st.sampled_from([Decimal(0), Decimal("0.05")])),
            )
            total += quantity * price - discount
            month, item = draw(st.integers(1, 3)), draw(items)
            rows.append(
                f"{order},2025-0{month}-11,{item},{quantity},{price},{discount},{shipping},"
                f"{tax},USD"
            )
        orders.append(rows)
        for part in range(draw(st.integers(0, 3))):
            gross = draw(st.sampled_from([total, total / 2, Decimal("3.10")]))
            gross = abs(gross.quantize(Decimal("0.01")))
            kind, sign = draw(st.sampled_from([("Sale", 1), ("Sale", 1), ("Refund", -1)]))
            fee = Decimal("0.07")
            payments.append(
                f"2025-0{draw(st.integers(1, 3))}-12,{kind},{order},,{sign * gross},{fee},"
                f"{sign * gross - fee},USD,{order}-{part}"
            )
    return Trade(payments, orders)


# Files are drawn between the imports, which the check takes for slow drawing.
@settings(suppress_health_check=[HealthCheck.too_slow])
@given(trade=trades(), data=st.data())
def test_any_order_of_import_comes_to_the_same_balances(
    trade: Trade, data: st.DataObject
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        at_once = new_shop(Path(folder) / "at-once")
        at_once.run(
            at_once.payments(*trade.payments), at_once.orders(*chain(*trade.orders))
        )

        piecemeal = new_shop(Path(folder) / "piecemeal")
        for number, files in enumerate(_draw_imports(trade, data)):
            piecemeal.run(
                *(
                    piecemeal.payments(*rows, name=f"p{number}-{each}.csv")
                    if is_payments
                    else piecemeal.orders(*rows, name=f"o{number}-{each}.csv")
                    for each, (is_payments, rows) in enumerate(files)
                )
            )

        assert piecemeal.balances() == at_once.balances()


def _draw_imports(
    trade: Trade, data: st.DataObject
) -> Sequence[Sequence[tuple[bool, list[str]]]]:
    """Draw files that overlap and have all of the rows, and calls with all of the files."""
    files = []
    for is_payments, units in (
        (True, [[row] for row in trade.payments]),
        (False, trade.orders),
    ):
        left = list(range(len(units)))
        while left:
            some = data.draw(st.sets(st.sampled_from(range(len(units))), min_size=1))
            left = [each for each in left if each not in some]
            files.append((is_payments, [*chain(*(units[each] for each in sorted(some)))]))
    files = data.draw(st.permutations(files))
    calls: list[list[tuple[bool, list[str]]]] = []
    for file in files:
        if calls and data.draw(st.booleans()):
            calls[-1].append(file)
        else:
            calls.append([file])
    return calls


@pytest.mark.parametrize("lines_first", [True, False])
def test_amount_that_the_user_left_blank_counts(shop: Shop, lines_first: bool) -> None:
    account = "Assets:Receivable:Web" if lines_first else "Income:Suspense:Web"
    by_hand = (
        "2025-01-01 open Assets:Cash\n"
        '2025-03-04 * "In cash, at the market" ^order-W1\n'
        f"  Assets:Cash  10.50 USD\n  {account}\n"
    )
    if lines_first:
        shop.run(shop.orders(LINES))
    else:
        by_hand += f"2025-01-01 open {account}\n"
    shop.ledger.write_text(shop.ledger.read_text("utf-8") + by_hand, "utf-8")
    if lines_first:
        more = SALE.replace("10.50,0.60,9.90", "1.00,0,1.00")
        report = shop.run(shop.payments(more))
        assert shop.balances()["Income:Suspense:Web"] == Decimal("-1.00")
        assert "owed 0" in report.notes[0]
    else:
        shop.run(shop.orders(LINES))
        assert "Income:Suspense:Web" not in shop.balances()
    assert "Assets:Receivable:Web" not in shop.balances()

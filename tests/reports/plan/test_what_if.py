"""Every design before and after a change, worked out by hand and over random tables."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.plugins.catalogue import read_catalogue
from offcut.reports.order_columns import COLUMNS
from offcut.reports.order_table import order_table
from offcut.reports.plan.earned import Earned
from offcut.reports.plan.newest_costs import newest_lot_costs
from offcut.reports.plan.piece_cost import PieceCost, bills_on, piece_costs
from offcut.reports.plan.what_if import Changes, WhatIf, material_shares, what_if

D = Decimal

LEDGER = """
plugin "offcut.plugins"
option "operating_currency" "USD"
2025-01-01 commodity HERON-STK
  stock: "product"
  design: "Heron"
2025-01-01 commodity HERON-PRT
  stock: "product"
  design: "Heron"
2025-01-01 commodity MOTH-STK
  stock: "product"
  design: "Moth"
2025-01-01 commodity VINYL
  stock: "material"
2025-01-01 commodity INK-ML
  stock: "material"
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Suspense:Web
2025-01-01 open Income:Shipping:Web
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:Postage
2025-01-01 open Expenses:Software
2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL 6 INK-ML
2025-01-02 * "Materials, and prints from a manufacturer"
  Assets:Materials:VINYL  50 VINYL {0.90 USD}
  Assets:Materials:INK-ML  500 INK-ML {0.05 USD}
  Assets:Stock:HERON-PRT  50 HERON-PRT {5.00 USD}
  Assets:Stock:MOTH-STK  50 MOTH-STK {0.30 USD}
  Assets:Cash
2025-02-01 custom "print-run" 60 HERON-STK
2025-03-01 * "Web order" ^order-1
  Income:Sales:Web  -8.00 USD
    item: "HERON-STK"
    quantity: 2
  Income:Sales:Web  -24.00 USD
    item: "HERON-PRT"
    quantity: 1
  Income:Shipping:Web  -4.00 USD
  Expenses:Fees:Card  1.08 USD
  Expenses:Postage  3.00 USD
  Assets:Cash
2025-03-02 * "Web order" ^order-2
  Income:Sales:Web  -12.00 USD
    item: "MOTH-STK"
    quantity: 3
  Expenses:Fees:Card  0.36 USD
  Assets:Cash
2025-03-03 * "Label of the second order" ^order-2
  Expenses:Postage  1.00 USD
  Assets:Cash
2025-03-04 * "Label that was given back" ^order-3
  Expenses:Postage  1.00 USD
  Assets:Cash
2025-03-05 * "Given back" ^order-3
  Expenses:Postage  -1.00 USD
  Assets:Cash
2025-03-06 * "Stamps"
  Expenses:Postage  5.00 USD
  Assets:Cash
2025-03-10 * "Subscription"
  Expenses:Software  9.00 USD
  Assets:Cash
"""


@pytest.fixture
def books(load: Any) -> tuple[pd.DataFrame, dict[str, PieceCost]]:
    """The table of that ledger, and what a sticker costs by its bill."""
    ledger = load(LEDGER)
    entries, options = ledger.entries, ledger.options
    costs = newest_lot_costs(entries, options)
    found = piece_costs(read_catalogue(entries), bills_on(entries), costs, "bill")
    return order_table(entries, options), found.pieces


def after(plan: WhatIf) -> dict[str, Decimal]:
    return {design.name: design.after.contribution for design in plan.designs}


def test_nothing_changed(books: Any) -> None:
    table, _ = books
    plan = what_if(table, "USD", Changes())
    heron, moth = plan.designs
    # 32.00 and 4.00; less fees 1.08, postage 3.00, and goods of 2 * 0.20 and 5.00.
    assert heron.before == heron.after
    assert heron.before == Earned(
        *(D(3), D("32.00"), D("4.00"), D("-1.08"), D("-3.00"), D(0), D("-5.40"), D(0))
    )
    assert heron.before.contribution == D("26.52")
    assert heron.before.each == D("8.84")
    assert heron.before.margin is not None
    assert heron.before.margin.quantize(D("0.0001")) == D("0.7367")
    # 12.00; less fees 0.36, postage 1.00, and goods of 3 * 0.30.
    assert (moth.name, moth.before.contribution) == ("Moth", D("9.74"))
    assert plan.unallocated.before.contribution == D("-14.00")
    assert plan.total.before.contribution == D("22.26")
    assert plan.parcels == 0
    assert plan.total.difference == 0


def test_tenth_on_all_prices(books: Any) -> None:
    plan = what_if(books[0], "USD", Changes(price=D("0.10")))
    # 3.20 more of sales; fees were 0.03 of the 36.00 paid, and are that of 39.20.
    heron, moth = plan.designs
    assert heron.difference == D("3.20") - D("0.096")
    assert heron.after.units == heron.before.units == D(3)
    assert moth.difference == D("1.20") - D("0.036")
    assert plan.total.difference == heron.difference + moth.difference


def test_price_of_one_product(books: Any) -> None:
    one = Changes(prices={"HERON-STK": D("0.50")})
    plan = what_if(books[0], "USD", one)
    # 4.00 more of stickers, whose fees were 0.27 of 9.00 with their part of shipping.
    assert plan.designs[0].difference == D("4.00") - D("0.12")
    assert plan.designs[1].difference == 0


def test_one_in_a_hundred_more_goes_in_fees(books: Any) -> None:
    plan = what_if(books[0], "USD", Changes(fee=D("0.01")))
    assert [each.difference for each in plan.designs] == [D("-0.36"), D("-0.12")]
    both = what_if(books[0], "USD", Changes(price=D("0.10"), fee=D("0.01")))
    # The new rate is on the new price: 0.04 of 39.20.
    assert both.designs[0].after.fees == D("-1.568")


def test_fee_of_one_channel(load: Any) -> None:
    ledger = load(
        LEDGER
        + """
2025-01-01 open Income:Sales:Fair
2025-03-12 * "Fair"
  Income:Sales:Fair  -20.00 USD
    item: "MOTH-STK"
    quantity: 5
  Assets:Cash
"""
    )
    table = order_table(ledger.entries, ledger.options)
    plan = what_if(table, "USD", Changes(fees={"Fair": D("0.05")}))
    assert {each.name: each.difference for each in plan.designs} == {
        "Heron": D(0),
        "Moth": D("-1.00"),
    }
    # All others pay a hundredth more, and the new rate is on the new price.
    given = Changes(price=D("0.5"), fee=D("0.01"), fees={"Fair": D("0.05")})
    without = what_if(table, "USD", Changes(price=D("0.5")))
    plan = what_if(table, "USD", given)
    more = plan.total.after.fees - without.total.after.fees
    # 48.00 and 4.00 of shipping, 18.00; 30.00.
    assert more == -(D("0.52") + D("0.18") + D("1.50"))


def test_dearer_parcels(books: Any) -> None:
    plan = what_if(books[0], "USD", Changes(postage=D("0.11")))
    # Two parcels; the first is of one design. Loose stamps and a label given back are none.
    assert plan.parcels == 2
    assert [each.difference for each in plan.designs] == [D("-0.11"), D("-0.11")]
    assert plan.unallocated.difference == 0
    assert plan.total.difference == D("-0.22")


def test_dearer_material(books: Any) -> None:
    table, pieces = books
    # Of a sticker's 0.20, vinyl is 0.15 and ink 0.05.
    assert material_shares(pieces["HERON-STK"]) == {
        "VINYL": D("0.75"),
        "INK-ML": D("0.25"),
    }
    plan = what_if(table, "USD", Changes(materials={"VINYL": D("0.20")}), pieces)
    assert [each.difference for each in plan.designs] == [D("-0.06"), D(0)]
    assert plan.without_bill == ("HERON-PRT", "MOTH-STK")
    both = Changes(materials={"VINYL": D("0.20"), "INK-ML": D("-0.20")})
    plan = what_if(table, "USD", both, pieces)
    assert plan.designs[0].difference == D("-0.04")
    given_away = Changes(materials={"VINYL": D(-1)})
    plan = what_if(table, "USD", given_away, pieces)
    assert plan.designs[0].difference == D("0.30")


def test_other_currency_and_empty_table(books: Any) -> None:
    table, _ = books
    for empty in (what_if(table, "EUR", Changes()), what_if(table[:0], "USD", Changes())):
        assert empty.designs == ()
        assert empty.total.before == empty.total.after == Earned()
        assert (empty.total.before.each, empty.total.before.margin) == (None, None)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (Changes(price=D(-1)), "A price must stay above zero, but changes by -1 of itself"),
        (Changes(price=D("NaN")), "A price must stay above zero"),
        (Changes(fee=D("Infinity")), "The change of the fee must be a number"),
        (Changes(postage=D("NaN")), "The change of the postage must be a number"),
        (Changes(materials={"VINYL": D(-2)}), "VINYL cannot cost less than nothing"),
        (Changes(materials={"FOIL": D(1)}), "FOIL is in no bill of materials"),
        (Changes(prices={"FERN": D("0.1")}), "FERN was not sold on these days"),
        (Changes(prices={"MOTH-STK": D(-1)}), "The price of MOTH-STK must stay above zero"),
        (Changes(fees={"Fair": D("0.1")}), "channel Fair on these days; there is: Web"),
        (Changes(fees={"Web": D("NaN")}), "The change of the fee must be a number"),
    ],
)
def test_bad_changes(books: Any, changes: Changes, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        what_if(books[0], "USD", changes, books[1])


cents = st.integers(-3000, 3000).map(lambda number: D(number) / 100)
costs = st.one_of(cents, st.integers(-(10**9), 0).map(lambda number: D(number) / 10**7))
PRODUCTS = {"HERON-STK": "Heron", "HERON-PRT": "Heron", "MOTH-STK": "Moth", "": ""}


AMOUNTS = (
    *("gross", "discount", "refund", "shipping", "fees", "postage", "packaging"),
    *("cost_of_goods", "giveaways", "spoilage", "selling", "other"),
)
lines = st.tuples(
    st.sampled_from(["", "1", "2", "3"]),
    st.sampled_from(["Web", "Fair"]),
    st.sampled_from(sorted(PRODUCTS)),
    st.integers(-3, 9).map(D),
    st.sampled_from(["USD", "USD", "EUR"]),
    st.tuples(*(costs for _ in AMOUNTS)),
)


def as_table(drawn: list[Any]) -> pd.DataFrame:
    """Return an order table, whose columns need not make sense together."""
    rows = []
    for order, channel, product, quantity, currency, amounts in drawn:
        row = {
            **dict.fromkeys(COLUMNS, ""),
            **dict(zip(AMOUNTS, amounts, strict=True)),
            "order": order,
            "date": datetime.date(2025, 1, 1),
            "channel": channel,
            "product": product,
            "design": PRODUCTS[product],
            "quantity": quantity,
            "currency": currency,
            "sales": sum(amounts[:3]),
            "contribution": sum(amounts),
        }
        rows.append(row)
    return pd.DataFrame(rows, columns=list(COLUMNS), dtype=object)


tables = st.lists(lines, max_size=8).map(as_table)


@settings(max_examples=40, deadline=None)
@given(tables, st.sampled_from(["USD", "EUR"]))
def test_nothing_changed_is_the_table(table: pd.DataFrame, currency: str) -> None:
    plan = what_if(table, currency, Changes())
    mine = table[table["currency"] == currency]
    assert plan.total.before == plan.total.after
    assert plan.total.before.contribution == sum(mine["contribution"], D(0))
    columns = {"sales": "sales", "goods": "cost_of_goods", "units": "quantity"}
    for name, column in columns.items():
        assert getattr(plan.total.before, name) == sum(mine[column], D(0))
    for design in plan.designs:
        rows = mine[mine["design"] == design.name]
        assert design.before == design.after
        assert design.before.contribution == sum(rows["contribution"], D(0))


shares = st.integers(-90, 300).map(lambda number: D(number) / 100)


@settings(max_examples=40, deadline=None)
@given(tables, shares, shares, cents)
def test_changes_add_up(
    table: pd.DataFrame, price: Decimal, fee: Decimal, postage: Decimal
) -> None:
    plan = what_if(table, "USD", Changes(price=price, fee=fee, postage=postage))
    lines = [*plan.designs, plan.unallocated]
    assert plan.total.difference == sum((line.difference for line in lines), D(0))
    total = plan.total
    assert total.before.postage - total.after.postage == postage * plan.parcels
    assert total.after[6:] == total.before[6:]
    for line in plan.designs:
        assert line.after.sales == line.before.sales * (1 + price)
        assert line.after.units == line.before.units
    assert plan.unallocated.after.sales == plan.unallocated.before.sales


@settings(max_examples=40, deadline=None)
@given(tables, shares)
def test_fee_alone_takes_its_share_of_what_buyers_paid(
    table: pd.DataFrame, fee: Decimal
) -> None:
    plan = what_if(table, "USD", Changes(fee=fee))
    assert plan.total.difference == -fee * plan.total.before.income

"""Every design before and after a change, as the statement has it, worked out by hand."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.order_columns import COLUMNS
from offcut.reports.period import Period, choose_period
from offcut.reports.plan.changes_given import Changed, Given, changes_given
from offcut.reports.plan.given_figures import change_of
from offcut.reports.plan.newest_costs import newest_lot_costs
from offcut.reports.plan.what_if import Changes, what_if
from offcut.reports.plan.what_if_statement import plan_statement, what_if_statement
from offcut.reports.statement import Statement

D = Decimal


def notes(statement: Statement) -> str:
    return " ".join(note.text for note in statement.notes)


def prices(*pairs: tuple[str, str]) -> Given:
    return Given(prices=tuple((name, change_of(text)) for name, text in pairs))


def test_new_price(shop: Books, lines: Any) -> None:
    statement = what_if_statement(shop, Period(), "USD", prices(("heron-stk", "4.50")))
    assert lines(statement, "what-if-changes") == [
        ("Price of HERON-STK", D(4), D("4.50"), "+12.5%")
    ]
    heron, post, total = lines(statement, "what-if-designs")
    # POST: 114.00, of which 38 cost 2.00.
    assert post[:5] == ("POST", D(38), D(38), D(38), D(0))
    # 60.00 less fees of 2.40, postage of 3.00 and 15 at 0.20; 7.50 more, and of the fees,
    # which were 4 % of what was paid, 0.30 more.
    assert heron[:5] == ("Heron", D(15), D("51.6"), D("58.8"), D("7.2"))
    assert heron[5:7] == (D("3.44"), D("3.92"))
    assert total[:5] == ("Total", D(53), D("89.6"), D("96.8"), D("7.2"))
    assert statement.holds
    assert "All rows add up to 89.60 USD" in statement.checks[0].sentence
    assert "add up to 7.20 USD" in statement.checks[1].sentence


def test_where_the_change_comes_from(shop: Books, lines: Any) -> None:
    given = Given(
        fees=(("", change_of("+1%")),),
        postage=D("0.20"),
        materials=(("VINYL", change_of("1.35")),),
    )
    statement = what_if_statement(shop, Period(), "USD", given)
    # 174.00 sold; two parcels; vinyl is three quarters of a sticker and half dearer,
    # so of goods of 3.00 three eighths more.
    assert lines(statement, "what-if-parts") == [
        ("Sales", D(174), D(174), D(0)),
        ("Fees", D("-2.4"), D("-4.14"), D("-1.74")),
        ("Postage", D(-3), D("-3.4"), D("-0.4")),
        ("Cost of goods", D(-79), D("-80.125"), D("-1.125")),
        ("Net income", D("89.6"), D("86.335"), D("-3.265")),
    ]
    assert lines(statement, "what-if-changes") == [
        ("All fees, of what buyers pay", None, None, "+1%"),
        ("Cost of VINYL", D("0.90"), D("1.35"), "+50%"),
        ("A parcel", None, None, "+0.20"),
    ]
    assert "2 parcels were posted" in notes(statement)
    assert "so their cost stays: POST." in notes(statement)


def test_days_without_sales(shop: Books, lines: Any) -> None:
    april = choose_period(month="2025-04")
    given = Given(postage=D(1))
    statement = what_if_statement(shop, april, "USD", given)
    assert lines(statement, "what-if-designs") == []
    assert statement.holds
    with pytest.raises(ValueError, match="HERON-STK was not sold on these days"):
        what_if_statement(shop, april, "USD", prices(("HERON-STK", "5")))


def test_ledger_that_does_not_agree_is_told(shop: Books) -> None:
    plan = what_if(shop.table, "USD", Changes())
    statement = plan_statement(plan, Period(), (), D("89.61"))
    assert not statement.holds
    assert "THIS REPORT DOES NOT ADD UP" in statement.checks[0].sentence


def test_changes_as_given(shop: Books) -> None:
    costs = newest_lot_costs(shop.entries, shop.options)
    given = Given(
        prices=(("", change_of("+10%")), ("POST", change_of("-0.30"))),
        fees=(("", change_of("+1%")), ("Web", change_of("-0.5%"))),
        materials=(("INK-ML", change_of("+0.01")), ("VINYL", change_of("-50%"))),
    )
    changes, shown = changes_given(given, shop.catalogue, costs, "USD")
    assert changes == Changes(
        price=D("0.1"),
        prices={"POST": D("-0.1")},
        fee=D("0.01"),
        fees={"Web": D("-0.005")},
        materials={"INK-ML": D("0.2"), "VINYL": D("-0.5")},
    )
    assert shown == (
        Changed("All other prices", None, None, D("0.1")),
        Changed("Price of POST", D(3), D("2.70"), D("-0.1")),
        Changed("All other fees, of what buyers pay", None, None, D("0.01")),
        Changed("Fees on Web, of what buyers pay", None, None, D("-0.005")),
        Changed("Cost of INK-ML", D("0.05"), D("0.06"), D("0.2")),
        Changed("Cost of VINYL", D("0.90"), D("0.45"), D("-0.5")),
    )


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (prices(("HERON", "5")), "no product HERON; did you mean HERON-STK"),
        (prices(("BARE", "5")), "BARE has no list-price in USD that a price could change"),
        (prices(("EURO", "5")), "EURO has no list-price in USD"),
        (prices(("", "5")), r"All prices change by a share: \+10%"),
        (prices(("POST", "5"), ("post", "6")), "POST is given twice"),
        (prices(("POST", "0")), "The price of POST must stay above zero"),
        (prices(("POST", "-3")), "The price of POST must stay above zero"),
        (Given(fees=(("Web", change_of("0.5")),)), "A fee changes by a share"),
        (Given(fees=(("Fair", change_of("+1%")),)), "on a channel Fair on these days"),
        (Given(materials=(("VINIL", change_of("1")),)), "no material VINIL .did you mean"),
        (
            Given(materials=(("VINYL", change_of("-2")),)),
            "VINYL cannot cost less than nothing",
        ),
    ],
)
def test_changes_that_cannot_be(shop: Books, given: Given, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        what_if_statement(shop, Period(), "USD", given)


amounts = st.integers(-3000, 3000).map(lambda number: D(number) / 100)
rows = st.tuples(
    st.sampled_from([("HERON", "Heron"), ("HERON-2", "Heron"), ("MOTH", "Moth"), ("", "")]),
    st.integers(-3, 9).map(D),
    *(amounts for _ in range(7)),
)


@settings(max_examples=40, deadline=None)
@given(st.lists(rows, max_size=8))
def test_nothing_changed_is_the_table(drawn: list[Any]) -> None:
    table = pd.DataFrame(
        [
            {
                **dict.fromkeys(COLUMNS, ""),
                **dict.fromkeys(("giveaways", "spoilage", "selling"), D(0)),
                "date": datetime.date(2025, 1, 1),
                "currency": "USD",
                "product": product,
                "design": design,
                "quantity": quantity,
                **dict(
                    zip(
                        (
                            *("sales", "shipping", "fees", "postage", "packaging"),
                            *("cost_of_goods", "other"),
                        ),
                        parts,
                        strict=True,
                    )
                ),
                "contribution": sum(parts, D(0)),
            }
            for (product, design), quantity, *parts in drawn
        ],
        columns=list(COLUMNS),
        dtype=object,
    )
    total = sum(table["contribution"], D(0))
    plan = what_if(table, "USD", Changes())
    statement = plan_statement(plan, Period(), (), total)
    assert statement.holds
    designs = statement.tables[1].lines
    for line in designs:
        name, units, before, after, change, each, each_after, *margins = line.cells
        assert (before, each, change) == (after, each_after, D(0))
        assert margins[0] == margins[1]
        if line.role == "line":
            mine = table[table["design"] == name]
            assert before == sum(mine["contribution"], D(0))
            assert units == sum(mine["quantity"], D(0))
    for at in (1, 2, 3, 4):
        for line in designs:
            if line.sums:
                parts = [designs[one].cells[at] for one in line.sums]
                assert line.cells[at] == sum(parts, D(0))
    assert statement.headlines[0].amount == total

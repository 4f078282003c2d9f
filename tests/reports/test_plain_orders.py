"""A plain order is read to the same lines as any other."""

from __future__ import annotations

from typing import Any

import pytest
from beancount.core import data
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.plugins.catalogue import read_catalogue
from offcut.reports.account_columns import AccountPlaces
from offcut.reports.allocation import RULES, Rule, read_allocation
from offcut.reports.order_lines import Row, flows_of, order_lines
from offcut.reports.plain_orders import plain_lines
from tests.reports.test_random_ledgers import ledgers, load

HEAD = """
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Refunds:Web
2025-01-01 open Income:Discounts:Web
2025-01-01 open Income:Commissions:Web
2025-01-01 open Income:Suspense:Web
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:COGS:A
2025-01-01 commodity A
  stock: "product"
2025-01-01 commodity B
  stock: "product"
2025-03-04 * "Order" ^order-W1 #event-fair
"""
FEE = "  Expenses:Fees:Card  0.61 USD\n"
COST = '  Expenses:COGS:A  0.41 USD\n    item: "A"\n'
REST = "  Assets:Cash\n"


def sale(item: str, account: str = "Income:Sales:Web", amount: str = "-4.00 USD") -> str:
    """Return a posting that sells a piece."""
    return f'  {account}  {amount}\n    item: "{item}"\n    quantity: 1\n'


def both_ways(
    entries: data.Directives, options: Any, rule: Rule
) -> list[tuple[list[Row] | None, list[Row]]]:
    """Return the lines of each transaction, read as a plain one and as any."""
    places = AccountPlaces(entries, options, read_catalogue(entries))
    allocation = read_allocation(entries, rule)
    return [
        (
            plain_lines(entry, places, allocation),
            order_lines(entry, flows_of(entry, places), allocation),
        )
        for entry in entries
        if isinstance(entry, data.Transaction)
    ]


@settings(max_examples=80, deadline=None)
@given(ledgers(), st.sampled_from(RULES))
def test_plain_orders_have_the_lines_of_any(text: str, rule: Rule) -> None:
    entries, options = load(text)
    for plain, lines in both_ways(entries, options, rule):
        assert plain is None or plain == lines


@pytest.mark.parametrize(
    "postings",
    [
        sale("A") + FEE + COST,
        sale("A") + FEE + COST + sale("B") + FEE,
        # Pieces that came back, and a refund of nothing.
        sale("A", amount="4.00 USD"),
        sale("A", "Income:Refunds:Web", "0.00 USD"),
        # Its own discount, and an income of another kind with pieces.
        sale("A") + '  Income:Discounts:Web  1.00 USD\n    item: "A"\n',
        sale("A", "Income:Commissions:Web"),
    ],
)
@pytest.mark.parametrize("rule", RULES)
def test_plain_orders_are_read_as_such(load: Any, postings: str, rule: Rule) -> None:
    ledger = load(HEAD + postings + REST)
    ((plain, lines),) = both_ways(ledger.entries, ledger.options, rule)
    assert plain == lines and lines


@pytest.mark.parametrize(
    "postings",
    [
        # No line, two of one item, two currencies, a cost of what was not sold.
        FEE,
        sale("A") + sale("A"),
        sale("A") + "  Expenses:Fees:Card  0.61 EUR\n  Assets:Cash  -0.61 EUR\n",
        sale("B") + COST,
        # At a price, of unknown text, and on an account where it waits.
        sale("A", amount="-4.00 EUR @ 1.10 USD"),
        sale("A") + '  Income:Sales:Web  -1.00 USD\n    item-text: "What?"\n',
        sale("A") + "  Income:Suspense:Web  -1.00 USD\n",
    ],
)
def test_what_is_out_of_the_ordinary_is_left_to_order_lines(
    load: Any, postings: str
) -> None:
    ledger = load(HEAD + postings + REST)
    ((plain, _),) = both_ways(ledger.entries, ledger.options, "value")
    assert plain is None

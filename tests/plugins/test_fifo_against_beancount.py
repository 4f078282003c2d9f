"""First in first out against beancount's own booking, on random histories.

The same history is told twice in one ledger: OURS is stock and left to the plugin; BOOKED
is none, and each sale takes it out with `{}` from an account that is opened "FIFO".
"""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.conftest import load_text
from tests.plugins.books import complaints, costs, on_hand

D = Decimal

HEAD = """\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity OURS
  stock: "product"
2025-01-01 open Assets:Stock:OURS OURS "FIFO"
2025-01-01 open Assets:Stock:BOOKED BOOKED "FIFO"
"""

History = list[tuple[str, int, Decimal, int]]


@st.composite
def histories(draw: st.DrawFn) -> History:
    """Draw purchases and sales, a day to each, of which none sells what is not there.

    A purchase is (buy, units, unit cost, age of the lot in days), and a sale (sell, units).
    """
    history: History = []
    there = 0
    for _ in range(draw(st.integers(1, 25))):
        if there and draw(st.booleans()):
            units = draw(st.integers(1, there))
            history.append(("sell", units, D(0), 0))
            there -= units
        else:
            units = draw(st.integers(1, 60))
            cost = D(draw(st.integers(1, 10**5))).scaleb(-draw(st.integers(0, 4)))
            age = draw(st.sampled_from([0, 0, 0, 1, 40]))
            history.append(("buy", units, cost, age))
            there += units
    return history


def told_twice(history: History) -> str:
    """Return a history as a ledger."""
    blocks = [HEAD]
    for number, (kind, units, cost, age) in enumerate(history):
        date = datetime.date(2025, 3, 1) + datetime.timedelta(days=number)
        if kind == "buy":
            lot = f"{{{cost} USD, {date - datetime.timedelta(days=age)}}}"
            for name in ("OURS", "BOOKED"):
                blocks.append(
                    f'{date} * "Bought"\n  Assets:Stock:{name}  {units} {name} {lot}\n'
                    "  Assets:Bank\n"
                )
        else:
            blocks.append(
                f'{date} * "Sale {number}"\n  Assets:Bank  4.00 USD\n'
                f'  Income:Sales:Web  -4.00 USD\n    item: "OURS"\n    quantity: {units}\n'
                f'{date} * "Sale {number}"\n'
                f"  Assets:Stock:BOOKED  -{units} BOOKED {{}}\n  Expenses:COGS:BOOKED\n"
            )
    return "".join(blocks)


def agrees_with_beancount(history: History) -> None:
    loaded = load_text(told_twice(history))
    assert complaints(loaded) == []
    assert costs(loaded, "Expenses:COGS:OURS") == costs(loaded, "Expenses:COGS:BOOKED")
    assert on_hand(loaded, "OURS") == on_hand(loaded, "BOOKED")


@given(histories())
def test_each_sale_costs_and_leaves_what_beancount_would_book(history: History) -> None:
    agrees_with_beancount(history)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(histories())
def test_ten_thousand_histories_cost_what_beancount_would_book(history: History) -> None:
    agrees_with_beancount(history)


@given(histories())
@example([("buy", 1, D(1), 0), ("buy", 1, D(1), 1), ("sell", 2, D(0), 0)])
def test_the_very_lots_that_beancount_would_take_are_taken(history: History) -> None:
    loaded = load_text(told_twice(history))
    # By lot, as two purchases of one date and cost are one lot to beancount, and two
    # layers to us.
    taken: dict[str, dict[tuple[object, ...], Decimal]] = {"OURS": {}, "BOOKED": {}}
    for entry in loaded.entries:
        for posting in getattr(entry, "postings", ()):
            if posting.cost and posting.units.number < 0:
                lots = taken[posting.units.currency]
                lot = (entry.narration, posting.cost)
                lots[lot] = lots.get(lot, D(0)) + posting.units.number
    assert taken["OURS"] == taken["BOOKED"]

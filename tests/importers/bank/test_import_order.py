"""Whatever the order of imports, statements and what they meet come to the same books."""

from __future__ import annotations

import datetime
import tempfile
from collections import defaultdict
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import NamedTuple

from hypothesis import given
from hypothesis import strategies as st

from tests.importers.bank.bank_shop import PAYOUTS, SUSPENSE, bank_shop, payout, statement
from tests.importers.shop import Shop

FIRST = datetime.date(2025, 1, 20)


class Sent(NamedTuple):
    """A payout, and after how many days it arrives."""

    day: int
    amount: str
    lag: int
    currency: str


SENT = st.lists(
    st.builds(
        Sent,
        st.integers(0, 30),
        st.sampled_from(["10.00", "10.00", "20.00", "-5.00"]),
        st.integers(0, 7),
        st.sampled_from(["USD", "USD", "EUR"]),
    ),
    min_size=1,
    max_size=8,
)
NOISE = st.lists(st.tuples(st.integers(0, 40), st.integers(-900, -501)), max_size=2)


def day_of(number: int) -> str:
    return (FIRST + datetime.timedelta(number)).isoformat()


def import_in_parts(shop: Shop, rows: list[tuple[str, str]], draw: Random) -> None:
    """Import rows in files of one or two kinds, cut and ordered at random.

    Args:
      shop: The shop.
      rows: "bank", "card" or "orders" and the row of such a file.
      draw: Draws the files.
    """
    rows = draw.sample(rows, len(rows))
    while rows:
        size = draw.randint(1, len(rows))
        part, rows = rows[:size], rows[size:]
        kinds = {kind: [row for k, row in part if k == kind] for kind, _ in part}
        write = {
            "bank": lambda texts: statement(shop, *texts),
            "card": lambda texts: shop.payments(*texts),
            "orders": lambda texts: shop.orders(*texts),
        }
        shop.run(*(write[kind](texts) for kind, texts in kinds.items()))


def daily_sums(shop: Shop) -> dict[tuple[str, str, str], Decimal]:
    """Return what each day changes in each account, where it changes anything."""
    sums: dict[tuple[str, str, str], Decimal] = defaultdict(Decimal)
    for transaction in shop.transactions():
        for posting in transaction.postings:
            number, currency = posting.units
            sums[posting.account, transaction.date.isoformat(), currency] += number
    return {key: amount for key, amount in sums.items() if amount}


RULE = f'[[bank]]\ntext = "Card"\naccount = "{PAYOUTS}"\n'


@given(SENT, NOISE, st.sampled_from(["", RULE]), st.randoms(use_true_random=False))
def test_payouts_end_at_zero(
    sent: list[Sent], noise: list[tuple[int, int]], rule: str, draw: Random
) -> None:
    """Also where a rule books arrivals before it is known of which payout they are."""
    rows = []
    for number, (day, amount, lag, currency) in enumerate(sent):
        rows.append(("card", payout(day_of(day), amount, f"po_{number}", currency)))
        arrival = f"{day_of(day + lag)},Card,Transfer,{amount},{currency},B{number}"
        rows.append(("bank", arrival))
    for number, (day, cents) in enumerate(noise):
        row = f"{day_of(day)},Shop,Thing,{Decimal(cents) / 100:.2f},USD,N{number}"
        rows.append(("bank", row))
    with tempfile.TemporaryDirectory() as folder:
        shop, at_once = (bank_shop(Path(folder, n), rule) for n in "ab")

        import_in_parts(shop, rows, draw)
        at_once.run(
            at_once.payments(*(row for kind, row in rows if kind == "card")),
            statement(at_once, *(row for kind, row in rows if kind == "bank")),
        )

        assert PAYOUTS not in shop.balances()
        waits = shop.balances().get(SUSPENSE, Decimal(0))
        assert waits == -sum((Decimal(cents) / 100 for _, cents in noise), Decimal(0))
        assert daily_sums(shop) == daily_sums(at_once)


INVOICES = st.lists(
    st.tuples(
        st.integers(1, 20),  # owed
        st.lists(st.integers(1, 15), max_size=3),  # what the rows pay that name it
    ),
    min_size=1,
    max_size=4,
)


@given(INVOICES, st.randoms(use_true_random=False))
def test_orders_are_settled_alike(
    invoices: list[tuple[int, list[int]]], draw: Random
) -> None:
    """Paid short or too much, in one row or several, before the order is known or after."""
    rows = []
    for number, (owed, paid) in enumerate(invoices):
        order = f"W{number},2025-02-03,HERON,1,{owed}.00,0,0,0,USD"
        rows.append(("orders", order))
        for part, amount in enumerate(paid):
            text = f"Invoice W{number} thanks"
            row = f"{day_of(part + 3)},Buyer,{text},{amount}.00,USD,{number}/{part}"
            rows.append(("bank", row))
    with tempfile.TemporaryDirectory() as folder:
        shop = bank_shop(Path(folder))

        import_in_parts(shop, rows, draw)

        owed = sum(max(owed - sum(paid), 0) for owed, paid in invoices)
        over = sum(max(sum(paid) - owed, 0) for owed, paid in invoices)
        balances = shop.balances()
        assert balances.get("Assets:Receivable:Web", Decimal(0)) == owed
        assert balances.get(SUSPENSE, Decimal(0)) == -over


@given(
    st.lists(st.integers(1, 20), min_size=2, max_size=5),
    st.randoms(use_true_random=False),
)
def test_several_orders_in_one_row(owed: list[int], draw: Random) -> None:
    names = [f"W{number}" for number in range(len(owed))]
    rows = [
        ("orders", f"{name},2025-02-03,HERON,1,{amount}.00,0,0,0,USD")
        for name, amount in zip(names, owed, strict=True)
    ]
    rows.append(("bank", f"2025-03-03,Buyer,{' '.join(names)},{sum(owed)}.00,USD,B1"))
    with tempfile.TemporaryDirectory() as folder:
        shop = bank_shop(Path(folder))

        import_in_parts(shop, rows, draw)

        assert "Assets:Receivable:Web" not in shop.balances()
        assert SUSPENSE not in shop.balances()

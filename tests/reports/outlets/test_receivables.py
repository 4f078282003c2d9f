"""What buyers owe: every debit and credit counted once, the oldest paid first."""

from __future__ import annotations

import datetime
import random
from collections.abc import Callable
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.outlets.receivables import OpenInvoice, open_invoices
from tests.conftest import Loaded, load_text

D = Decimal
HEAD = """
2025-01-01 open Assets:Bank
2025-01-01 open Assets:Receivable:Wholesale
2025-01-01 open Assets:Receivable:Market
2025-01-01 open Income:Sales:Wholesale
"""
END = datetime.date(2025, 12, 31)


def opened(text: str, day: datetime.date = END) -> list[tuple[str, str, Decimal, int]]:
    """Return order, buyer, amount and age of what is open."""
    ledger = load_text(HEAD + text)
    assert not ledger.errors
    found = open_invoices(ledger.entries, ledger.options, day)
    return [(each.order, each.buyer, each.amount, each.age(day)) for each in found]


def invoice(day: str, amount: str, order: str = "", buyer: str = "Harbour Books") -> str:
    link = f" ^order-{order}" if order else ""
    return (
        f'2025-{day} * "{buyer}" "Invoice"{link}\n'
        f"  Assets:Receivable:Wholesale  {amount} USD\n  Income:Sales:Wholesale\n"
    )


def paid(day: str, amount: str, *orders: str, buyer: str = "Harbour Books") -> str:
    links = "".join(f" ^order-{order}" for order in orders)
    return (
        f'2025-{day} * "{buyer}" "Paid"{links}\n'
        f"  Assets:Receivable:Wholesale  -{amount} USD\n  Assets:Bank\n"
    )


def test_what_is_paid_is_gone_and_what_is_short_stays() -> None:
    text = invoice("03-01", "99.00", "S1") + invoice("04-01", "50.00", "S2")
    text += paid("04-10", "99.00", "S1") + paid("05-02", "20.00", "S2")
    assert opened(text) == [("S2", "Harbour Books", D("30.00"), 274)]


def test_a_day_counts_what_happened_up_to_it() -> None:
    text = invoice("03-01", "99.00", "S1") + paid("04-10", "99.00", "S1")
    assert opened(text, datetime.date(2025, 4, 9)) == [
        ("S1", "Harbour Books", D("99.00"), 39)
    ]
    assert opened(text, datetime.date(2025, 2, 28)) == []


def test_a_payment_for_two_orders_pays_the_older_first() -> None:
    text = invoice("04-01", "50.00", "S2") + invoice("03-01", "40.00", "S1")
    text += paid("05-01", "60.00", "S2", "S1")
    assert opened(text) == [("S2", "Harbour Books", D("30.00"), 274)]


def test_a_posting_may_say_which_order_it_pays() -> None:
    text = invoice("03-01", "40.00", "S1") + invoice("04-01", "50.00", "S2")
    text += """
2025-05-01 * "Harbour Books" "Paid" ^order-S1 ^order-S2
  Assets:Receivable:Wholesale  -40.00 USD
    order: "S2"
  Assets:Bank
"""
    assert [each[0::2] for each in opened(text)] == [("S1", D("40.00")), ("S2", D("10.00"))]


def test_without_numbers_a_buyers_payment_pays_the_oldest_invoice() -> None:
    text = invoice("03-01", "40.00") + invoice("04-01", "50.00")
    text += invoice("03-02", "7.00", buyer="Pier Gallery") + paid("05-01", "45.00")
    assert opened(text) == [
        ("", "Pier Gallery", D("7.00"), 304),
        ("", "Harbour Books", D("45.00"), 274),
    ]


def test_what_was_paid_too_much_is_owed_back() -> None:
    text = invoice("03-01", "40.00", "S1") + paid("03-11", "44.00", "S1")
    assert opened(text) == [("S1", "Harbour Books", D("-4.00"), 295)]


def test_an_invoice_is_found_at_its_line(load: Callable[[str], Loaded]) -> None:
    ledger = load(HEAD + invoice("03-01", "40.00", "S1"))
    (found,) = open_invoices(ledger.entries, ledger.options, END)
    assert isinstance(found, OpenInvoice)
    assert (HEAD + invoice("03-01", "40.00", "S1")).splitlines()[
        found.line - 1
    ].strip() == "Assets:Receivable:Wholesale  40.00 USD"


orders = st.sampled_from(["S1", "S2", "S3", ""])
amounts = st.integers(1, 9000).map(lambda cents: f"{D(cents) / 100:.2f}")
days = st.dates(datetime.date(2025, 1, 1), END).map(lambda day: f"{day:%m-%d}")
buyer_names = st.sampled_from(["Harbour Books", "Pier Gallery"])
bookings = st.one_of(
    st.builds(invoice, days, amounts, orders, buyer_names),
    st.builds(
        lambda day, amount, some, buyer: paid(
            day, amount, *(each for each in some if each), buyer=buyer
        ),
        days,
        amounts,
        st.lists(orders, max_size=3, unique=True),
        buyer_names,
    ),
)


@given(st.lists(bookings, max_size=12), days, st.randoms(use_true_random=False))
def test_what_is_open_is_the_balance_in_any_order(
    texts: list[str], until: str, shuffled: random.Random
) -> None:
    day = datetime.date.fromisoformat(f"2025-{until}")
    ledger = load_text(HEAD + "".join(texts))
    found = open_invoices(ledger.entries, ledger.options, day)
    balance = sum(
        posting.units.number
        for entry in ledger.entries
        if hasattr(entry, "postings") and entry.date <= day
        for posting in entry.postings
        if "Receivable" in posting.account
    )
    assert sum(each.amount for each in found) == balance
    assert all(each.amount for each in found)
    shuffled.shuffle(texts)
    again = load_text(HEAD + "".join(texts))
    other = open_invoices(again.entries, again.options, day)
    assert sorted(each[:1] + each[3:7] for each in found if each.amount > 0) == sorted(
        each[:1] + each[3:7] for each in other if each.amount > 0
    )

"""How each payment in the course of a year stands."""

from __future__ import annotations

import datetime
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.tax.instalments import Stand, stands
from offcut.reports.tax.payments import Payment
from offcut.reports.tax.us_estimated import Part

D = Decimal
Day = datetime.date
DUE = [Day(2025, 4, 15), Day(2025, 6, 16), Day(2025, 9, 15), Day(2026, 1, 15)]


def stood(
    required: str, paid: dict[Day, str], today: Day, withheld: str = "0"
) -> list[Stand]:
    parts = [Part(str(due), None, due, D(required)) for due in DUE]
    payments = [
        Payment(day, "", D(amount), "", "", "")
        for day, amount in paid.items()
        if day <= today
    ]
    return stands(parts, D(withheld), payments, "USD", today)


def test_on_time_late_overdue_next_and_later() -> None:
    # 100 each; 100 on time, 60 on time and 40 late, nothing in September.
    paid = {DUE[0]: "100.00", DUE[1]: "60.00", Day(2025, 7, 1): "40.00"}
    found = stood("100", paid, Day(2025, 10, 1))
    assert [each.state for each in found] == ["paid", "paid late", "overdue", "next"]
    assert [each.required for each in found] == [100, 200, 300, 400]
    assert [each.paid for each in found] == [100, 160, 200, 200]
    assert [each.short_by for each in found] == [0, 40, 100, 200]
    assert [each.open for each in found] == [0, 0, 100, 200]
    found = stood("100", paid, Day(2025, 6, 1))
    assert [each.state for each in found] == ["paid", "next", "later", "later"]


def test_due_today_is_not_overdue() -> None:
    assert stood("100", {}, DUE[0])[0].state == "next"
    assert [each.state for each in stood("100", {}, Day(2025, 4, 16))][:2] == [
        "overdue",
        "next",
    ]


def test_paid_ahead_leaves_nothing_open() -> None:
    found = stood("100", {Day(2025, 2, 1): "250.00"}, Day(2025, 3, 1))
    assert [each.state for each in found] == ["paid", "paid", "next", "later"]
    assert found[2].open == 50


def test_what_is_withheld_counts_evenly() -> None:
    found = stood("100", {}, Day(2025, 3, 1), withheld="120")
    assert [each.required for each in found] == [70, 140, 210, 280]
    found = stood("100", {}, Day(2025, 3, 1), withheld="500")
    assert {each.state for each in found} == {"nothing due"}


def test_parts_that_are_no_whole_cents_are_paid_in_whole_cents() -> None:
    # 100 / 3 each: 33.33, 66.67, 100.00, 133.33.
    parts = [Part("", None, due, D(100) / 3) for due in DUE]
    payments = [
        Payment(day, "", D(amount), "", "", "")
        for day, amount in zip(DUE, ("33.33", "33.34", "33.33", "33.33"), strict=True)
    ]
    found = stands(parts, D(0), payments, "USD", Day(2026, 2, 1))
    assert [each.required for each in found] == [
        *(D("33.33"), D("66.67"), D("100.00"), D("133.33"))
    ]
    assert {each.state for each in found} == {"paid"}


money = st.decimals(0, 5000, places=2)


@given(
    st.lists(money, min_size=1, max_size=4),
    money,
    st.lists(st.tuples(st.dates(Day(2025, 1, 1), Day(2026, 2, 1)), money), max_size=5),
    st.dates(Day(2025, 1, 1), Day(2026, 2, 1)),
)
def test_whatever_is_paid(
    amounts: list[Decimal], withheld: Decimal, paid: list[tuple[Day, Decimal]], today: Day
) -> None:
    parts = [Part("", None, due, each) for due, each in zip(DUE, amounts, strict=False)]
    payments = [Payment(day, "", each, "", "", "") for day, each in paid if day <= today]
    found = stands(parts, withheld, payments, "USD", today)
    assert sum(each.state == "next" for each in found) <= 1
    for each in found:
        assert each.short_by >= each.open >= 0
        assert (each.state in ("paid", "paid late", "nothing due")) == (each.open == 0)
        assert (each.state == "overdue") <= (each.part.due < today)
    # Whoever pays what is open owes nothing more of it.
    last = found[-1]
    settled = [*payments, Payment(today, "", last.open, "", "", "")]
    after = stands(parts, withheld, settled, "USD", today)
    assert all(each.open == 0 for each in after)

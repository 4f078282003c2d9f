"""One rule for what stands open, whatever came first."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.open_amounts import OpenAmount, Settled, settle

D = Decimal
CENTS = st.integers(-500, 500).map(lambda each: D(each) / 100)
EVENTS = st.one_of(
    st.fixed_dictionaries({"lines": CENTS, "tax": st.sampled_from([D(0), D("0.25")])}),
    st.fixed_dictionaries({"paid": CENTS, "remitted": st.sampled_from([D(0), D("0.30")])}),
    st.fixed_dictionaries({"deposit": CENTS}),
    st.fixed_dictionaries({"lines": CENTS, "paid": CENTS}),
)


def settled(*events: dict[str, Any], start: OpenAmount | None = None) -> OpenAmount:
    """Return what is open after events, each of which balances."""
    amount = dataclasses.replace(start) if start else OpenAmount()
    for event in events:
        changes = settle(amount, **event)
        nothing = D(0)
        owed = event.get("lines", nothing) - event.get("paid", nothing)
        assert sum(changes, nothing) == owed - event.get("deposit", nothing)
    return amount


@given(events=st.lists(EVENTS, max_size=5), data=st.data())
def test_what_came_first_does_not_matter(
    events: list[dict[str, Any]], data: st.DataObject
) -> None:
    assert settled(*data.draw(st.permutations(events))) == settled(*events)


@given(
    ones=st.lists(EVENTS, max_size=3),
    others=st.lists(EVENTS, max_size=3),
    both=EVENTS,
    data=st.data(),
)
def test_orders_that_are_paid_together_are_one_whenever_that_is_known(
    ones: list[dict[str, Any]],
    others: list[dict[str, Any]],
    both: dict[str, Any],
    data: st.DataObject,
) -> None:
    early = data.draw(st.integers(0, len(ones)))
    united = settled(*ones[:early])
    united.add(settled(*others))
    late = settled(both, *ones[early:], start=united)

    assert late == settled(*data.draw(st.permutations([*ones, *others, both])))


@given(events=st.lists(EVENTS, max_size=5))
def test_where_things_stand(events: list[dict[str, Any]]) -> None:
    amount = settled(*events)
    known = any("lines" in event for event in events)
    lines = sum((event.get("lines", D(0)) for event in events), D(0))

    assert amount.lines == (lines if known else None)
    if known:
        assert amount.deposits == 0  # the lines have taken them
        assert amount.receivable == 0 or amount.suspense == 0
        if lines >= 0:
            assert amount.receivable >= 0 >= amount.suspense
        assert amount.plug == (0 if amount.tax else -amount.remitted)
    else:
        assert amount.plug == 0


def test_tax_that_the_lines_do_not_say_leaves_nothing_open() -> None:
    amount = OpenAmount()

    assert settle(amount, lines=D("10.00")) == Settled(D("10.00"), D(0), D(0), D(0))
    changes = settle(amount, paid=D("10.80"), remitted=D("0.80"))

    assert changes == Settled(D("-10.00"), D(0), D(0), D("-0.80"))
    assert amount.total == 0


def test_tax_that_the_lines_say_is_no_plug() -> None:
    amount = settled(
        {"lines": D("10.80"), "tax": D("0.80")}, {"paid": D("10.80"), "remitted": D("0.80")}
    )

    assert (amount.total, amount.plug) == (0, 0)

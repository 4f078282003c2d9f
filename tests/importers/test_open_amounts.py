"""One rule for what stands open, whatever came first."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.open_amounts import Lines, OpenAmount, Refund, Settled, settle

D = Decimal
CENTS = st.integers(-500, 500).map(lambda each: D(each) / 100)
SOME_CENTS = st.integers(1, 500).map(lambda each: D(each) / 100)
TAX = st.sampled_from([D(0), D("0.25")])
LINES = st.builds(Lines, CENTS, TAX, TAX, st.just(False))
RETURNS = st.builds(Lines, CENTS, TAX, TAX, st.just(True))
EVENTS = st.one_of(
    st.fixed_dictionaries({"lines": LINES}),
    st.fixed_dictionaries({"paid": CENTS, "remitted": st.sampled_from([D(0), D("0.30")])}),
    st.fixed_dictionaries({"deposit": CENTS}),
    st.fixed_dictionaries({"lines": LINES, "paid": CENTS}),
    st.fixed_dictionaries({"refund": st.builds(Refund, SOME_CENTS, TAX, TAX)}),
    st.fixed_dictionaries({"lines": RETURNS}),
)


def settled(
    *events: dict[str, Any], start: OpenAmount | None = None, order: str = "A"
) -> OpenAmount:
    """Return what is open after events, each of which balances."""
    amount = start.copy() if start else OpenAmount()
    for event in events:
        of = event.get("of", (order,))
        event = {key: value for key, value in event.items() if key != "of"}
        changes = settle(amount, of, **event)
        nothing = D(0)
        owed = event["lines"].owed if "lines" in event else nothing
        owed += event["refund"].amount if "refund" in event else nothing
        owed -= event.get("paid", nothing) + event.get("deposit", nothing)
        assert sum(changes, nothing) == owed
    return amount


@given(events=st.lists(EVENTS, max_size=5), data=st.data())
def test_what_came_first_does_not_matter(
    events: list[dict[str, Any]], data: st.DataObject
) -> None:
    assert settled(*data.draw(st.permutations(events))) == settled(*events)


@given(
    ones=st.lists(EVENTS, max_size=3),
    others=st.lists(EVENTS, max_size=3),
    paid=CENTS,
    data=st.data(),
)
def test_orders_that_are_paid_together_are_one_whenever_that_is_known(
    ones: list[dict[str, Any]],
    others: list[dict[str, Any]],
    paid: Decimal,
    data: st.DataObject,
) -> None:
    both = {"paid": paid, "of": ("A", "B")}
    early = data.draw(st.integers(0, len(ones)))
    united = settled(*ones[:early])
    united.add(settled(*others, order="B"))
    late = settled(both, *ones[early:], start=united)

    others = [{**each, "of": ("B",)} for each in others]
    assert late == settled(*data.draw(st.permutations([*ones, *others, both])))


@given(events=st.lists(EVENTS, max_size=5))
def test_where_things_stand(events: list[dict[str, Any]]) -> None:
    amount = settled(*events)
    known = any("lines" in event for event in events)
    lines = sum((event["lines"].owed for event in events if "lines" in event), D(0))

    assert amount.lines == (lines if known else None)
    if known:
        assert amount.deposits == 0  # the lines have taken them
        assert amount.receivable == 0 or amount.suspense == 0
        if lines >= 0:
            assert amount.receivable >= 0 >= amount.suspense
    else:
        assert amount.plug == 0
        refunded = sum((each["refund"].amount for each in events if "refund" in each), D(0))
        ahead = sum((event.get("deposit", D(0)) for event in events), D(0))
        assert amount.deposits == min(refunded, max(ahead, D(0))) - ahead


def test_tax_that_the_lines_do_not_say_leaves_nothing_open() -> None:
    amount = OpenAmount()

    assert settle(amount, lines=Lines(D("10.00"))) == Settled(D("10.00"), D(0), D(0), D(0))
    changes = settle(amount, paid=D("10.80"), remitted=D("0.80"))

    assert changes == Settled(D("-10.00"), D(0), D(0), D("-0.80"))
    assert amount.total == 0


def test_tax_that_the_lines_say_is_no_plug() -> None:
    amount = settled(
        {"lines": Lines(D("10.80"), charged=D("0.80"))},
        {"paid": D("10.80"), "remitted": D("0.80")},
    )

    assert (amount.total, amount.plug) == (0, 0)

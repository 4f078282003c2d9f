"""Payouts and rows of equal amounts are matched as far as they can be."""

from __future__ import annotations

import datetime
from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.bank.payout_matching import DAYS, Dated, Pair, match_payouts

FIRST = datetime.date(2025, 1, 1)
DAY_NUMBERS = st.lists(st.integers(0, 20), max_size=5)


def dated(days: list[int], key: str) -> list[Dated]:
    return [
        Dated(FIRST + datetime.timedelta(day), f"{key}{number}")
        for number, day in enumerate(days)
    ]


def most_pairs(payouts: list[Dated], rows: list[Dated]) -> int:
    """Return how many can be matched, by trying every way."""
    few, many = sorted((payouts, rows), key=len)
    sign = 1 if few is payouts else -1
    return max(
        sum(
            0 <= sign * (b.date - a.date).days <= DAYS
            for a, b in zip(few, way, strict=True)
        )
        for way in permutations(many, len(few))
    )


@given(DAY_NUMBERS, DAY_NUMBERS)
def test_as_many_as_can_be_each_once(sent: list[int], arrived: list[int]) -> None:
    payouts, rows = dated(sent, "p"), dated(arrived, "r")

    pairs = match_payouts(payouts, rows)

    assert len(pairs) == most_pairs(payouts, rows)
    assert len({payout for payout, _ in pairs}) == len(pairs)
    assert len({row for _, row in pairs}) == len(pairs)
    assert all(0 <= (row.date - payout.date).days <= DAYS for payout, row in pairs)
    assert match_payouts(payouts[::-1], rows[::-1]) == pairs


@given(DAY_NUMBERS, DAY_NUMBERS, st.randoms(use_true_random=False))
def test_bit_by_bit_as_many_as_at_once(sent: list[int], arrived: list[int], draw) -> None:  # type: ignore[no-untyped-def]
    payouts, rows = dated(sent, "p"), dated(arrived, "r")
    there: list[Dated] = []
    met: list[Pair] = []
    steps = [*payouts, *rows]
    draw.shuffle(steps)
    for step in steps:
        there.append(step)
        done = {each for pair in met for each in pair}
        met += match_payouts(
            [each for each in there if each in payouts and each not in done],
            [each for each in there if each in rows and each not in done],
            met=met,
        )

    assert len(met) == most_pairs(payouts, rows)
    assert len({each for pair in met for each in pair}) == 2 * len(met)


def test_fewest_days_first() -> None:
    payouts, rows = dated([0, 3], "p"), dated([4], "r")

    assert match_payouts(payouts, rows) == [(payouts[1], rows[0])]


def test_pair_changes_partners_for_one_more() -> None:
    payouts, rows = dated([0, 5], "p"), dated([6, 8], "r")

    # The nearest of row 0 is payout 1, and row 1 is too late for payout 0.
    assert match_payouts(payouts, rows) == [(payouts[0], rows[0]), (payouts[1], rows[1])]


def test_what_is_booked_as_an_arrival_comes_first() -> None:
    (payout,), (near, far) = dated([0], "p"), dated([1, 6], "r")

    assert match_payouts([payout], [near], waiting=[far]) == [(payout, far)]


def test_pair_by_hand_that_is_too_far_apart_is_let_alone() -> None:
    (old, new), (late, row) = dated([0, 20], "p"), dated([19, 22], "r")

    assert match_payouts([new], [row], met=[(old, late)]) == [(new, row)]
    assert match_payouts([], [row], met=[(old, late)]) == []


def test_a_long_chain() -> None:
    payouts = dated([7 * number for number in range(3000)], "p")
    rows = dated([7 * number + 7 for number in range(3000)], "r")
    wrong = list(zip(payouts[1:], rows[:-1], strict=True))  # each met the next one's

    pairs = match_payouts([payouts[0]], [rows[-1]], met=wrong)

    assert pairs == [(payouts[0], rows[-1])]

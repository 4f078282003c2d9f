"""What is asked for because the books cannot know it, and answers that cannot be used."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.tax.household import Fact, Household, HouseholdError, read_household

D = Decimal
STATUSES = ["single", "joint", "head-of-household"]
FACTS = (
    Fact("wages", "money", "Your wages"),
    Fact("spouse-wages", "money", "Your spouse's", statuses=frozenset({"joint"})),
    Fact("aged-65", "count", "How many", alone=frozenset({"single"})),
    Fact("children", "count", "How many", most=9),
    Fact("use", "share", "Which share"),
)


def read(statuses: list[str] | None = None, **table: Any) -> Household:
    table = {key.replace("_", "-"): value for key, value in table.items()}
    return read_household(table, statuses or STATUSES, FACTS, "offcut.toml: [tax]")


def mistakes(**table: Any) -> list[str]:
    with pytest.raises(HouseholdError) as refused:
        read(**table)
    lines = str(refused.value).splitlines()
    assert all(line.startswith("offcut.toml: [tax]: ") for line in lines)
    return [line.removeprefix("offcut.toml: [tax]: ") for line in lines]


def test_answers_are_read_exactly() -> None:
    household = read(status="joint", wages=20_000, use=D("0.333"), aged_65=2)
    assert household.status == "joint"
    assert household.facts == {"wages": D(20_000), "use": D("0.333"), "aged-65": D(2)}


def test_zero_is_an_answer_and_nothing_is_none() -> None:
    household = read(status="joint", wages=0)
    assert household.fact("wages") == household.fact("use") == 0
    asked = [fact.key for fact in household.unanswered(FACTS)]
    assert asked == ["spouse-wages", "aged-65", "children", "use"]


def test_what_is_not_of_a_status_is_not_asked_of_it() -> None:
    asked = [fact.key for fact in read(status="single").unanswered(FACTS)]
    assert asked == ["wages", "aged-65", "children", "use"]


def test_a_missing_status_is_never_assumed() -> None:
    assert mistakes(wages=5) == [
        'status is missing; add status = "single", or joint or head-of-household'
    ]


def test_the_only_status_need_not_be_named() -> None:
    assert read(["person"]).status == "person"
    assert read(["person"], status="person").status == "person"


@pytest.mark.parametrize(
    ("status", "said"),
    [
        (
            "head-of-houshold",
            "status is 'head-of-houshold' (did you mean head-of-household?); it can be "
            "single, joint or head-of-household",
        ),
        ("?", "status is '?'; it can be single, joint or head-of-household"),
        (5, "status is 5; it can be single, joint or head-of-household"),
        (
            ["single"],
            "status is ['single'] (did you mean single?); it can be single, joint or "
            "head-of-household",
        ),
        ("", "status is ''; it can be single, joint or head-of-household"),
    ],
)
def test_an_unknown_status_is_refused(status: object, said: str) -> None:
    assert mistakes(status=status) == [said]


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("wages", "20,000", "wages must be a number, not '20,000'"),
        ("wages", True, "wages must be a number, not true"),
        ("wages", [1], "wages must be a number, not [1]"),
        ("wages", D("nan"), "wages must be a number, not NaN"),
        ("wages", D("inf"), "wages must be a number, not Infinity"),
        ("wages", D("-0.01"), "wages must not be below zero, here it is -0.01"),
        ("aged_65", D("0.5"), "aged-65 must be a whole number up to 1, not 0.5"),
        ("aged_65", 2, "aged-65 must be a whole number up to 1, not 2"),
        ("children", 10, "children must be a whole number up to 9, not 10"),
        ("children", -1, "children must not be below zero, here it is -1"),
        ("use", D("1.01"), "use is a share of 1, here it is 1.01"),
        ("use", 30, "use is a share of 1, here it is 30"),
        ("wagse", 1, "unknown key 'wagse' (did you mean wages?)"),
        ("statsu", 1, "unknown key 'statsu' (did you mean status?)"),
        ("zzz", 1, "unknown key 'zzz'"),
        ("spouse_wages", 1, "spouse-wages is of status joint only, not of single"),
    ],
)
def test_each_mistake_is_said(key: str, value: object, said: str) -> None:
    assert mistakes(status="single", **{key: value}) == [said]


def test_all_mistakes_are_told_in_the_order_of_the_file() -> None:
    # Whose the spouse's wages are is not said: the status is what is wrong.
    assert mistakes(zzz=1, wages=-1, use=2, spouse_wages=5, status="x") == [
        "status is 'x'; it can be single, joint or head-of-household",
        "unknown key 'zzz'",
        "wages must not be below zero, here it is -1",
        "use is a share of 1, here it is 2",
    ]


@pytest.mark.parametrize("value", [0, 1, D("1.0")])
def test_the_ends_of_a_share_are_shares(value: object) -> None:
    assert read(status="single", use=value).fact("use") == value


values = st.one_of(
    st.integers(),
    st.decimals(),
    st.booleans(),
    st.text(),
    st.lists(st.integers(), max_size=2),
    st.dates(),
)


@given(st.dictionaries(st.sampled_from(["status", *(f.key for f in FACTS), "x"]), values))
def test_whatever_is_written_is_read_or_refused(table: dict[str, Any]) -> None:
    try:
        household = read_household(table, STATUSES, FACTS, "here")
    except HouseholdError as refused:
        assert all(line.startswith("here: ") for line in str(refused).split("\n"))
    else:
        assert household.status in STATUSES
        assert all(value >= 0 for value in household.facts.values())

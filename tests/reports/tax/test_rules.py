"""Files of tax rules: their figures against other sources, and their mistakes."""

from __future__ import annotations

import copy
import datetime
import tomllib
from decimal import Decimal
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.tax.rules import RulesError
from offcut.reports.tax.rules_files import find_rules, known_rules, read_rules

D = Decimal
STATUSES = ["single", "joint", "separate", "head-of-household", "surviving-spouse"]


def federal(year: str) -> Any:
    return find_rules("us-federal", year)


# PolicyEngine-US (8914f89, 19 August 2026), parameters/gov/irs/income/bracket.yaml, which
# names Rev. Proc. 2024-40 and 2025-32: the upper edge of each bracket but the last.
EDGES = {
    ("2025", "single"): "11925 48475 103350 197300 250525 626350",
    ("2025", "joint"): "23850 96950 206700 394600 501050 751600",
    ("2025", "separate"): "11925 48475 103350 197300 250525 375800",
    ("2025", "head-of-household"): "17000 64850 103350 197300 250500 626350",
    ("2025", "surviving-spouse"): "23850 96950 206700 394600 501050 751600",
    ("2026", "single"): "12400 50400 105700 201775 256225 640600",
    ("2026", "joint"): "24800 100800 211400 403550 512450 768700",
    ("2026", "separate"): "12400 50400 105700 201775 256225 384350",
    ("2026", "head-of-household"): "17700 67450 105700 201750 256200 640600",
    ("2026", "surviving-spouse"): "24800 100800 211400 403550 512450 768700",
}


RATES = tuple(D(rate) / 100 for rate in (10, 12, 22, 24, 32, 35, 37))


@pytest.mark.parametrize(("year", "status"), EDGES)
def test_brackets_are_as_published(year: str, status: str) -> None:
    schedule = federal(year).schedule("income", status)
    assert schedule.edges == tuple(map(D, EDGES[year, status].split()))
    assert schedule.rates == RATES


@pytest.mark.parametrize(
    ("name", "in_2025", "in_2026"),
    [
        # Form 1040 (2025), beside line 12e; PolicyEngine-US for 2026.
        (
            "standard-deduction",
            "15750 31500 15750 23625 31500",
            "16100 32200 16100 24150 32200",
        ),
        # PolicyEngine-US and taxcalc 6.8.
        (
            "standard-deduction-extra",
            "2000 1600 1600 2000 1600",
            "2050 1650 1650 2050 1650",
        ),
        # Schedule SE (2025), lines 4a, 4c, 7, 10, 11; PolicyEngine-US for 2026.
        ("net-earnings-factor", "0.9235", "0.9235"),
        ("self-employment-floor", "400", "400"),
        ("social-security-base", "176100", "184500"),
        ("social-security-rate", "0.124", "0.124"),
        ("medicare-rate", "0.029", "0.029"),
        # Form 8959 (2025), lines 5 and 7; not indexed.
        ("additional-medicare-rate", "0.009", "0.009"),
        (
            "additional-medicare-threshold",
            "200000 250000 125000 200000 200000",
            "200000 250000 125000 200000 200000",
        ),
        # Form 8995 (2025), its heading and line 5; taxcalc 6.8 for 2026. Sources differ
        # on a surviving spouse; the form doubles for joint returns only.
        ("business-income-rate", "0.20", "0.20"),
        (
            "business-income-threshold",
            "197300 394600 197300 197300 197300",
            "201750 403500 201775 201750 201750",
        ),
        ("business-income-least", "0", "400"),
        ("business-income-least-income", "0", "1000"),
        # Form 1040-ES, estimated tax worksheet; instructions for Form 2210 (2001).
        ("current-year-share", "0.90", "0.90"),
        ("prior-year-share", "1", "1"),
        ("prior-year-share-high", "1.1", "1.1"),
        (
            "prior-year-high-income",
            "150000 150000 75000 150000 150000",
            "150000 150000 75000 150000 150000",
        ),
        ("least-balance", "1000", "1000"),
    ],
)
def test_figures_are_as_published(name: str, in_2025: str, in_2026: str) -> None:
    for year, published in (("2025", in_2025), ("2026", in_2026)):
        found = [federal(year).figure(name, status) for status in STATUSES]
        values = list(map(D, published.split()))
        assert found == (values if len(values) > 1 else values * 5)


@pytest.mark.parametrize("year", ["2025", "2026"])
def test_periods_and_shares_are_the_forms(year: str) -> None:
    # IRS, estimated tax FAQ: periods of 3, 2, 3 and 4 months. Form 2210 (2019), line 2,
    # and Pub. 505 (2003), worksheet 2.10, line 18.
    rules = federal(year)
    assert [each.period_ends for each in rules.instalments] == [
        datetime.date(int(year), month, day)
        for month, day in ((3, 31), (5, 31), (8, 31), (12, 31))
    ]
    assert [each.annualise for each in rules.instalments] == [4, D("2.4"), D("1.5"), 1]
    assert [each.share for each in rules.instalments] == [
        *map(D, ("0.225", "0.45", "0.675", "0.90"))
    ]


@pytest.mark.parametrize("key", known_rules())
def test_every_shipped_file_is_sound_and_has_its_sources(key: tuple[str, str]) -> None:
    rules = find_rules(*key)
    assert (rules.jurisdiction, rules.year) == key
    assert rules.path == f"{key[0]}-{key[1]}.toml"
    assert (rules.last - rules.first).days in (364, 365)
    assert all(len(each.source) > 10 for each in rules.figures.values())


def test_what_is_from_memory_is_named() -> None:
    text = FIRST + FIGURE + "from-memory = true\n"
    assert read_rules(text, "mine.toml").remembered == ("rate",)
    assert read_rules(FIRST + FIGURE, "mine.toml").remembered == ()
    more = SCHEDULE.replace("source", "from-memory = true\nsource")
    more += PART.replace("source", "from-memory = true\nsource")
    more += '\n[return]\ndue = 2026-04-15\nsource = "of"\nfrom-memory = true\n'
    assert read_rules(FIRST + FIGURE + more, "mine.toml").remembered == (
        "income",
        "the day of First",
        "the day of the return",
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[return]]\ndue = 2026-04-15", "return must be a table: [return]"),
        ('[return]\nsource = "x"', "return: due must be a date: 2026-04-15"),
        ("[return]\ndue = 2026-04-15", "return: source is missing; say where"),
        (
            '[return]\nsource = "x"\ndue = 2025-04-15',
            "return: due 2025-04-15 is before the year is over",
        ),
        (
            '[return]\nsource = "x"\ndue = 2026-04-15\nday = 1',
            "return: unknown key 'day'",
        ),
    ],
)
def test_a_wrong_day_of_the_return_is_one_line(text: str, said: str) -> None:
    with pytest.raises(RulesError) as refused:
        read_rules(f"{FIRST}{FIGURE}\n{text}\n", "mine.toml")
    (line,) = str(refused.value).splitlines()
    assert line.startswith(f"mine.toml: {said}")


def test_the_returns_of_the_united_states_are_due_in_april() -> None:
    # IRC 6072(a), from memory; both days are working days of the District of Columbia.
    found = [federal(year).return_due for year in ("2025", "2026")]
    assert found == [datetime.date(2026, 4, 15), datetime.date(2027, 4, 15)]
    assert find_rules("uk-sole-trader", "2025-26").return_due is None


FIRST = """
jurisdiction = "flat-land"
title = "Flat land"
year = "2025"
first-day = 2025-01-01
last-day = 2025-12-31
currency = "USD"
statuses = ["single", "joint"]
"""
FIGURE = """
[figures.rate]
value = 0.10
source = "of the test"
"""
SCHEDULE = """
[schedules.income]
rates = [0.1, 0.2]
edges = { single = [10], joint = [20.5] }
source = "of the test"
"""
PART = """
[[instalments]]
label = "First"
period-ends = 2025-06-30
due = 2025-07-15
annualise = 2
share = 0.5
source = "of the test"
"""
LINE = """
[[form]]
line = "8"
caption = "Advertising"
key = "advertising"
"""
WHOLE = FIRST + FIGURE + SCHEDULE + PART + LINE


def test_a_small_file_is_read() -> None:
    rules = read_rules(WHOLE, "mine.toml")
    assert rules.figure("rate", "joint") == D("0.10")
    assert rules.schedule("income", "joint").edges == (D("20.5"),)
    assert rules.schedule("income", "single").tax(D(15)) == D("2.0")
    [part] = rules.instalments
    assert (part.label, part.due) == ("First", datetime.date(2025, 7, 15))
    [line] = rules.form
    assert (line.line, line.caption, line.key) == ("8", "Advertising", "advertising")
    assert rules.holidays == ""


def test_a_year_may_begin_on_any_day() -> None:
    text = (
        WHOLE.replace('"2025"', '"2025-26"')
        .replace("first-day = 2025-01-01", "first-day = 2025-04-06")
        .replace("2025-12-31", "2026-04-05")
    )
    rules = read_rules(text, "mine.toml")
    assert (rules.year, rules.first) == ("2025-26", datetime.date(2025, 4, 6))
    assert rules.last == datetime.date(2026, 4, 5)


def test_amounts_are_exact() -> None:
    text = WHOLE.replace("0.10", "0.1000000000000000000000000000000001")
    assert read_rules(text, "").figure("rate", "single") == D(
        "0.1000000000000000000000000000000001"
    )


MISTAKES = [
    # what is replaced, by what, and what is said
    ('title = "Flat land"', "", "title is missing; add it"),
    ('title = "Flat land"', 'title = ""', "title is empty; write it"),
    ('year = "2025"', "year = 2025", "year must be text in quotes, not 2025"),
    (
        "first-day = 2025-01-01",
        'first-day = "1 January"',
        "first-day must be a date such as 2025-01-01, not '1 January'",
    ),
    (
        "first-day = 2025-01-01",
        "first-day = 2025-01-01T00:00:00",
        "first-day must be a date such as 2025-01-01, not 2025-01-01 00:00:00",
    ),
    (
        "first-day = 2025-01-01",
        "first-day = 2026-01-01",
        "last-day 2025-12-31 is before first-day 2026-01-01",
    ),
    ('"USD"', '"usd"', "currency must be as in the ledger: USD, not 'usd'"),
    ('["single", "joint"]', "[]", 'statuses must be a list of words: ["single"]'),
    ('["single", "joint"]', '"single"', 'statuses must be a list of words: ["single"]'),
    ('["single", "joint"]', '["joint", "joint"]', "statuses must name each status once"),
    ("year =", "yaer =", "unknown key 'yaer' (did you mean year?)"),
    ("year =", 'holidays = "Narnia"\nyear =', "there are no holidays of 'Narnia'; write"),
    ("year =", "holidays = 5\nyear =", 'holidays must be text in quotes: "US-DC"'),
    ("value = 0.10", "", "figures.rate: give it a value, or values by status"),
    (
        "value = 0.10",
        "value = 1\nvalues = { single = 1, joint = 1 }",
        "figures.rate: give it a value, or values by status",
    ),
    ("value = 0.10", 'value = "10 %"', "figures.rate: value must be a number, not '10 %'"),
    ("value = 0.10", "value = true", "figures.rate: value must be a number, not true"),
    ("value = 0.10", "value = nan", "figures.rate: value must be a number, not NaN"),
    ("value = 0.10", "value = inf", "figures.rate: value must be a number, not Infinity"),
    ("value = 0.10", "values = 5", "figures.rate: values must name each status: {"),
    ("value = 0.10", "values = { single = 5 }", "figures.rate: values: joint is missing"),
    (
        "value = 0.10",
        "values = { single = 5, joint = 'x' }",
        "figures.rate: values: joint must be a number",
    ),
    (
        "value = 0.10",
        "values = { single = 5, joint = 1, alone = 1 }",
        "figures.rate: values: 'alone' is no status",
    ),
    (
        'value = 0.10\nsource = "of the test"',
        "value = 0.10",
        "figures.rate: source is missing; say where the figure stands",
    ),
    (
        'value = 0.10\nsource = "of the test"',
        'value = 0.10\nsource = " "',
        "figures.rate: source is missing; say where the figure stands",
    ),
    (
        "value = 0.10",
        'value = 0.10\nfrom-memory = "yes"',
        "figures.rate: from-memory must be true or false, not 'yes'",
    ),
    ("value =", "valeu =", "figures.rate: unknown key 'valeu' (did you mean value?)"),
    (FIGURE, "figures = 5", "figures must be tables: [figures.NAME]"),
    (FIGURE, "[figures]\nrate = 5", "figures must be tables: [figures.NAME]"),
    (SCHEDULE, "[[schedules]]", "schedules must be tables: [schedules.NAME]"),
    (PART, "[instalments]", "instalments must be tables, each begun with [[instalments]]"),
    (PART, "instalments = [1]", "instalments must be tables, each begun with"),
    ("[0.1, 0.2]", "[10, 12]", "schedules.income: rates must be a list of shares of 1"),
    ("[0.1, 0.2]", "[]", "schedules.income: rates must be a list of shares of 1"),
    ("[0.1, 0.2]", "0.1", "schedules.income: rates must be a list of shares of 1"),
    ("[0.1, 0.2]", "[-0.1, 0.2]", "schedules.income: rates must be a list of shares of"),
    (
        "single = [10]",
        "single = [10, 20]",
        "schedules.income: edges: single must be 1 rising numbers above zero, one fewer",
    ),
    ("single = [10]", "single = [0]", "schedules.income: edges: single must be 1 rising"),
    ("single = [10]", "single = [-5]", "schedules.income: edges: single must be 1 rising"),
    ("single = [10]", "single = 10", "schedules.income: edges: single must be 1 rising"),
    ("single = [10], ", "", "schedules.income: edges: single is missing"),
    ("due = 2025-07-15", "", "instalments 1: due must be a date: 2025-04-15"),
    ("due = 2025-07-15", 'due = "soon"', "instalments 1: due must be a date: 2025-04-15"),
    ("2025-06-30", '"June"', "instalments 1: period-ends must be a date: 2025-03-31"),
    ("2025-06-30", "2024-06-30", "instalments 1: period-ends 2024-06-30 is not within"),
    ("annualise = 2", "annualise = 0", "instalments 1: annualise must be a number above"),
    ("annualise = 2", 'annualise = "2"', "instalments 1: annualise must be a number above"),
    ("share = 0.5", "share = 50", "instalments 1: share is a share of 1, not 50"),
    ('label = "First"', "label = 1", "instalments 1: label must be text in quotes"),
    (PART, PART + PART, "instalments 2: due 2025-07-15 is not after the one above"),
    (PART, PART + PART, "instalments 2: period-ends 2025-06-30 is not after the one"),
    ('caption = "Advertising"', "", "form 1: caption must be text in quotes"),
    ('line = "8"', "line = 8", "form 1: line must be text in quotes"),
]


@pytest.mark.parametrize(("old", "new", "said"), MISTAKES)
def test_each_mistake_is_one_line(old: str, new: str, said: str) -> None:
    text = WHOLE.replace(old, new, 1)
    if new.startswith(("figures = ", "instalments = ")):
        text = new + WHOLE.replace(old, "", 1)  # before any table begins
    assert text != WHOLE
    with pytest.raises(RulesError) as refused:
        read_rules(text, "mine.toml")
    lines = str(refused.value).splitlines()
    assert any(line.startswith(f"mine.toml: {said}") for line in lines), lines
    assert all(line.startswith("mine.toml: ") for line in lines)


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file() -> None:
    text = (
        WHOLE.replace('title = "Flat land"', "title = 5")
        .replace("value = 0.10", "value = 'x'")
        .replace("[0.1, 0.2]", "[2]")
        .replace("share = 0.5", "share = 7")
    )
    with pytest.raises(RulesError) as refused:
        read_rules(text, "mine.toml")
    assert str(refused.value).splitlines() == [
        "mine.toml: title must be text in quotes, not 5",
        "mine.toml: figures.rate: value must be a number, not 'x'",
        "mine.toml: schedules.income: rates must be a list of shares of 1: [0.10, 0.12]",
        "mine.toml: instalments 1: share is a share of 1, not 7",
    ]


def test_no_toml_is_one_line() -> None:
    with pytest.raises(RulesError) as refused:
        read_rules("year = 2025\ntitle = x", "mine.toml")
    assert str(refused.value) == (
        "mine.toml: expected TOML: Invalid value (at line 2, column 9); correct the file"
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [("[figures.rate]", '[figures."a\\nb"]'), ("value = 0.10", 'values = { "a\\nb" = 1 }')],
)
def test_odd_names_stay_on_one_line(old: str, new: str) -> None:
    text = WHOLE.replace(old, new, 1).replace('source = "of the test"', "", 1)
    with pytest.raises(RulesError) as refused:
        read_rules(text, "mine.toml")
    assert all(line.startswith("mine.toml: ") for line in str(refused.value).splitlines())
    assert "'a\\nb'" in str(refused.value)


junk = st.sampled_from(
    [
        *(5, -1, 0, 1.5, float("nan"), float("inf"), True, "", "x", "2025", [], {}, [[]]),
        *([1], ["x"], [{}], {"single": 1}, {"x": {}}, datetime.date(2025, 2, 1)),
        datetime.datetime(2025, 2, 1),
    ]
)


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the path to each value in a table, however deep."""
    found = [path] if path else []
    if isinstance(value, dict):
        for key, each in value.items():
            found += places(each, (*path, key))
    elif isinstance(value, list):
        for number, each in enumerate(value):
            found += places(each, (*path, number))
    return found


WHOLE_TABLE = tomllib.loads(WHOLE)


@given(st.sampled_from(places(WHOLE_TABLE)), junk)
def test_anything_anywhere_is_read_or_refused_line_by_line(
    path: tuple[Any, ...], value: Any
) -> None:
    table: Any = copy.deepcopy(WHOLE_TABLE)
    at = table
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    try:
        rules = read_rules(tomlkit.dumps(table), "mine.toml")
    except RulesError as refused:
        lines = str(refused).splitlines()
        assert lines
        assert all(line.startswith("mine.toml: ") for line in lines)
    else:
        for schedules in rules.schedules.values():
            assert all(0 <= each.tax(D(100)) <= 100 for each in schedules.values())


def test_a_year_without_rules_says_which_there_are() -> None:
    with pytest.raises(RulesError) as refused:
        find_rules("us-federal", "1999")
    assert str(refused.value) == (
        "There are no rules of us-federal for 1999; there are 2025, 2026. Name one of "
        "these years, or add a file to taxes/ beside the ledger"
    )


def test_an_unknown_jurisdiction_says_which_there_are() -> None:
    with pytest.raises(RulesError) as refused:
        find_rules("us-fedral", "2025")
    text = str(refused.value)
    assert text.startswith(
        "There are no rules of 'us-fedral' (did you mean us-federal?); there are "
    )
    assert "us-federal" in text.split("; there are ")[1].split(", ")
    with pytest.raises(RulesError, match="There are no rules of 'atlantis'; there are"):
        find_rules("atlantis", "2025")


@pytest.fixture
def beside(tmp_path: Path) -> Path:
    """The folder of a ledger, with one of taxes."""
    (tmp_path / "taxes").mkdir()
    return tmp_path


def test_ones_own_file_stands_before_the_shipped_one(beside: Path) -> None:
    text = (
        resources.files("offcut.reports.tax.jurisdictions")
        .joinpath("us-federal-2025.toml")
        .read_text("utf-8")
    )
    mine = beside / "taxes" / "mine.toml"
    mine.write_text("\ufeff" + text.replace("176_100", "1"), "utf-8")
    rules = find_rules("us-federal", "2025", beside)
    assert rules.figure("social-security-base", "single") == 1
    assert rules.path == str(mine)
    assert find_rules("us-federal", "2026", beside).path == "us-federal-2026.toml"
    assert federal("2025").figure("social-security-base", "single") == 176_100


def test_ones_own_country_is_found(beside: Path) -> None:
    (beside / "taxes" / "flat.toml").write_text(WHOLE, "utf-8")
    assert find_rules("flat-land", "2025", beside).title == "Flat land"
    assert ("flat-land", "2025") in known_rules(beside)
    assert ("flat-land", "2025") not in known_rules()
    with pytest.raises(RulesError, match="flat-land for 2026; there are 2025"):
        find_rules("flat-land", "2026", beside)


def test_no_folder_of_taxes_is_no_mistake(tmp_path: Path) -> None:
    assert find_rules("us-federal", "2025", tmp_path).year == "2025"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"year = ", "expected TOML"),
        (b"\xff\xfe", "cannot be read as UTF-8 text"),
        (b"title = 'x'", "jurisdiction is missing; add it"),
        (WHOLE.replace('"2025"', "2025").encode(), "year must be text in quotes, not 2025"),
        (WHOLE.replace("0.10", "'x'").encode(), "figures.rate: value must be a number"),
    ],
)
def test_a_spoilt_file_of_ones_own_is_named(
    beside: Path, content: bytes, said: str
) -> None:
    path = beside / "taxes" / "flat.toml"
    path.write_bytes(content)
    with pytest.raises(RulesError) as refused:
        find_rules("flat-land", "2025", beside)
    assert str(refused.value).startswith(f"{path}: {said}")


def test_a_folder_that_is_named_like_a_file_is_refused(beside: Path) -> None:
    (beside / "taxes" / "flat.toml").mkdir()
    with pytest.raises(RulesError, match=r"flat.toml: cannot be read as UTF-8 text"):
        known_rules(beside)


def test_two_files_of_one_year_are_refused(beside: Path) -> None:
    for name in ("one.toml", "two.toml"):
        (beside / "taxes" / name).write_text(WHOLE, "utf-8")
    with pytest.raises(RulesError) as refused:
        find_rules("us-federal", "2025", beside)
    folder = beside / "taxes"
    assert str(refused.value) == (
        f"{folder / 'two.toml'}: has the rules of flat-land for 2025, as has "
        f"{folder / 'one.toml'}; keep one of them"
    )

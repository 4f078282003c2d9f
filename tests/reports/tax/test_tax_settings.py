"""The settings of taxes, and what may be wrong with them."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.tax.household import HouseholdError, read_household
from offcut.reports.tax.tax_settings import (
    OWN,
    TaxSettings,
    TaxSettingsError,
    tax_settings,
)
from offcut.reports.tax.us_household import FACTS

D = Decimal
WHOLE = """
[tax]
jurisdiction = "us-federal"
status = "single"
method = "annualised"
projection = "last-year"
reserve = "Assets:Bank:TaxReserve"
bank = "Assets:Bank:Checking"
payments = "Equity:Owner:IncomeTax"
wages = 20_000
[tax.years.2025]
wages = 18_000.50
[tax.home-office]
area = 120
[tax.mileage]
second-half-rate = true
[[tax.local]]
name = "State income tax"
base = "income"
rate = 0.05
source = "State form 1, 2025"
[[tax.local]]
name = "City business tax"
base = "profit"
rates = [0, 0.01, 0.02]
edges = [10_000, 50_000]
"""


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    return tmp_path / "main.beancount"


def settings_of(ledger: Path, text: str) -> TaxSettings:
    ledger.with_name("offcut.toml").write_text(text, "utf-8")
    return tax_settings(ledger)


def mistakes(ledger: Path, text: str) -> list[str]:
    with pytest.raises(TaxSettingsError) as refused:
        settings_of(ledger, text)
    lines = str(refused.value).splitlines()
    assert all(line.startswith("offcut.toml: ") for line in lines)
    return [line.removeprefix("offcut.toml: ") for line in lines]


def test_all_of_it_is_read(ledger: Path) -> None:
    settings = settings_of(ledger, WHOLE)
    assert settings.jurisdiction == "us-federal"
    assert (settings.method, settings.projection) == ("annualised", "last-year")
    assert settings.reserve == "Assets:Bank:TaxReserve"
    assert settings.bank == "Assets:Bank:Checking"
    assert settings.payments == "Equity:Owner:IncomeTax"
    assert settings.answers_of("2026") == {"status": "single", "wages": 20_000}
    assert settings.home_office == {"area": 120}
    assert settings.mileage == {"second-half-rate": True}
    assert [each.name for each in settings.local] == [
        "State income tax",
        "City business tax",
    ]


def test_a_years_own_answers_stand_before_the_others(ledger: Path) -> None:
    answers = settings_of(ledger, WHOLE).answers_of("2025")
    assert answers == {"status": "single", "wages": D("18000.50")}


def test_a_room_and_trips_may_be_otherwise_in_a_year(ledger: Path) -> None:
    settings = settings_of(
        ledger,
        WHOLE + "[tax.years.2026.home-office]\nmonths = 4\n"
        "[tax.years.2026.mileage]\nsecond-half-rate = false\n",
    )
    assert settings.home_office_of("2025") == {"area": 120}
    assert settings.home_office_of("2026") == {"area": 120, "months": 4}
    assert settings.mileage_of("2025") == {"second-half-rate": True}
    assert settings.mileage_of("2026") == {"second-half-rate": False}
    assert settings.answers_of("2026") == {"status": "single", "wages": 20_000}


@pytest.mark.parametrize("text", ["", "[plan]\nhour = 18\n", "[tax]\n"])
def test_nothing_set_is_nothing_assumed(ledger: Path, text: str) -> None:
    settings = settings_of(ledger, text)
    assert settings == TaxSettings()
    assert settings.answers_of("2025") == {}
    with pytest.raises(HouseholdError, match="status is missing"):
        read_household(settings.answers_of("2025"), ["single", "joint"], FACTS, "[tax]")


def test_no_file_is_nothing_set(ledger: Path) -> None:
    assert tax_settings(ledger) == TaxSettings()


TAX = "[tax]\n"
LOCAL = '[[tax.local]]\nname = "State"\nbase = "income"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("tax = 5", "tax must be a table: [tax]"),
        ("[[tax]]\n", "tax must be a table: [tax]"),
        ("[taxes]\n", "unknown table 'taxes' (did you mean tax?)"),
        (
            TAX + 'method = "annualized"',
            "tax.method is 'annualized' (did you mean annualised?); it can be regular or "
            "annualised",
        ),
        (TAX + "method = 5", "tax.method is 5; it can be regular or annualised"),
        (
            TAX + 'projection = "season"',
            "tax.projection is 'season'; it can be year-to-date or last-year",
        ),
        (TAX + 'reserve = "Savings"', "tax.reserve must be an account, not 'Savings'"),
        (TAX + "bank = 5", "tax.bank must be an account, not 5"),
        (TAX + "payments = []", "tax.payments must be an account, not []"),
        (TAX + "jurisdiction = 5", "tax.jurisdiction must be text in quotes"),
        (TAX + 'jurisdiction = ""', "tax.jurisdiction must be text in quotes"),
        (TAX + "home-office = 120", "tax.home-office must be a table: [tax.home-office]"),
        (TAX + "mileage = 120", "tax.mileage must be a table: [tax.mileage]"),
        (
            "[tax.years.2025]\nmileage = 120",
            "tax.years.2025: mileage must be a table: [tax.years.2025.mileage]",
        ),
        (
            TAX + "years = 2025",
            "tax.years must have a table for each year: [tax.years.2025]",
        ),
        (
            "[tax.years]\n2025 = 5",
            "tax.years must have a table for each year: [tax.years.2025]",
        ),
        (
            "[tax.years.25]\nwages = 5",
            "tax.years: '25' is no year; write it as 2025, or 2025-26",
        ),
        (
            '[tax.years.2025]\nmethod = "regular"',
            "tax.years.2025: method holds for all years; move it to [tax]",
        ),
        (TAX + 'methods = "x"', "tax has an unknown key 'methods' (did you mean method?)"),
        (TAX + "local = 5", "tax.local must be a list of tables: [[tax.local]]"),
        ("[tax.local]\n", "tax.local must be a list of tables: [[tax.local]]"),
        (
            '[[tax.local]]\nbase = "income"\nrate = 0.1',
            "tax.local 1: name is missing; say what the tax is called",
        ),
        (
            '[[tax.local]]\nname = "S"\nrate = 0.1',
            'tax.local 1: base is missing; add base = "income", or profit',
        ),
        (
            '[[tax.local]]\nname = "S"\nbase = "sales"\nrate = 0.1',
            "tax.local 1: base is 'sales'; it can be income or profit",
        ),
        (LOCAL, "tax.local 1: give it a rate, or rates with edges"),
        (
            LOCAL + "rate = 0.1\nrates = [0.1]",
            "tax.local 1: give it a rate, or rates with edges",
        ),
        (LOCAL + "rate = 5", "tax.local 1: rates are shares of 1: 0.05 for 5 %"),
        (LOCAL + "rate = -0.1", "tax.local 1: rates are shares of 1: 0.05 for 5 %"),
        (LOCAL + "rate = nan", "tax.local 1: rates are shares of 1: 0.05 for 5 %"),
        (LOCAL + 'rate = "5 %"', "tax.local 1: rates are shares of 1: 0.05 for 5 %"),
        (LOCAL + "rates = []", "tax.local 1: rates are shares of 1: 0.05 for 5 %"),
        (LOCAL + "rates = 0.1", "tax.local 1: rates are shares of 1: 0.05 for 5 %"),
        (
            LOCAL + "rate = 0.1\nedges = [5]",
            "tax.local 1: edges go with rates, not with one rate",
        ),
        (
            LOCAL + "rates = [0.1, 0.2]",
            "tax.local 1: edges must be 1 rising numbers above zero, one fewer than rates",
        ),
        (
            LOCAL + "rates = [0.1, 0.2]\nedges = [0]",
            "tax.local 1: edges must be 1 rising numbers above zero, one fewer than rates",
        ),
        (
            LOCAL + "rates = [0.1, 0.2, 0.3]\nedges = [20, 10]",
            "tax.local 1: edges must be 2 rising numbers above zero, one fewer than rates",
        ),
        (
            LOCAL + "rates = [0.1, 0.2, 0.3]\nedges = [10, 10]",
            "tax.local 1: edges must be 2 rising numbers above zero, one fewer than rates",
        ),
        (
            LOCAL + "rates = [0.1, 0.2]\nedges = 5",
            "tax.local 1: edges must be 1 rising numbers above zero, one fewer than rates",
        ),
        (LOCAL + "rate = 0.1\nsource = 5", "tax.local 1: source must be text in quotes"),
        (
            LOCAL + "rate = 0.1\nbasis = 1",
            "tax.local 1: unknown key 'basis' (did you mean base?)",
        ),
    ],
)
def test_each_mistake_is_said(ledger: Path, text: str, said: str) -> None:
    assert mistakes(ledger, text) == [said]


def test_all_mistakes_are_told_at_once(ledger: Path) -> None:
    found = mistakes(
        ledger, TAX + 'method = "x"\nbank = "y"\n' + LOCAL + "rate = 2\n" + LOCAL
    )
    assert found == [
        "tax.method is 'x'; it can be regular or annualised",
        "tax.bank must be an account, not 'y'",
        "tax.local 1: rates are shares of 1: 0.05 for 5 %",
        "tax.local 2: give it a rate, or rates with edges",
    ]


def test_no_toml_is_one_line(ledger: Path) -> None:
    [line] = mistakes(ledger, "[tax\n")
    assert line.startswith("expected TOML in utf-8: ")
    assert line.endswith("; correct the settings")


def test_a_misspelt_answer_is_told_where_the_answers_are_read(ledger: Path) -> None:
    settings = settings_of(ledger, TAX + 'status = "single"\nwagse = 5')
    with pytest.raises(HouseholdError, match=r"unknown key 'wagse' \(did you mean wages"):
        read_household(settings.answers_of("2025"), ["single", "joint"], FACTS, "[tax]")


junk = st.recursive(
    st.one_of(
        st.integers(-3, 3),
        st.floats(),
        st.booleans(),
        st.text(max_size=3),
        st.dates(),
        st.sampled_from(["income", "regular", "Assets:Bank"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=2),
        st.dictionaries(
            st.sampled_from(["name", "base", "rate", "rates", "edges", "2025", "x"]),
            inner,
            max_size=4,
        ),
    ),
    max_leaves=6,
)
keys = st.sampled_from(
    [
        *("jurisdiction", "method", "projection", "reserve", "bank", "payments", "years"),
        *("local", "home-office", "mileage", "status", "wages", "x"),
    ]
)


@given(st.dictionaries(keys, junk, max_size=4))
def test_whatever_is_written_is_read_or_refused(table: dict[str, Any]) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "main.beancount"
        path.with_name("offcut.toml").write_text(tomlkit.dumps({"tax": table}), "utf-8")
        try:
            settings = tax_settings(path)
        except TaxSettingsError as refused:
            lines = str(refused).split("\n")
            assert all(line.startswith("offcut.toml: ") for line in lines)
        else:
            assert all(each.schedule.tax(D(9)) <= 9 for each in settings.local)
            # What is ours is never taken for an answer.
            assert settings.answers_of("2025").keys().isdisjoint(OWN)

"""The room at home by the simplified method: Rev. Proc. 2013-13, 5 by up to 300."""

from __future__ import annotations

from decimal import Decimal

import pytest

from offcut.reports.tax.home_office import HomeOffice, office_claim, read_home_office
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_settings import TaxSettingsError

D = Decimal
RULES = find_rules("us-federal", "2025")
PLENTY = D(10_000)


@pytest.mark.parametrize(
    ("area", "months", "part", "amount"),
    [
        ("120", "12", "1", "600"),
        ("300", "12", "1", "1500"),  # the most there is
        ("450", "12", "1", "1500"),
        ("120", "6", "1", "300"),
        ("120", "12", "0.25", "150"),
        ("120", "2", "0.25", "100"),  # never more months than were used
    ],
)
def test_area_by_months(area: str, months: str, part: str, amount: str) -> None:
    office = HomeOffice(D(area), D(months))
    assert office_claim(office, RULES, D(part), D(0), PLENTY).amount == D(amount)


def test_no_more_than_the_profit_before_it() -> None:
    office = HomeOffice(D(120))
    limited = office_claim(office, RULES, D(1), D(0), D("99.50"))
    assert (limited.amount, limited.before_limit) == (D("99.50"), D(600))
    assert office_claim(office, RULES, D(1), D(0), D(-5)).amount == D(0)


def test_the_area_or_the_accounts_and_not_both() -> None:
    both = office_claim(HomeOffice(D(10), D(12)), RULES, D(1), D(700), PLENTY)
    assert both.amount == D(50)
    assert "one or the other" in both.notes[0]
    assert office_claim(None, RULES, D(1), D(700), PLENTY).amount == D(700)
    assert office_claim(None, RULES, D(1), D(700), D(20)).amount == D(20)


def test_months_that_nobody_gave_are_said() -> None:
    claim = office_claim(HomeOffice(D(120)), RULES, D(1), D(0), PLENTY)
    assert claim.amount == D(600)
    assert claim.notes == (
        "The room at home counts for all twelve months. Where it was used for fewer, write "
        "months under [tax.home-office] in offcut.toml.",
    )
    given = office_claim(HomeOffice(D(120), D(12)), RULES, D(1), D(0), PLENTY)
    assert (given.amount, given.notes) == (D(600), ())


def test_settings() -> None:
    assert read_home_office({}) is None
    assert read_home_office({"area": 120}) == HomeOffice(D(120))
    assert read_home_office({"area": 120, "months": 4}) == HomeOffice(D(120), D(4))
    with pytest.raises(TaxSettingsError) as caught:
        read_home_office({"months": 13, "size": 1})
    assert len(str(caught.value).splitlines()) == 3

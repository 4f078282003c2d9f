"""Equipment as the maker elects; half-year straight line worked out by hand."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.period import Period
from offcut.reports.tax.equipment import check_equipment, deducted, equipment_bought
from offcut.reports.tax.rules_files import find_rules

D = Decimal


def test_elections(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Equipment:Press
    2025-01-01 open Assets:Equipmental
    2025-03-04 * "The dealer" "Press"
      Assets:Equipment:Press  1000.00 USD
        election: "spread"
        years: 5
      Assets:Bank
    2025-03-05 * "Cutter"
      election: "expense"
      Assets:Equipment:Press  300.00 USD
      Assets:Bank
    2025-03-06 * "Not yet elected"
      Assets:Equipment:Press  70.00 USD
      Assets:Bank
    2025-03-07 * "Sold again"
      Assets:Equipment:Press  -20.00 USD
        election: "expense"
      Assets:Bank
    2025-03-08 * "No equipment, and another currency"
      Assets:Equipmental  5.00 USD
      Assets:Bank
    2025-03-08 * "Another currency"
      Assets:Equipment:Press  5.00 EUR
      Assets:Bank
    """
    bought = equipment_bought(sound_ledger.entries, sound_ledger.options, "USD")
    assert [(each.text, each.cost, each.election, each.years) for each in bought] == [
        ("The dealer · Press", D(1000), "spread", 5),
        ("Cutter", D(300), "expense", 0),
        ("Not yet elected", D(70), "", 0),
        ("Sold again", D(-20), "expense", 0),
    ]
    assert list(check_equipment(bought)) == []
    rules = find_rules("us-federal", "2025")
    year = Period(rules.first, rules.last)
    # Half a fifth in the first year.
    assert [deducted(each, rules, year, D(1)) for each in bought] == [D(100), D(300), 0, 0]
    assert deducted(bought[0], rules, year, D("0.25")) == D(25)
    following = find_rules("us-federal", "2026")
    year = Period(following.first, following.last)
    assert [deducted(each, following, year, D(1)) for each in bought] == [D(200), 0, 0, 0]


@pytest.mark.parametrize(
    ("bought", "share"),
    [(2026, "0.10"), (2025, "0.20"), (2022, "0.20"), (2021, "0.10"), (2020, "0")],
)
def test_five_years_are_six_with_a_half_at_each_end(bought: int, share: str) -> None:
    from beancount import loader

    entries, errors, options = loader.load_string(f"""
2019-01-01 open Assets:Equipment
2019-01-01 open Assets:Bank
{bought}-07-15 * "Press"
  Assets:Equipment  1000.00 USD
    election: "spread"
    years: 5
  Assets:Bank
""")
    assert not errors
    (press,) = equipment_bought(entries, options, "USD")
    rules = find_rules("us-federal", "2026")
    year = Period(rules.first, rules.last)
    assert deducted(press, rules, year, D(1)) == 1000 * D(share)


def test_elections_that_cannot_be_followed(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Equipment:Press
    2025-03-04 * "Press"
      Assets:Equipment:Press  1000.00 USD
        election: "spred"
      Assets:Bank
    2025-03-05 * "Press"
      Assets:Equipment:Press  1000.00 USD
        election: "spread"
      Assets:Bank
    2025-03-06 * "Press"
      Assets:Equipment:Press  1000.00 USD
        election: "spread"
        years: 2.5
      Assets:Bank
    """
    bought = equipment_bought(sound_ledger.entries, sound_ledger.options, "USD")
    messages = [each.message for each in check_equipment(bought)]
    assert "did you mean spread?" in messages[0]
    assert all("say over how many years" in each for each in messages[1:])
    assert len(messages) == 3


def test_what_does_not_divide_is_deducted_to_the_cent(load: Callable[[str], Any]) -> None:
    ledger = load("""
2025-01-01 open Assets:Equipment
2025-01-01 open Assets:Bank
2025-07-15 * "Press"
  Assets:Equipment  24.07 USD
    election: "spread"
    years: 3
  Assets:Bank
""")
    (press,) = equipment_bought(ledger.entries, ledger.options, "USD")
    amounts = []
    for year in range(2025, 2030):
        first = datetime.date(year, 1, 1)
        rules = dataclasses.replace(find_rules("us-federal", "2026"), first=first)
        days = Period(first, datetime.date(year, 12, 31))
        amounts.append(deducted(press, rules, days, D(1)))
    # A sixth, two thirds in two years and a sixth of 24.07: by the ends of the years
    # 4.01, 12.04 (half a cent up), 20.06 and 24.07.
    assert amounts == [D("4.01"), D("8.03"), D("8.02"), D("4.01"), D("0")]
    assert sum(amounts) == D("24.07")

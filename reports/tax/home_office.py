"""Work out the simplified deduction for a room at home that is only for the business.

    [tax.home-office]
    area = 120            # in the unit of the rules: square feet
    months = 12           # months of the year in which it was used so; 12 where not said

A rate for each unit of area up to a limit (United States: Rev. Proc. 2013-13), by the
months used, and no more than the profit before it; what is more is lost.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from offcut.importers.settings import FILE
from offcut.importers.splitting import ZERO
from offcut.reports.figures import rounded
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.tax_settings import TaxSettingsError
from offcut.reports.tax.toml_checks import is_number, unknown_keys

KEYS = ("area", "months")
YEAR = 12
RATE = "home-office-rate"


@dataclass(frozen=True)
class HomeOffice:
    """A room at home.

    Attributes:
      area: In the unit of the rules.
      months: The months of the year in which it was used; None where nothing is said.
    """

    area: Decimal
    months: Decimal | None = None


@dataclass(frozen=True)
class OfficeClaim:
    """What is deducted for the room.

    Attributes:
      amount: What is deducted.
      before_limit: What it would be, were there profit enough.
      notes: What was taken for granted.
    """

    amount: Decimal
    before_limit: Decimal
    notes: tuple[str, ...] = ()


def read_home_office(table: Mapping[str, Any]) -> HomeOffice | None:
    """Return the room that the settings describe; None where they describe none.

    Args:
      table: `[tax.home-office]`, as it is written.

    Raises:
      TaxSettingsError: They have mistakes; says all of them.
    """
    if not table:
        return None
    mistakes = list(unknown_keys(table, KEYS))
    area, months = table.get("area"), table.get("months", YEAR)
    if not is_number(area) or area <= 0:
        mistakes.append(f"area must be a number above zero, not {area!r}")
    if not is_number(months) or not 0 < months <= YEAR:
        mistakes.append(f"months must be a number from 1 to 12, not {months!r}")
    if mistakes:
        raise TaxSettingsError(
            "\n".join(f"{FILE}: tax.home-office: {each}" for each in mistakes)
        )
    return HomeOffice(Decimal(area or 0), Decimal(months) if "months" in table else None)


def office_claim(
    office: HomeOffice | None,
    rules: Rules,
    part: Decimal,
    spent: Decimal,
    profit: Decimal,
) -> OfficeClaim:
    """Return what is deducted for the room.

    Args:
      office: The room; None where the settings describe none.
      rules: The rules of the year.
      part: The part of the year that is looked at; 1 for all of it.
      spent: What accounts on the form's home-office line came to.
      profit: The profit before the deduction, which is its limit.
    """
    notes = []
    whole = spent
    if office is not None and RATE not in rules.figures:
        notes.append(
            f"The rules of {rules.title} have no rate for a room at home by its area: "
            "nothing is deducted for it."
        )
    elif office is not None:
        rate, most = (
            rules.figure(name, rules.statuses[0]) for name in (RATE, "home-office-area")
        )
        months = Decimal(YEAR) if office.months is None else office.months
        if office.months is None:
            notes.append(
                "The room at home counts for all twelve months. Where it was used for "
                f"fewer, write months under [tax.home-office] in {FILE}."
            )
        used = min(months, YEAR * part) / YEAR
        whole = rounded(min(office.area, most) * rate * used, rules.currency)
        if office.area > most:
            notes.append(f"Of the room at home {most} count at most, of {office.area}.")
        if spent:
            notes.append(
                "The room at home is deducted by its area, so the accounts on its line are "
                "not: it is one or the other."
            )
    amount = min(whole, max(profit, ZERO)) if whole > ZERO else whole
    if amount < whole:
        notes.append(
            "The room at home is deducted up to the profit before it; what is more is not "
            "carried to another year here."
        )
    return OfficeClaim(amount, whole, tuple(notes))

"""What `[tax]` in `offcut.toml` says about the maker.

    [tax]
    jurisdiction = "us-federal"
    status = "single"                     # as the jurisdiction's rules name them
    method = "regular"                    # or "annualised": instalments follow the income
    projection = "year-to-date"           # or "last-year": how the year is foreseen
    reserve = "Assets:Bank:TaxReserve"    # where money is set aside
    bank = "Assets:Bank:Checking"         # where it is taken from
    payments = "Equity:Owner:IncomeTax"   # what payments to the tax office are booked to
    wages = 20_000                        # and other answers: `offcut tax` asks for them
    [tax.years.2025]                      # what was otherwise in a year
    wages = 18_000
    [tax.years.2025.home-office]          # also of a room, or of the log of trips
    area = 90
    [[tax.local]]                         # a schedule of your own place
    name = "State income tax"
    base = "income"                       # of taxable income, or of the business's "profit"
    rate = 0.05                           # or: rates = [...] with edges = [...]
    source = "State form 1, 2025"

All accounts are optional; so are the answers, and each that is missing is named beside
the figures.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from beancount.core.account import is_valid as is_account

from offcut.importers.problems import ImportRefused
from offcut.importers.settings import FILE, settings_table
from offcut.reports.tax.local_settings import (
    LocalSchedule,
    local_mistakes,
    local_schedule,
)
from offcut.reports.tax.toml_checks import (
    either,
    is_text,
    meant,
    shown,
)

Method = Literal["regular", "annualised"]
Projection = Literal["year-to-date", "last-year"]

CHOICES: Mapping[str, tuple[str, ...]] = {
    "method": ("regular", "annualised"),
    "projection": ("year-to-date", "last-year"),
}
ACCOUNTS = ("reserve", "bank", "payments")
TEXTS = ("jurisdiction",)
CLAIMS = ("home-office", "mileage")
TABLES = ("years", "local", *CLAIMS)
OWN = (*CHOICES, *ACCOUNTS, *TEXTS, *TABLES)
YEAR = re.compile("[0-9]{4}(-[0-9]{2})?")


class TaxSettingsError(ValueError):
    """Settings that cannot be used; the text is one line for each mistake."""


@dataclass(frozen=True)
class TaxSettings:
    """What is set about taxes.

    Attributes:
      jurisdiction: Whose rules; empty where none is set.
      method: How instalments are worked out.
      projection: How a year in progress is foreseen.
      reserve: The account where money is set aside; empty where there is none.
      bank: The account that it is taken from.
      payments: The account that payments to the tax office are booked to.
      local: Taxes of the maker's own place.
      answers: What the books cannot know, of all years.
      years: What is otherwise in a year, by the year.
      home_office: The settings of the room used for the business, as they are written.
      mileage: Those of the log of trips.
    """

    jurisdiction: str = ""
    method: Method = "regular"
    projection: Projection = "year-to-date"
    reserve: str = ""
    bank: str = ""
    payments: str = ""
    local: tuple[LocalSchedule, ...] = ()
    answers: Mapping[str, Any] = field(default_factory=dict)
    years: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    home_office: Mapping[str, Any] = field(default_factory=dict)
    mileage: Mapping[str, Any] = field(default_factory=dict)

    def answers_of(self, year: str) -> dict[str, Any]:
        """Return what the books cannot know, of one year.

        Args:
          year: The year as the rules call it.
        """
        own = self.years.get(year, {})
        return {
            **self.answers,
            **{key: value for key, value in own.items() if key not in CLAIMS},
        }

    def mileage_of(self, year: str) -> dict[str, Any]:
        """Return what is set about trips, of one year.

        Args:
          year: The year as the rules call it.
        """
        return {**self.mileage, **self.years.get(year, {}).get("mileage", {})}

    def home_office_of(self, year: str) -> dict[str, Any]:
        """Return what is set about a room at home, of one year.

        Args:
          year: The year as the rules call it.
        """
        return {**self.home_office, **self.years.get(year, {}).get("home-office", {})}


def tax_settings(ledger: Path) -> TaxSettings:
    """Return what the settings beside a ledger say about taxes.

    Args:
      ledger: The path of the main ledger file.

    Raises:
      TaxSettingsError: They have mistakes.
    """
    try:
        whole = settings_table(ledger)
    except ImportRefused as refused:
        # What is wrong is the same; nothing was to be imported here.
        raise TaxSettingsError(
            "\n".join(f"{FILE}: {each.message}" for each in refused.problems)
        ) from None
    mistakes = list(_mistakes(whole))
    if mistakes:
        raise TaxSettingsError("\n".join(f"{FILE}: {each}" for each in mistakes))
    table = whole.get("tax", {})
    return TaxSettings(
        jurisdiction=table.get("jurisdiction", ""),
        method=table.get("method", "regular"),
        projection=table.get("projection", "year-to-date"),
        reserve=table.get("reserve", ""),
        bank=table.get("bank", ""),
        payments=table.get("payments", ""),
        local=tuple(map(local_schedule, table.get("local", ()))),
        answers={key: value for key, value in table.items() if key not in OWN},
        years=table.get("years", {}),
        home_office=table.get("home-office", {}),
        mileage=table.get("mileage", {}),
    )


def _mistakes(whole: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with the settings, but for the answers."""
    if "tax" not in whole:
        for key in difflib.get_close_matches("tax", whole, cutoff=0.6):
            yield f"unknown table {key!r} (did you mean tax?)"
    table = whole.get("tax", {})
    if not isinstance(table, dict):
        yield "tax must be a table: [tax]"
        return
    for key in table:
        # The answers have names of their own, by the jurisdiction: only what is nearly
        # one of ours is taken for a slip of the pen.
        if key not in OWN and (near := difflib.get_close_matches(key, OWN, 1, 0.85)):
            yield f"tax has an unknown key {key!r} (did you mean {near[0]}?)"
    for key, choices in CHOICES.items():
        if table.get(key, choices[0]) not in choices:
            hint = meant(table[key], choices)
            yield f"tax.{key} is {shown(table[key])}{hint}; it can be {either(choices)}"
    for key in ACCOUNTS:
        if key in table and not (isinstance(table[key], str) and is_account(table[key])):
            yield f"tax.{key} must be an account, not {shown(table[key])}"
    named = [str(table[key]) for key in ACCOUNTS if key in table]
    if len(set(named)) < len(named):
        yield "tax.reserve, tax.bank and tax.payments must be three different accounts"
    for key in TEXTS:
        if not is_text(table.get(key, "some")):
            yield f"tax.{key} must be text in quotes"
    for key in CLAIMS:
        if not isinstance(table.get(key, {}), dict):
            yield f"tax.{key} must be a table: [tax.{key}]"
    yield from _year_mistakes(table.get("years", {}))
    local = table.get("local", [])
    if not (isinstance(local, list) and all(isinstance(each, dict) for each in local)):
        yield "tax.local must be a list of tables: [[tax.local]]"
        return
    for number, each in enumerate(local, 1):
        yield from (f"tax.local {number}: {text}" for text in local_mistakes(each))


def _year_mistakes(years: object) -> Iterator[str]:
    if not (isinstance(years, dict) and all(isinstance(e, dict) for e in years.values())):
        yield "tax.years must have a table for each year: [tax.years.2025]"
        return
    for year, table in years.items():
        if not YEAR.fullmatch(year):
            yield f"tax.years: {shown(year)} is no year; write it as 2025, or 2025-26"
        for key in table:
            if key in CLAIMS:
                if not isinstance(table[key], dict):
                    yield (
                        f"tax.years.{year}: {key} must be a table: [tax.years.{year}.{key}]"
                    )
            elif key in OWN:
                yield f"tax.years.{year}: {key} holds for all years; move it to [tax]"

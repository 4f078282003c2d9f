"""Work out what the rules allow for trips by own vehicle: a rate, or what was spent.

    [tax.mileage]
    method = "rate"               # or "actual": the vehicle's own costs, not miles
    second-half-rate = true       # where the rules have another rate from 1 July on
    commuting = 400               # what the log does not have, for the form
    other = 3_000
    placed-in-service = 2024-05-01

Of one year alone, they stand under [tax.years.2026.mileage].

One or the other is deducted, never both; what the miles do not cover, such as parking and
tolls (`tax-line: "car-other"`), is deducted beside either. A rate may be lower beyond so
many miles: the figures `mileage-rate`, `mileage-first` and `mileage-rate-beyond` of the
rules.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from offcut.importers.settings import FILE
from offcut.importers.splitting import ZERO
from offcut.plugins.mileage import Trip
from offcut.reports.figures import pieces
from offcut.reports.period import Period
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.tax_settings import TaxSettingsError
from offcut.reports.tax.toml_checks import either, is_number, meant, unknown_keys

METHODS = ("rate", "actual")
NUMBERS = ("commuting", "other")
KEYS = ("method", "second-half-rate", *NUMBERS, "placed-in-service")
SECOND_HALF = "mileage-rate-second-half"
JULY = 7


@dataclass(frozen=True)
class MileageSettings:
    """What is set about trips.

    Attributes:
      method: `rate` or `actual`; empty where nothing is set.
      second_half_rate: Whether the rate from 1 July on counts.
      commuting: Miles to and from work; None where nothing is said.
      other: Other private miles.
      placed_in_service: When the vehicle was first used for the business.
    """

    method: str = ""
    second_half_rate: bool = False
    commuting: Decimal | None = None
    other: Decimal | None = None
    placed_in_service: datetime.date | None = None


class Stretch(NamedTuple):
    """Miles at one rate."""

    miles: Decimal
    rate: Decimal

    @property
    def amount(self) -> Decimal:
        """What is allowed for them."""
        return self.miles * self.rate


@dataclass(frozen=True)
class CarClaim:
    """What is deducted for the vehicle.

    Attributes:
      miles: The miles of the log, by vehicle.
      stretches: What is deducted of them, by rate.
      by_rate: Whether the rate counts, and not what was spent.
      notes: What was taken for granted.
    """

    miles: Mapping[str, Decimal]
    stretches: tuple[Stretch, ...]
    by_rate: bool
    notes: tuple[str, ...]

    @property
    def total_miles(self) -> Decimal:
        """All miles of the log."""
        return sum(self.miles.values(), ZERO)

    @property
    def allowance(self) -> Decimal:
        """What is deducted by the rate."""
        return sum((each.amount for each in self.stretches), ZERO)


def read_mileage(table: Mapping[str, Any]) -> MileageSettings:
    """Return what the settings say about trips.

    Args:
      table: `[tax.mileage]`, as it is written.

    Raises:
      TaxSettingsError: They have mistakes; says all of them.
    """
    mistakes = list(unknown_keys(table, KEYS))
    method = table.get("method", "")
    if method and method not in METHODS:
        mistakes.append(
            f"method is {method!r}{meant(method, METHODS)}; it can be {either(METHODS)}"
        )
    if not isinstance(table.get("second-half-rate", False), bool):
        mistakes.append("second-half-rate must be true or false")
    for key in NUMBERS:
        value = table.get(key, 0)
        if not is_number(value) or value < 0:
            mistakes.append(f"{key} must be a number of miles, not {value!r}")
    if type(table.get("placed-in-service", datetime.date.min)) is not datetime.date:
        mistakes.append("placed-in-service must be a date: 2024-05-01")
    if mistakes:
        raise TaxSettingsError(
            "\n".join(f"{FILE}: tax.mileage: {each}" for each in mistakes)
        )
    commuting, other = (Decimal(table[key]) if key in table else None for key in NUMBERS)
    return MileageSettings(
        method,
        table.get("second-half-rate", False),
        commuting,
        other,
        table.get("placed-in-service"),
    )


def car_claim(
    trips: Iterable[Trip],
    rules: Rules,
    settings: MileageSettings,
    period: Period,
    spent: Decimal,
) -> CarClaim:
    """Return what is deducted for the vehicle.

    Args:
      trips: The log of trips.
      rules: The rules of the year.
      settings: What is set about trips.
      period: The days to take.
      spent: What the vehicle's own accounts came to.
    """
    driven = [trip for trip in trips if trip.date in period]
    miles: dict[str, Decimal] = {}
    for trip in driven:
        miles[trip.vehicle] = miles.get(trip.vehicle, ZERO) + trip.distance
    by_rate = settings.method == "rate" or (not settings.method and bool(driven))
    if not by_rate:
        notes = []
        if driven:
            notes.append(
                "The vehicle's own costs are deducted, not the miles of the log, as the "
                f'settings say: method = "actual" in [tax.mileage] of {FILE}.'
            )
        return CarClaim(miles, (), False, tuple(notes))
    if "mileage-rate" not in rules.figures:
        note = (
            f"The rules of {rules.title} have no mileage rate: "
            "nothing is deducted for the miles of the log."
        )
        return CarClaim(miles, (), True, (note,))
    notes = []
    if spent:
        notes.append(
            "The miles of the log are deducted at the rate, so the vehicle's own costs "
            "are not: it is one or the other. To deduct these instead, write "
            f'method = "actual" under [tax.mileage] in {FILE}.'
        )
    return CarClaim(
        miles,
        tuple(_stretches(driven, rules, settings, notes)),
        True,
        tuple(notes),
    )


def _stretches(
    driven: list[Trip], rules: Rules, settings: MileageSettings, notes: list[str]
) -> list[Stretch]:
    """Return the miles by rate; what was taken for granted is added to the notes."""
    rate = _figure(rules, "mileage-rate")
    total = sum((trip.distance for trip in driven), ZERO)
    if settings.second_half_rate and SECOND_HALF not in rules.figures:
        # It may be set for another year, with which this one is looked at.
        notes.append(
            f"second-half-rate is set, but the rules of {rules.year} have one rate only: "
            f"all miles count at {rate}."
        )
    elif settings.second_half_rate:
        later = _figure(rules, SECOND_HALF)
        begins = datetime.date(rules.first.year, JULY, 1)
        second = sum((trip.distance for trip in driven if trip.date >= begins), ZERO)
        notes.append(
            f"From 1 July {rules.first.year} on, miles count at {later}, as the settings "
            f"say; before at {rate}. Sources differ on the second rate: confirm it."
        )
        return [
            each
            for each in (Stretch(total - second, rate), Stretch(second, later))
            if each.miles
        ]
    if total and SECOND_HALF in rules.figures:
        notes.append(
            f"All miles count at {rate}. Some sources have {_figure(rules, SECOND_HALF)} "
            f"from 1 July {rules.first.year} on; where that is confirmed, write "
            f"second-half-rate = true under [tax.mileage] in {FILE}."
        )
    if "mileage-first" in rules.figures:
        first = _figure(rules, "mileage-first")
        beyond = max(total - first, ZERO)
        if beyond:
            notes.append(f"Beyond {pieces(first)} miles a lower rate counts.")
        parts = (
            Stretch(total - beyond, rate),
            Stretch(beyond, _figure(rules, "mileage-rate-beyond")),
        )
        return [each for each in parts if each.miles]
    return [Stretch(total, rate)] if total else []


def _figure(rules: Rules, name: str) -> Decimal:
    return rules.figure(name, rules.statuses[0])

"""Read and check the log of trips by own vehicle.

    2025-05-24 custom "mileage" 84 "Harbour fair, there and back"
      event: "harbour-fair-2025"
      vehicle: "van"

The number is the distance driven for the business, in the miles or kilometres that the
tax rules of the maker's country count; the text says where to and what for, as a log of
trips must. `event`, `channel` and `vehicle` are optional. A trip costs nothing in the
books: what the rules allow for it is worked out at tax time.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

__plugins__ = ("check_mileage",)

DIRECTIVE = "mileage"
FORM = 'custom "mileage" 84 "Where to and what for": the distance, then the purpose'
WORDS = ("event", "channel", "vehicle")
ZERO = Decimal(0)


class MileageError(NamedTuple):
    """A trip that does not have its form."""

    source: data.Meta
    message: str
    entry: data.Directive | None


class Trip(NamedTuple):
    """A trip by own vehicle.

    Attributes:
      date: The day.
      distance: In miles or kilometres, as the log is kept.
      purpose: Where to and what for.
      event: The fair that it was for, as its tag has it without `event-`; else empty.
      channel: The channel that it was for; else empty.
      vehicle: The vehicle; empty where there is one only.
      entry: The directive.
    """

    date: datetime.date
    distance: Decimal
    purpose: str
    event: str
    channel: str
    vehicle: str
    entry: data.Custom


def check_mileage(
    entries: data.Directives, options_map: Mapping[str, Any]
) -> tuple[data.Directives, list[MileageError]]:
    """Report each trip that does not have its form.

    Args:
      entries: The ledger's directives.
      options_map: The ledger's options.

    Returns:
      The same directives, and the errors.
    """
    del options_map
    errors = []
    for entry in entries:
        if isinstance(entry, data.Custom) and entry.type == DIRECTIVE:
            complaint = _complaint(entry)
            if complaint:
                errors.append(MileageError(entry.meta, complaint, entry))
    return entries, errors


def trips(entries: Iterable[data.Directive]) -> Iterator[Trip]:
    """Yield the trips of a log, in the order of the entries; malformed ones are left out.

    Args:
      entries: The ledger's directives.
    """
    for entry in entries:
        if (
            isinstance(entry, data.Custom)
            and entry.type == DIRECTIVE
            and not _complaint(entry)
        ):
            distance, purpose = (value.value for value in entry.values)
            event, channel, vehicle = (entry.meta.get(word, "") for word in WORDS)
            yield Trip(entry.date, distance, purpose, event, channel, vehicle, entry)


def _complaint(entry: data.Custom) -> str:
    """Return what is wrong with a trip; empty where nothing is."""
    values = entry.values or []  # None from beancount's parser, where nothing follows
    if [value.dtype for value in values] != [Decimal, str]:
        return f"Write it as {FORM}"
    distance, purpose = (value.value for value in values)
    if not distance.is_finite() or distance <= ZERO:
        return f"The distance must be above zero, here it is {distance}"
    if not purpose.strip():
        return f"The purpose is empty; say where to and what for: {FORM}"
    for word in WORDS:
        if not isinstance(entry.meta.get(word, ""), str):
            return f'{word} must be text in quotes: {word}: "{entry.meta[word]}"'
    return ""

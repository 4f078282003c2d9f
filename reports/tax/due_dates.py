"""Move due days off weekends and holidays.

Where the last day falls on a Saturday, a Sunday or a legal holiday, the next day that is
none of these counts (United States: IRC section 7503; holidays of the District of
Columbia count everywhere there).
"""

from __future__ import annotations

import datetime
from functools import cache

import holidays

SATURDAY = 5


def moved(due: datetime.date, where: str) -> datetime.date:
    """Return the next day that is no weekend and no holiday, the day itself included.

    Args:
      due: The day by rule.
      where: The country and the part of it: `US-DC`; empty where nothing moves.

    Raises:
      ValueError: No such country is known.
    """
    if not where:
        return due
    while due.weekday() >= SATURDAY or due in _holidays(where):
        due += datetime.timedelta(days=1)
    return due


def has_holidays(where: str) -> bool:
    """Tell whether the holidays of a country, and the part of it, are known.

    Args:
      where: As `moved` takes it.
    """
    try:
        return not where or _holidays(where) is not None
    except ValueError:
        return False


@cache
def _holidays(where: str) -> holidays.HolidayBase:
    """Return the holidays of a country; years are added as they are asked for."""
    country, _, part = where.partition("-")
    try:
        return holidays.country_holidays(country, subdiv=part or None)
    except NotImplementedError:
        raise ValueError(
            f"There are no holidays of '{where}'; write US-DC, or GB-ENG"
        ) from None

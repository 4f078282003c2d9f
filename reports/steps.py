"""Divide time into steps: days, weeks, months, quarters, or years."""

from __future__ import annotations

import datetime
from typing import Literal

Step = Literal["day", "week", "month", "quarter", "year"]


def step_of(date: datetime.date, step: Step) -> str:
    """Return the step that a day is in: `2025-03-04`, `2025-W10`, `2025-03`, `2025-Q1`.

    Weeks are those of ISO 8601, which begin on a Monday. Of one kind of step, texts in
    their order are in the order of time.

    Args:
      date: The day.
      step: The kind of step.
    """
    match step:
        case "day":
            return date.isoformat()
        case "week":
            year, week, _ = date.isocalendar()
            return f"{year:04}-W{week:02}"
        case "month":
            return f"{date.year:04}-{date.month:02}"
        case "quarter":
            return f"{date.year:04}-Q{(date.month + 2) // 3}"
        case "year":
            return f"{date.year:04}"


def steps_between(first: datetime.date, last: datetime.date, step: Step) -> list[str]:
    """Return all steps from one day to another, those included.

    Args:
      first: The first day.
      last: The last day.
      step: The kind of step.
    """
    days = map(datetime.date.fromordinal, range(first.toordinal(), last.toordinal() + 1))
    return list(dict.fromkeys(step_of(day, step) for day in days))

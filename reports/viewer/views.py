"""Read from a request of fava which report it asks for, and under which filters."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from fava.util.date import Day, Interval, Quarter, Week, Year
from flask import current_app

from offcut.reports.period import Period
from offcut.reports.steps import Step

if TYPE_CHECKING:
    from fava.core import FavaLedger

FIRST_REPORT = "design"
STEPS: Mapping[Interval, Step] = {
    Day: "day",
    Week: "week",
    Quarter: "quarter",
    Year: "year",
}
# Figures that the ledger cannot know, as the page of plans asks for them.
GIVEN = ("hour", "setup-minutes", "lead-weeks", "rate")


class View(NamedTuple):
    """What a page shows; whoever asks for the same gets the same page.

    Attributes:
      report: The name of the report.
      name: What of it is shown by itself, such as a design; empty for all.
      period: The days that fava's time filter names.
      account: fava's account filter, as typed.
      filter: fava's filter by tag, link and the like, as typed.
      time: fava's time filter, as typed.
      conversion: fava's choice of currency.
      step: fava's choice of interval.
      sort: By which column a table is sorted, as in `shelf.3.down`.
      slug: What fava calls the ledger in addresses.
      given: What was given for plans, as typed.
      hides_figures: Whether fava runs without showing figures.
      today: Today.
    """

    report: str
    name: str
    period: Period
    account: str
    filter: str
    time: str
    conversion: str
    step: Step
    sort: str
    slug: str
    given: tuple[tuple[str, str], ...]
    hides_figures: bool
    today: datetime.date

    @property
    def is_partial(self) -> bool:
        """Whether a filter other than by time leaves transactions out."""
        return bool(self.account or self.filter)


def asked(ledger: FavaLedger, context: Any, arguments: Mapping[str, str]) -> View:
    """Return what a request asks for.

    Args:
      ledger: The ledger.
      context: fava's values of the request, `fava.context.g`.
      arguments: Those of the address.

    Raises:
      FavaAPIError: A filter is not understood; fava shows what it says.
    """
    days = context.filtered.date_range
    return View(
        report=arguments.get("report", FIRST_REPORT),
        name=arguments.get("name", "").strip(),
        period=Period(days.begin, days.end_inclusive) if days else Period(),
        account=arguments.get("account", "").strip(),
        filter=arguments.get("filter", "").strip(),
        time=arguments.get("time", ""),
        conversion=context.conversion,
        step=STEPS.get(context.interval, "month"),
        sort=arguments.get("sort", ""),
        slug=context.beancount_file_slug or "",
        given=tuple(
            (key, text) for key in GIVEN if (text := arguments.get(key, "").strip())
        ),
        hides_figures=bool(current_app.config.get("INCOGNITO")),
        today=datetime.date.today(),
    )

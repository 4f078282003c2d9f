"""Offer what a report lives by and fava has no choice of: steps, months, plans."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import NamedTuple

from offcut.reports.books import Books
from offcut.reports.close.month import DAY
from offcut.reports.figures import month_label
from offcut.reports.steps import Step
from offcut.reports.viewer.addresses import report_link
from offcut.reports.viewer.chosen import month_of
from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.plan_content import FIRST_PLAN, PLANS
from offcut.reports.viewer.views import View

STEPS: tuple[Step, ...] = ("day", "week", "month", "quarter", "year")


class Choice(NamedTuple):
    """A link to the same report with something else chosen.

    Attributes:
      text: What it leads to.
      address: Where.
      is_chosen: Whether that is what is shown.
    """

    text: str
    address: str
    is_chosen: bool = False


def choices(books: Books, view: View) -> Iterator[Choice]:
    """Yield what else a report can show.

    Args:
      books: The whole ledger.
      view: The view.
    """
    content = CONTENTS[view.report]
    name = {"name": view.name} if view.name else {}
    if view.name and content.of_one is not None:
        yield Choice(f"All {content.title.lower()}", report_link(view.report))
    if view.report == "time" or (name and view.report in ("design", "product")):
        for step in STEPS:
            address = report_link(view.report, interval=step, **name)
            yield Choice(f"{step.capitalize()}s", address, step == view.step)
    if view.report == "close":
        chosen = month_of(books, view)
        days = [chosen.first, chosen.after]
        if chosen.first > datetime.date.min:
            days.insert(0, chosen.first - DAY)
        for day in days:
            month = month_label(day)
            yield Choice(month, report_link("close", time=month), day == chosen.first)
    if view.report == "plan":
        for key, plan in PLANS.items():
            address = report_link("plan", name=key)
            yield Choice(plan.title, address, key == (view.name or FIRST_PLAN))

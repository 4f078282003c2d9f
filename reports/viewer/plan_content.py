"""Make the pages of plans: what to print next, and what wholesale leaves."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.reports.books import Books
from offcut.reports.plan.given_figures import amount_of, share_of
from offcut.reports.plan.next_print_statement import next_print_statement
from offcut.reports.plan.plan_settings import PlanSettings, plan_settings
from offcut.reports.plan.usual_terms import next_terms, wholesale_terms
from offcut.reports.plan.wholesale_statement import wholesale_statement
from offcut.reports.statement import Statement
from offcut.reports.viewer.chosen import currency_of
from offcut.reports.viewer.refusals import refused
from offcut.reports.viewer.views import View

GIVEN_HERE = "this page"


class Field(NamedTuple):
    """A figure that the ledger cannot know, and the page asks for.

    Attributes:
      name: Its name in addresses and in settings.
      label: What it is.
      example: How to write it.
      read: What reads it.
    """

    name: str
    label: str
    example: str
    read: Callable[[str], Decimal]


HOUR = Field("hour", "An hour of yours", "18.00", amount_of)
SETUP = Field("setup-minutes", "Minutes to set up a run", "30", amount_of)
LEAD = Field("lead-weeks", "Weeks until pieces are there", "1", amount_of)
RATE = Field("rate", "Wholesale, of the list price", "50%", share_of)

_Given = Mapping[str, Decimal]


def _next_print(
    books: Books, view: View, settings: PlanSettings, given: _Given
) -> Statement:
    terms = next_terms(
        settings,
        lead_weeks=given.get(LEAD.name),
        hour=given.get(HOUR.name),
        setup_minutes=given.get(SETUP.name),
        given_source=GIVEN_HERE,
    )
    return next_print_statement(books, view.period, currency_of(books, view), terms)


def _wholesale(
    books: Books, view: View, settings: PlanSettings, given: _Given
) -> Statement:
    terms = wholesale_terms(
        settings,
        rate=given.get(RATE.name),
        hour=given.get(HOUR.name),
        given_source=GIVEN_HERE,
    )
    return wholesale_statement(books, view.period, currency_of(books, view), terms)


class Plan(NamedTuple):
    """A plan.

    Attributes:
      title: What leads to it.
      fields: The figures that it asks for.
      statement: What makes it.
    """

    title: str
    fields: tuple[Field, ...]
    statement: Callable[[Books, View, PlanSettings, _Given], Statement]


PLANS: dict[str, Plan] = {
    "next-print": Plan("Next print", (HOUR, SETUP, LEAD), _next_print),
    "wholesale": Plan("Wholesale", (HOUR, RATE), _wholesale),
}
FIRST_PLAN = "next-print"


def plan_of(view: View) -> Plan | None:
    """Return the plan that a view names, the first where it names none.

    Args:
      view: The view.
    """
    return PLANS.get(view.name or FIRST_PLAN)


def plan(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return the plan that a view names.

    Args:
      whole: The whole ledger.
      books: What the filters leave of it; a plan is of everything.
      view: The view, with what was given on the page.
    """
    found = plan_of(view)
    if found is None:
        names = ", ".join(PLANS)
        return [refused("Plan", f"There is no plan '{view.name}'; there are {names}.")]
    given: dict[str, Decimal] = {}
    typed = dict(view.given)
    try:
        for field in found.fields:
            if field.name in typed:
                given[field.name] = _read(field, typed[field.name])
        settings = plan_settings(whole.path)
        return [found.statement(whole, view, settings, given)]
    except ValueError as error:
        return [refused(found.title, str(error))]


def _read(field: Field, text: str) -> Decimal:
    """Return the figure of a field."""
    try:
        return field.read(text)
    except ValueError as error:
        raise ValueError(f"{field.label}: {error}") from None

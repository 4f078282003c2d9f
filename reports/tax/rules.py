"""The tax rules of a jurisdiction for a year: its figures, schedules, days and form."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from offcut.reports.tax.schedule import Schedule


class RulesError(ValueError):
    """Rules that cannot be used; the text is one line for each mistake."""


@dataclass(frozen=True)
class Figure:
    """One figure of the rules.

    Attributes:
      name: What it is: `net-earnings-factor`.
      values: By status; the same for all of them where it does not depend on it.
      source: Where it stands.
      from_memory: Whether it was not read there.
    """

    name: str
    values: Mapping[str, Decimal]
    source: str
    from_memory: bool


@dataclass(frozen=True)
class Instalment:
    """A payment in the course of a year.

    Attributes:
      label: What it is called.
      period_ends: The last day whose income counts for it; None where it goes by a year.
      due: The day by rule, before a weekend or holiday moves it.
      annualise: What the period's income is multiplied by to be a year's.
      share: The share of the year's tax that is to be paid by then, as the annualised
        method has it.
      source: Where that stands.
    """

    label: str
    period_ends: datetime.date | None
    due: datetime.date
    annualise: Decimal
    share: Decimal
    source: str


@dataclass(frozen=True)
class FormLine:
    """A line of a year-end form.

    Attributes:
      line: Its number: `27b`.
      caption: Its printed words.
      key: What stands on it: the `tax-line` of accounts, or a word of the form's maker.
      part: The part of the form.
      source: Where the caption was read.
      side: What accounts may stand on it: `income`, `deduction`, or `cost`, a part of the
        cost of goods; empty where none may.
      share: The figure that says which share of the accounts is deducted; empty for all.
      adds: The keys of the lines that it is the sum of.
      takes: Those that are taken off it.
    """

    line: str
    caption: str
    key: str
    part: str
    source: str
    side: str = ""
    share: str = ""
    adds: tuple[str, ...] = ()
    takes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rules:
    """The rules of a jurisdiction for a year.

    Attributes:
      jurisdiction: Its key: `us-federal`.
      title: Its name.
      year: The year as it is called: `2025`, `2025-26`.
      first: The year's first day.
      last: The year's last day.
      currency: The currency of its amounts.
      statuses: Who may be taxed differently: `single`, `joint`.
      figures: By name.
      schedules: Rates by brackets, by name and status.
      instalments: What is paid in the course of the year, the earliest first.
      form: The lines of the year-end form, from the top.
      holidays: The country, and the part of it, whose holidays move due days: `US-DC`;
        empty where nothing moves them.
      path: The file.
      form_title: What the year-end form is called.
      defaults: The lines of accounts that do not name one, by account, which stands for
        those below it too.
      calculation: What works the tax out; empty where the jurisdiction says it.
      return_due: When what is still owed is paid, before a weekend or holiday moves it;
        None where the last of the instalments leaves nothing.
      remembered: What was not read in its source: figures, schedules and payments, by
        their names.
    """

    jurisdiction: str
    title: str
    year: str
    first: datetime.date
    last: datetime.date
    currency: str
    statuses: tuple[str, ...]
    figures: Mapping[str, Figure]
    schedules: Mapping[str, Mapping[str, Schedule]]
    instalments: tuple[Instalment, ...]
    form: tuple[FormLine, ...]
    holidays: str
    path: str
    form_title: str = ""
    defaults: Mapping[str, str] = field(default_factory=dict)
    calculation: str = ""
    return_due: datetime.date | None = None
    remembered: tuple[str, ...] = ()

    def figure(self, name: str, status: str) -> Decimal:
        """Return a figure.

        Args:
          name: Its name.
          status: Whose.

        Raises:
          RulesError: The rules do not have it.
        """
        if name not in self.figures:
            raise RulesError(f"{self.path}: the figure {name} is missing; add it")
        return self.figures[name].values[status]

    def figures_of(self, status: str) -> Callable[[str], Decimal]:
        """Return what gives the figures of a status by name; errors as `figure`.

        Args:
          status: Whose.
        """
        return lambda name: self.figure(name, status)

    def schedule(self, name: str, status: str) -> Schedule:
        """Return the rates by brackets; arguments and errors as `figure`."""
        if name not in self.schedules:
            raise RulesError(f"{self.path}: the schedule {name} is missing; add it")
        return self.schedules[name][status]

    def require(self, figures: Iterable[str], schedules: Iterable[str] = ()) -> None:
        """Refuse rules that do not have what a calculation needs.

        Args:
          figures: The names of the figures.
          schedules: The names of the schedules.

        Raises:
          RulesError: Some are missing; names all of them.
        """
        missing = [f"the figure {name}" for name in figures if name not in self.figures]
        missing += [
            f"the schedule {name}" for name in schedules if name not in self.schedules
        ]
        if missing:
            raise RulesError(
                "\n".join(f"{self.path}: {each} is missing; add it" for each in missing)
            )

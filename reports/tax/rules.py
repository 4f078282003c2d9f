"""Read the tax rules of a jurisdiction and year, each figure with its source.

    jurisdiction = "us-federal"
    title = "United States, federal income and self-employment tax"
    year = "2025"
    first-day = 2025-01-01
    last-day = 2025-12-31
    currency = "USD"
    statuses = ["single", "joint"]
    calculation = "us-federal"            # what works it out, where not the jurisdiction

    [figures.net-earnings-factor]
    value = 0.9235                        # or: values = { single = 1, joint = 2 }
    source = "Schedule SE (Form 1040) 2025, line 4a"

    [schedules.income]
    rates = [0.10, 0.12]                  # or by status; the last has no upper edge
    edges = { single = [11_925], joint = [23_850] }
    source = "Rev. Proc. 2024-40, section 2.01"

    [[instalments]]                       # what is paid in the course of the year
    label = "First payment"
    period-ends = 2025-03-31
    due = 2025-04-15                      # before weekends and holidays move it
    annualise = 4                         # from the period's income to a year's
    share = 0.225                         # of the year's tax by then
    source = "..."

    [[form]]                              # the lines of the year-end form, from the top
    line = "3"
    caption = "Subtract line 2 from line 1"
    key = "net-receipts"
    part = "Part I. Income"
    adds = ["gross-receipts"]             # it is calculated; else, where accounts may
    takes = ["returns"]                   # stand on it: side = "income", or "deduction"

    [defaults]                            # of accounts that have no `tax-line`
    "Expenses:Fees" = "commissions-fees"

Amounts are numbers, shares are of 1. `from-memory = true` marks a figure that was not
read in its source. `holidays = "US-DC"` names the country, and the part of it, on whose
holidays nothing is due. Files are `jurisdictions/*.toml`, and `taxes/*.toml` beside a
ledger, which stand before the shipped ones of the same jurisdiction and year.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

from offcut.reports.tax.rules_schema import head_mistakes, rules_mistakes
from offcut.reports.tax.schedule import Schedule
from offcut.reports.tax.toml_checks import meant


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

    @property
    def remembered(self) -> list[str]:
        """The figures that were not read in their sources."""
        return [each.name for each in self.figures.values() if each.from_memory]


def find_rules(jurisdiction: str, year: str, beside: Path | None = None) -> Rules:
    """Return the rules of a jurisdiction for a year.

    Args:
      jurisdiction: Its key.
      year: The year as it is called.
      beside: The ledger's folder, whose `taxes/` stands before the shipped rules.

    Raises:
      RulesError: There are none, which says what there is; or they have mistakes.
    """
    files = list(_files(beside))
    for each in files:
        if each.is_of(jurisdiction, year):
            return _rules(each)
    there = sorted({each.jurisdiction for each in files})
    if jurisdiction in there:
        years = sorted({each.year for each in files if each.jurisdiction == jurisdiction})
        raise RulesError(
            f"There are no rules of {jurisdiction} for {year}; there are "
            f"{', '.join(years)}. Name one of these years, or add a file to taxes/ beside "
            "the ledger"
        )
    raise RulesError(
        f"There are no rules of '{jurisdiction}'{meant(jurisdiction, there)}; there are "
        f"{', '.join(there)}"
    )


def known_rules(beside: Path | None = None) -> list[tuple[str, str]]:
    """Return the jurisdictions and years that there are rules of.

    Args:
      beside: The ledger's folder.
    """
    return sorted({(each.jurisdiction, each.year) for each in _files(beside)})


def read_rules(text: str, path: str) -> Rules:
    """Return the rules that a file has.

    Args:
      text: Its text.
      path: Its name, for errors.

    Raises:
      RulesError: It has mistakes; says all of them.
    """
    return _rules(_RulesFile(path, _parsed(path, text)))


class _RulesFile(NamedTuple):
    """A file of rules, its TOML read."""

    path: str
    table: Mapping[str, Any]

    @property
    def jurisdiction(self) -> str:
        return str(self.table["jurisdiction"])

    @property
    def year(self) -> str:
        return str(self.table["year"])

    def is_of(self, jurisdiction: str, year: str) -> bool:
        return (self.jurisdiction, self.year) == (jurisdiction, year)


def _rules(file: _RulesFile) -> Rules:
    """Return the rules of a file, whose mistakes are raised."""
    path, table = file
    _refuse(path, rules_mistakes(table))
    statuses = tuple(table["statuses"])
    return Rules(
        jurisdiction=table["jurisdiction"],
        title=table["title"],
        year=table["year"],
        first=table["first-day"],
        last=table["last-day"],
        currency=table["currency"],
        statuses=statuses,
        figures={
            name: Figure(
                name,
                {
                    status: Decimal(each["values"][status])
                    if "values" in each
                    else Decimal(each["value"])
                    for status in statuses
                },
                each["source"],
                each.get("from-memory", False),
            )
            for name, each in table.get("figures", {}).items()
        },
        schedules={
            name: {
                status: Schedule(
                    tuple(map(Decimal, _of_status(each["rates"], status))),
                    tuple(map(Decimal, each["edges"][status])),
                )
                for status in statuses
            }
            for name, each in table.get("schedules", {}).items()
        },
        instalments=tuple(
            Instalment(
                each.get("label", ""),
                each.get("period-ends"),
                each["due"],
                Decimal(each.get("annualise", 1)),
                Decimal(each.get("share", 1)),
                each["source"],
            )
            for each in table.get("instalments", ())
        ),
        form=tuple(
            FormLine(
                each["line"],
                each["caption"],
                each.get("key", ""),
                each.get("part", ""),
                each.get("source", table.get("form-source", "")),
                each.get("side", ""),
                each.get("share", ""),
                tuple(each.get("adds", ())),
                tuple(each.get("takes", ())),
            )
            for each in table.get("form", ())
        ),
        holidays=table.get("holidays", ""),
        path=path,
        form_title=table.get("form-title", ""),
        calculation=table.get("calculation", ""),
        defaults=table.get("defaults", {}),
    )


def _of_status(values: Any, status: str) -> Any:
    """Return what holds for a status, of values that may be given by status."""
    return values[status] if isinstance(values, dict) else values


def _files(beside: Path | None) -> Iterator[_RulesFile]:
    """Yield the files of all rules, the user's own first."""
    own: dict[tuple[str, str], str] = {}
    for path in sorted((beside / "taxes").glob("*.toml")) if beside else ():
        try:
            text = path.read_text("utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise RulesError(
                f"{path}: cannot be read as UTF-8 text: {error}; correct or remove it"
            ) from None
        file = _RulesFile(str(path), _parsed(str(path), text))
        # Without them it would never be found, whoever asks for what.
        _refuse(str(path), head_mistakes(file.table, ("jurisdiction", "year")))
        of = (file.jurisdiction, file.year)
        if of in own:
            raise RulesError(
                f"{path}: has the rules of {file.jurisdiction} for {file.year}, as has "
                f"{own[of]}; keep one of them"
            )
        own[of] = str(path)
        yield file
    yield from _shipped()


@cache
def _shipped() -> tuple[_RulesFile, ...]:
    """Return the files that are part of offcut."""
    folder = resources.files("offcut.reports.tax.jurisdictions")
    return tuple(
        _RulesFile(each.name, _parsed(each.name, each.read_text("utf-8")))
        for each in sorted(folder.iterdir(), key=lambda each: each.name)
        if each.name.endswith(".toml")
    )


def _parsed(path: str, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise RulesError(f"{path}: expected TOML: {error}; correct the file") from None


def _refuse(path: str, mistakes: Iterator[str]) -> None:
    """Raise what is wrong with a file, all of it; nothing where nothing is."""
    if lines := [f"{path}: {each}" for each in mistakes]:
        raise RulesError("\n".join(lines))

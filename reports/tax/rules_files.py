"""Find and read the files of tax rules, each figure with its source.

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

    [return]                              # when the rest is paid, after the year
    due = 2026-04-15
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

import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

from offcut.reports.tax.rules import Figure, FormLine, Instalment, Rules, RulesError
from offcut.reports.tax.rules_schema import head_mistakes, rules_mistakes
from offcut.reports.tax.schedule import Schedule
from offcut.reports.tax.toml_checks import meant


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
        return_due=table.get("return", {}).get("due"),
        remembered=tuple(_remembered(table)),
    )


def _remembered(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield the names of what was not read in its source."""
    for name, each in {**table.get("figures", {}), **table.get("schedules", {})}.items():
        if each.get("from-memory"):
            yield name
    for each in table.get("instalments", ()):
        if each.get("from-memory"):
            yield f"the day of {each.get('label') or each['due']}"
    if table.get("return", {}).get("from-memory"):
        yield "the day of the return"


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

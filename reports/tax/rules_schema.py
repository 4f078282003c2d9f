"""Check a file of tax rules before anything is read from it: all mistakes, a line each."""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from beancount.core.amount import CURRENCY_RE

from offcut.reports.tax.days_schema import day_mistakes
from offcut.reports.tax.due_dates import has_holidays
from offcut.reports.tax.form_schema import form_mistakes
from offcut.reports.tax.toml_checks import (
    are_edges,
    is_number,
    is_share,
    is_text,
    prefixed,
    shown,
    source_mistakes,
    unknown_keys,
)

HEAD: Mapping[str, type] = {
    "jurisdiction": str,
    "title": str,
    "year": str,
    "first-day": datetime.date,
    "last-day": datetime.date,
    "currency": str,
    "statuses": list,
}
OPTIONAL = (
    *("holidays", "form-title", "form-source", "defaults", "calculation"),
    "return",
)
TABLES = ("figures", "schedules")
LISTS = ("instalments", "form")
FIGURE = ("value", "values", "source", "from-memory")
SCHEDULE = ("rates", "edges", "source", "from-memory")

_KINDS: Mapping[type, str] = {
    str: "text in quotes",
    datetime.date: "a date such as 2025-01-01",
    list: "a list",
}


def rules_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with a file of rules.

    Args:
      table: The file's TOML, numbers as Decimals.
    """
    yield from unknown_keys(table, (*HEAD, *OPTIONAL, *TABLES, *LISTS))
    yield from head_mistakes(table, HEAD)
    where = table.get("holidays", "")
    if not isinstance(where, str):
        yield 'holidays must be text in quotes: "US-DC"'
    elif not has_holidays(where):
        yield f"there are no holidays of {where!r}; write US-DC, or GB-ENG"
    if not is_text(table.get("calculation", "some")):
        yield 'calculation must be text in quotes: "schedule-only"'
    statuses = table.get("statuses")
    if not (isinstance(statuses, list) and statuses and all(map(_is_word, statuses))):
        yield 'statuses must be a list of words: ["single"]'
        return
    if len(set(statuses)) < len(statuses):
        yield "statuses must name each status once"
    for key in TABLES:
        yield from _form_of(table, key, dict, f"tables: [{key}.NAME]")
    for key in LISTS:
        yield from _form_of(table, key, list, f"tables, each begun with [[{key}]]")
    for name, each in _entries(table, "figures"):
        yield from prefixed(f"figures.{name}", _figure_mistakes(each, statuses))
    for name, each in _entries(table, "schedules"):
        yield from prefixed(f"schedules.{name}", _schedule_mistakes(each, statuses))
    yield from form_mistakes(table)
    yield from day_mistakes(table)


def head_mistakes(table: Mapping[str, Any], keys: Iterable[str]) -> Iterator[str]:
    """Yield what is wrong with what says whose rules they are.

    Args:
      table: The file's TOML.
      keys: Which keys of the head count.
    """
    for key in keys:
        kind = HEAD[key]
        if key not in table:
            yield f"{key} is missing; add it"
        elif type(table[key]) is not kind:  # a time of a day is a date as well
            yield f"{key} must be {_KINDS[kind]}, not {shown(table[key])}"
        elif kind is str and not is_text(table[key]):
            yield f"{key} is empty; write it"
        elif key == "currency" and not re.fullmatch(CURRENCY_RE, table[key]):
            yield f"currency must be as in the ledger: USD, not {shown(table[key])}"


def _figure_mistakes(each: Mapping[str, Any], statuses: list[str]) -> Iterator[str]:
    yield from unknown_keys(each, FIGURE)
    yield from source_mistakes(each)
    if ("value" in each) == ("values" in each):
        yield "give it a value, or values by status"
    elif "values" in each:
        yield from _by_status("values", each["values"], statuses, is_number, "a number")
    elif not is_number(each["value"]):
        yield f"value must be a number, not {shown(each['value'])}"


def _schedule_mistakes(each: Mapping[str, Any], statuses: list[str]) -> Iterator[str]:
    yield from unknown_keys(each, SCHEDULE)
    yield from source_mistakes(each)
    rates = each.get("rates")
    if isinstance(rates, dict):
        expected = "a list of shares of 1: [0.10, 0.12]"
        mistakes = list(_by_status("rates", rates, statuses, _are_rates, expected))
        yield from mistakes
        if mistakes:
            return
        by_status = rates
    elif _are_rates(rates):
        by_status = dict.fromkeys(statuses, rates)
    else:
        yield "rates must be a list of shares of 1: [0.10, 0.12]"
        return
    edges = each.get("edges")
    if not isinstance(edges, dict):
        yield f"edges must name each status: {{ {statuses[0]} = ... }}"
        return
    for status in statuses:
        count = len(by_status[status]) - 1
        yield from _by_status(
            "edges",
            {key: edges[key] for key in edges if key == status},
            [status],
            functools.partial(are_edges, count=count),
            f"{count} rising numbers above zero, one fewer than there are rates",
        )
    yield from (f"edges: {shown(key)} is no status" for key in edges if key not in statuses)


def _are_rates(rates: object) -> bool:
    return isinstance(rates, list) and bool(rates) and all(map(is_share, rates))


def _by_status(
    what: str,
    values: object,
    statuses: list[str],
    is_right: Callable[[Any], bool],
    expected: str,
) -> Iterator[str]:
    if not isinstance(values, dict):
        yield f"{what} must name each status: {{ {statuses[0]} = ... }}"
        return
    for status in statuses:
        if status not in values:
            yield f"{what}: {status} is missing"
        elif not is_right(values[status]):
            yield f"{what}: {status} must be {expected}"
    for status in values:
        if status not in statuses:
            yield f"{what}: {shown(status)} is no status"


def _form_of(
    table: Mapping[str, Any], key: str, kind: type, expected: str
) -> Iterator[str]:
    entries = table.get(key, kind())
    inner = entries.values() if isinstance(entries, dict) else entries
    if not (isinstance(entries, kind) and all(isinstance(each, dict) for each in inner)):
        yield f"{key} must be {expected}"


def _entries(table: Mapping[str, Any], key: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield the tables under a key with their names; what is none is left."""
    entries = table.get(key)
    for name, each in entries.items() if isinstance(entries, dict) else ():
        if isinstance(each, dict):
            yield (name if _is_word(name) else repr(name)), each


def _is_word(value: object) -> bool:
    return is_text(value) and str(value).isprintable()

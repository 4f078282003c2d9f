"""Check a file of tax rules before anything is read from it: all mistakes, a line each."""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from beancount.core.amount import CURRENCY_RE

from offcut.reports.tax.due_dates import has_holidays
from offcut.reports.tax.form_schema import form_mistakes
from offcut.reports.tax.toml_checks import (
    are_edges,
    is_number,
    is_share,
    is_text,
    shown,
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
OPTIONAL = ("holidays", "form-title", "form-source", "defaults", "calculation")
TABLES = ("figures", "schedules")
LISTS = ("instalments", "form")
FIGURE = ("value", "values", "source", "from-memory")
SCHEDULE = ("rates", "edges", "source", "from-memory")
INSTALMENT = (
    *("label", "period-ends", "due", "annualise", "share"),
    *("source", "from-memory"),
)

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
        yield from _prefixed(f"figures.{name}", _figure_mistakes(each, statuses))
    for name, each in _entries(table, "schedules"):
        yield from _prefixed(f"schedules.{name}", _schedule_mistakes(each, statuses))
    yield from form_mistakes(table)
    for number, each in _entries(table, "instalments"):
        yield from _prefixed(f"instalments {number}", _instalment_mistakes(each))
    yield from _order_mistakes(table)


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
    yield from _source_mistakes(each)
    if ("value" in each) == ("values" in each):
        yield "give it a value, or values by status"
    elif "values" in each:
        yield from _by_status("values", each["values"], statuses, is_number, "a number")
    elif not is_number(each["value"]):
        yield f"value must be a number, not {shown(each['value'])}"


def _schedule_mistakes(each: Mapping[str, Any], statuses: list[str]) -> Iterator[str]:
    yield from unknown_keys(each, SCHEDULE)
    yield from _source_mistakes(each)
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


def _instalment_mistakes(each: Mapping[str, Any]) -> Iterator[str]:
    yield from unknown_keys(each, INSTALMENT)
    yield from _source_mistakes(each)
    if not isinstance(each.get("label", ""), str):
        yield "label must be text in quotes"
    if type(each.get("due")) is not datetime.date:
        yield "due must be a date: 2025-04-15"
    if type(each.get("period-ends", datetime.date.min)) is not datetime.date:
        yield "period-ends must be a date: 2025-03-31"
    annualise = each.get("annualise", 1)
    if not (is_number(annualise) and annualise > 0):
        yield f"annualise must be a number above zero, not {shown(annualise)}"
    if not is_share(each.get("share", 1)):
        yield f"share is a share of 1, not {shown(each['share'])}"


def _order_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what does not fit together in time, of the days that are days."""
    first, last = table.get("first-day"), table.get("last-day")
    if not (type(first) is type(last) is datetime.date):
        return
    if first > last:
        yield f"last-day {last} is before first-day {first}"
    latest: dict[str, datetime.date] = {}
    most: int | Decimal = 0
    for number, each in _entries(table, "instalments"):
        share = each.get("share", 1)
        if is_share(share) and share < most:
            yield (
                f"instalments {number}: share {share} is less than the one above; each is "
                "what is to be paid by then"
            )
        elif is_share(share):
            most = share
        for key in ("period-ends", "due"):
            day = each.get(key)
            if type(day) is not datetime.date:
                continue
            if key in latest and day <= latest[key]:
                yield f"instalments {number}: {key} {day} is not after the one above"
            if key == "period-ends" and not first <= day <= last:
                yield f"instalments {number}: {key} {day} is not within the year"
            latest[key] = day


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


def _source_mistakes(each: Mapping[str, Any]) -> Iterator[str]:
    if not is_text(each.get("source")):
        yield "source is missing; say where the figure stands"
    yield from _memory_mistakes(each)


def _memory_mistakes(each: Mapping[str, Any]) -> Iterator[str]:
    if not isinstance(each.get("from-memory", False), bool):
        yield f"from-memory must be true or false, not {shown(each['from-memory'])}"


def _form_of(
    table: Mapping[str, Any], key: str, kind: type, expected: str
) -> Iterator[str]:
    entries = table.get(key, kind())
    inner = entries.values() if isinstance(entries, dict) else entries
    if not (isinstance(entries, kind) and all(isinstance(each, dict) for each in inner)):
        yield f"{key} must be {expected}"


def _entries(
    table: Mapping[str, Any], key: str
) -> Iterator[tuple[str | int, Mapping[str, Any]]]:
    """Yield the tables under a key with their names or numbers; what is none is left."""
    entries = table.get(key)
    named: Iterable[tuple[str | int, Any]] = ()
    if key in TABLES and isinstance(entries, dict):
        named = entries.items()
    elif key in LISTS and isinstance(entries, list):
        named = enumerate(entries, 1)
    for name, each in named:
        if isinstance(each, dict):
            yield (name if _is_word(name) or isinstance(name, int) else repr(name)), each


def _is_word(value: object) -> bool:
    return is_text(value) and str(value).isprintable()


def _prefixed(where: str, mistakes: Iterable[str]) -> Iterator[str]:
    return (f"{where}: {each}" for each in mistakes)

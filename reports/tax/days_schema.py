"""Check the days of a file of tax rules: what is to be paid when, and the return."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from offcut.reports.tax.toml_checks import (
    is_number,
    is_share,
    prefixed,
    shown,
    source_mistakes,
    unknown_keys,
)

RETURN = ("due", "source", "from-memory")
INSTALMENT = (
    *("label", "period-ends", "due", "annualise", "share"),
    *("source", "from-memory"),
)


def day_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with the instalments, the return, and their order in time.

    Args:
      table: The file's TOML, numbers as Decimals.
    """
    yield from _return_mistakes(table)
    for number, each in _instalments(table):
        yield from prefixed(f"instalments {number}", _instalment_mistakes(each))
    yield from _order_mistakes(table)


def _instalments(table: Mapping[str, Any]) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Yield the tables of instalments with their numbers; what is none is left."""
    entries = table.get("instalments")
    for number, each in enumerate(entries if isinstance(entries, list) else (), 1):
        if isinstance(each, dict):
            yield number, each


def _instalment_mistakes(each: Mapping[str, Any]) -> Iterator[str]:
    yield from unknown_keys(each, INSTALMENT)
    yield from source_mistakes(each)
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


def _return_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    if "return" not in table:
        return
    each, last = table["return"], table.get("last-day")
    if not isinstance(each, dict):
        yield "return must be a table: [return]"
        return
    due = each.get("due")
    yield from prefixed("return", unknown_keys(each, RETURN))
    yield from prefixed("return", source_mistakes(each))
    if type(due) is not datetime.date:
        yield "return: due must be a date: 2026-04-15"
    elif type(last) is datetime.date and due <= last:
        yield f"return: due {due} is before the year is over"


def _order_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what does not fit together in time, of the days that are days."""
    first, last = table.get("first-day"), table.get("last-day")
    if not (type(first) is type(last) is datetime.date):
        return
    if first > last:
        yield f"last-day {last} is before first-day {first}"
    latest: dict[str, datetime.date] = {}
    most: int | Decimal = 0
    for number, each in _instalments(table):
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

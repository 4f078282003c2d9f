"""Choose the locale that says which marks the numbers of an unknown file have."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.evidence import LOCALES, Column, numbers
from offcut.importers.values import minor_unit


def likely_locale(draft: Draft) -> str:
    """Return the locale by which the most columns of numbers can be read.

    Of several, one by which amounts are of whole minor units; of these the most usual.
    """
    if "forms.locale" in draft.answers:
        return draft.answers["forms.locale"]
    marked = [
        column
        for column in draft.columns
        if column.is_number and any(not value.isdigit() for value in column.values)
    ]
    counts = Counter(locale for column in marked for locale in column.locales)
    best = [each for each in LOCALES if counts[each] == max(counts.values(), default=0)]
    whole = [
        locale
        for locale in best
        if all(
            _whole(draft, numbers(each, locale))
            for each in marked
            if locale in each.locales
        )
    ]
    return (whole or best)[0]


def say_locale(draft: Draft, locale: str) -> None:
    """Say the locale; where another reads the columns in use otherwise, ask."""
    by_header = {column.header: column for column in draft.columns}
    used = [
        (key, column)
        for key, header in draft.table["columns"].items()
        for column in [by_header[each] for each in _several(header)]
        if column.is_number
        and column.at in draft.roles
        and key not in ("order", "id", "text")
    ]
    alike: dict[str, Column] = {}
    for other in used[0][1].locales if used else ():
        if other == locale or not all(other in column.locales for _, column in used):
            continue
        for key, column in used:
            read = numbers(column, other)
            if key not in ("quantity", "unit-price") and not _whole(draft, read):
                break
            if read != numbers(column, locale):
                alike.setdefault(other, column)
        else:
            continue
        alike.pop(other, None)
    marks = {char for _, column in used for value in column.values for char in value} & set(
        ".,' \u2019\xa0\u202f"
    )
    why = "the one that reads every number" if marks else "no number has a mark"
    if alike:
        example, column = next(iter(alike.items()))
        at = next(
            at
            for at, cell in enumerate(column.cells)
            if numbers(column, locale)[at] != numbers(column, example)[at]
        )
        choices = [
            Choice(each, f"{column.cells[at]} is {numbers(column, each)[at]:f}")
            for each in (locale, *alike)
        ]
        locale = draft.ask("forms.locale", "Which marks have the numbers?", choices)
        why = "as answered"
    draft.put("forms.locale", locale, why)


def _whole(draft: Draft, read: Sequence[Decimal | None]) -> bool:
    """Return whether amounts are of whole minor units of a currency of the file."""
    units = [minor_unit(each) for each in _several(draft.table["currency"])]
    return all(each is None or each % min(units) == 0 for each in read)


def _several(value: str | Sequence[str]) -> Sequence[str]:
    return [value] if isinstance(value, str) else value

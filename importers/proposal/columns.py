"""Choose the columns that are no amounts: date, order, texts, id."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.evidence import Column, readings
from offcut.importers.proposal.form import shaped
from offcut.importers.proposal.trade_words import heading_score

_ORDER_NUMBER = re.compile(
    r"#[0-9]{1,8}|#?[A-Za-z]{1,4}[-/]?[0-9]{2,8}|[0-9]{4,8}|[0-9]{2,8}-[0-9]{1,8}"
)
# No file is of so many years, which another order of day, month and year would make it.
_YEARS_AT_MOST = 10
_TEXT_LENGTH = 7
_CODE = re.compile(r"(?=.*[0-9])[^\s]{5,}")


def best_named(columns: Iterable[Column], key: str, least: int = 2) -> list[Column]:
    """Return the columns whose heading names a key best, if well enough."""
    scores = [(heading_score(column.words, key), column) for column in columns]
    best = max([score for score, _ in scores], default=0)
    return [column for score, column in scores if score == best and best >= least]


def take_date(draft: Draft) -> None:
    """Choose the column of the date, and its form.

    Raises:
      ImportRefused: No column has a date in every row.
    """
    dates = [column for column in draft.left if column.is_date and column.full]
    if not dates:
        message = (
            "expected a column with a date in every row, such as 2025-03-31 or 31.03.2025, "
            f"found {_other_than_dates(draft)}; export the file with its dates"
        )
        raise ImportRefused([Problem(draft.sample.name, None, None, message)])
    plain = [each for each in dates if heading_score(each.words, "date") == 3]
    others = [each for each in dates if not heading_score(each.words, "other-date")]
    chosen = dates[0]
    if len(dates) > 1:
        likely = plain or others or dates
        if len(likely) > 1 or not plain:
            question = "Which column has the day to book a row on?"
            rest = [each for each in dates if each not in likely]
            chosen = draft.choose("date", question, [*likely, *rest]) or likely[0]
        else:
            chosen = likely[0]
    draft.take("date", chosen, "every cell is a date")
    _take_form(draft, chosen)


def _other_than_dates(draft: Draft) -> str:
    """Return the first cell that is no date in a column of dates; "none" without one."""
    for column in draft.left:
        shapes = [shaped(cell) == "date" for cell in column.cells]
        if sum(shapes) * 2 >= len(shapes) and not all(shapes):
            cell = column.cells[shapes.index(False)]
            found = quoted(cell) if cell else "a blank cell"
            return f"{found} in {quoted(column.header)}"
    return "none"


def _take_form(draft: Draft, column: Column) -> None:
    """Say the form of the dates; where the order of day and month is not told, ask."""
    alike: dict[str, list[str]] = {}
    for form in _within_years(column):
        alike.setdefault(form.replace("%B", "%b").replace("%A", "%a"), []).append(form)
    why = "the only form that reads every date"
    chosen = next(iter(alike))
    if len(alike) > 1:
        read = readings(column)
        firsts = [forms[0] for forms in alike.values()]
        differ = (
            at for at in range(len(column.values)) if len({read[f][at] for f in firsts}) > 1
        )
        at = next(differ, 0)
        choices = [
            Choice(form, f"{column.values[at]} is {read[form][at]:%-d %B %Y}")
            for form in firsts
        ]
        question = f"Every date in {column.header} reads in several ways. Which is right?"
        answer = draft.ask("forms.date", question, choices)
        chosen = answer.replace("%B", "%b").replace("%A", "%a")
        why = "as answered"
    forms = alike.get(chosen, [chosen])
    draft.put("forms.date", forms[0] if len(forms) == 1 else forms, why)


def _within_years(column: Column) -> list[str]:
    """Return the forms without those that scatter the dates over the decades."""
    if len(column.dates) == 1:
        return list(column.dates)
    spans = {}
    for form, days in readings(column).items():
        years = [day.year for day in days]
        spans[form] = max(years) - min(years)
    least = min(spans.values())
    return [form for form, span in spans.items() if span <= _YEARS_AT_MOST or span == least]


def take_order(draft: Draft, needed: bool) -> None:
    """Choose the column of the order's number."""
    found = best_named(_texts(draft, _could_be_order), "order")
    if len(found) == 1:
        draft.take("order", found[0], "its heading, and cells such as order numbers")
        return
    question = "Which column has the order's number?"
    if found:
        column = draft.choose("order", question, found, "" if needed else "none of them")
    else:
        alike = like_orders(draft)
        if not alike:
            return
        column = draft.choose("order", question, alike, "" if needed else "none of them")
    if column:
        draft.take("order", column, "as answered")


def like_orders(draft: Draft) -> list[Column]:
    """Return the columns whose cells look like the numbers of orders."""
    other = ("id", "item", "text", "quantity")
    return [
        each
        for each in _texts(draft, _could_be_order)
        if _share(each, _ORDER_NUMBER) > 0.9
        and not any(heading_score(each.words, key) for key in other)
    ]


def take_id(draft: Draft) -> None:
    """Choose the column that tells every row from the others."""
    unique = _texts(draft, lambda each: each.unique and not _is_amount(each))
    found = best_named(unique, "id")
    why = "its heading, and no cell is like another"
    if not found and draft.sample.has_header:
        found = [
            each
            for each in unique
            if _share(each, _CODE) == 1
            and not each.is_number
            and len(each.values) > 2
            and not any(heading_score(each.words, key) for key in ("text", "payee", "item"))
        ]
        why = "no cell is like another, and each is a code"
    if len(found) > 1:
        question = (
            "Several columns are different in every row. Which one names it for good?"
        )
        column = draft.choose("id", question, found, "none: go by all cells of a row")
        if column:
            draft.take("id", column, "as answered")
    elif found:
        draft.take("id", found[0], why)


def take_text(draft: Draft, key: str, question: str, needed: bool = False) -> None:
    """Choose the column of a text by its heading; where it is needed, by its cells.

    Args:
      draft: The layout.
      key: The key of the column: "text", "payee", "item", "coupon".
      question: What to ask where several may be it.
      needed: Whether the layout is none without it.
    """
    columns = _texts(draft, lambda each: not each.is_number and each.filled > 0)
    found = best_named(columns, key)
    if len(found) == 1:
        draft.take(key, found[0], "its heading, and texts in its cells")
        return
    if not found and needed:
        found = [each for each in columns if each.full] or columns
        found.sort(key=_length, reverse=True)
    if not found and key == "text":
        # A text without a known heading may be anything: the user has to say.
        found = [each for each in columns if _length(each) >= _TEXT_LENGTH]
    if found:
        column = draft.choose(key, question, found, "" if needed else "none of them")
        if column:
            draft.take(key, column, "as answered")


def _texts(draft: Draft, fits: Callable[[Column], bool]) -> list[Column]:
    return [column for column in draft.left if not column.is_date and fits(column)]


def _could_be_order(column: Column) -> bool:
    return bool(column.filled) and not _is_amount(column)


def _is_amount(column: Column) -> bool:
    """Return whether a column has numbers that are not plain digits."""
    return column.is_number and not all(value.isdigit() for value in column.values)


def _length(column: Column) -> float:
    """Return the mean length of a column's different texts."""
    return sum(map(len, column.values)) / max(1, len(column.values))


def _share(column: Column, pattern: re.Pattern[str]) -> float:
    """Return the share of a column's different cells that a pattern matches."""
    fitting = sum(pattern.fullmatch(value) is not None for value in column.values)
    return fitting / max(1, len(column.values))

"""Choose the column of the date, its form, and the language of the names in it."""

from __future__ import annotations

from babel import Locale

from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.proposal.draft import Choice, Draft
from offcut.importers.proposal.evidence import Column, readings
from offcut.importers.proposal.form import shaped
from offcut.importers.proposal.trade_words import heading_score

# No file is of so many years, which another order of day, month and year would make it.
_YEARS_AT_MOST = 10
_LANGUAGES_AT_MOST = 8


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
        if all(shapes) and not column.is_date:
            return f"{quoted(column.cells[0])} in {quoted(column.header)}"
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
    if column.date_locales:
        _take_language(draft, column)


def _take_language(draft: Draft, column: Column) -> None:
    """Say the language of the names in dates; where several read all of them, ask."""
    locales = column.date_locales[:_LANGUAGES_AT_MOST]
    read = {each: next(iter(readings(column, each).values())) for each in locales}
    places = range(len(column.values))
    differ = (at for at in places if len({read[each][at] for each in locales}) > 1)
    at = next(differ, 0)
    chosen, why = locales[0], "the language that has these names of months"
    if len(locales) > 1:
        question = f"In which language are the names of the months in {column.header}?"
        choices = [
            Choice(
                each,
                f"{Locale.parse(each).english_name}: {column.values[at]} is "
                f"{read[each][at]:%-d %B %Y}",
            )
            for each in locales
        ]
        chosen, why = draft.ask("forms.date-locale", question, choices), "as answered"
    draft.put("forms.date-locale", chosen, why)


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

"""Find the forms in which cells are dates."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache
from typing import NamedTuple

from offcut.importers.date_names import day_names, month_names
from offcut.importers.proposal.month_languages import (
    different,
    forms_as_written,
    has_name,
    locales_of,
)
from offcut.importers.values import date_reader

LONGEST = 40

_TIME = re.compile(
    r"(?P<between>T| |, )(?P<hour>[0-9]{1,2}):[0-9]{2}(?P<seconds>:[0-9]{2})?"
    r"(?P<part>\.[0-9]{1,6})?(?P<half> ?[AaPp][Mm])?"
    r"(?P<zone> ?(?:Z|[+-][0-9]{2}:?[0-9]{2}))?"
)
_DAYS = (
    (r"[0-9]{4}([-/.])[0-9]{1,2}\1[0-9]{1,2}", ("%Y{0}%m{0}%d",)),
    (r"[0-9]{8}", ("%Y%m%d", "%d%m%Y", "%m%d%Y")),
    # With full stops the day is the first: no locale of the CLDR has it otherwise.
    (r"[0-9]{1,2}\.( ?)[0-9]{1,2}\.\1[0-9]{4}", ("%d.{0}%m.{0}%Y",)),
    (r"[0-9]{4}\. [0-9]{1,2}\. [0-9]{1,2}\.", ("%Y. %m. %d.",)),
    (r"[0-9]{1,2}\.[0-9]{1,2}\.[0-9]{2}", ("%d.%m.%y", "%y.%m.%d")),
    (r"[0-9]{1,2}([-/])[0-9]{1,2}\1[0-9]{4}", ("%d{0}%m{0}%Y", "%m{0}%d{0}%Y")),
    (
        r"[0-9]{1,2}([-/])[0-9]{1,2}\1[0-9]{2}",
        ("%d{0}%m{0}%y", "%m{0}%d{0}%y", "%y{0}%m{0}%d"),
    ),
    (
        r"[0-9]{1,2}([- ])[^\W\d_]+\1[0-9]{4}",
        ("%d{0}%b{0}%Y", "%d{0}%B{0}%Y"),
    ),
    (
        r"[0-9]{1,2}([- ])[^\W\d_]+\1[0-9]{2}",
        ("%d{0}%b{0}%y", "%d{0}%B{0}%y"),
    ),
    (r"[^\W\d_]+( )[0-9]{1,2}, [0-9]{4}", ("%b %d, %Y", "%B %d, %Y")),
    (r"[^\W\d_]+( )[0-9]{1,2} [0-9]{4}", ("%b %d %Y", "%B %d %Y")),
    (r"[0-9]{4}年[0-9]{1,2}月[0-9]{1,2}日", ("%Y年%m月%d日",)),
    (r"[0-9]{4}년( ?)[0-9]{1,2}월\1[0-9]{1,2}일", ("%Y년{0}%m월{0}%d일",)),
)

# What may be a date with a name in it: day or year, words, day or year.
_LIKELY = re.compile(
    r"(?:[^\W\d]\D{1,24}[0-9]{1,2}\D{1,4}[0-9]{4}"
    r"|(?:\S{2,14} )?[0-9]{1,4}\D{3,24}[0-9]{1,4})"
    r"(?:\D{0,6}|.[0-9]{1,2}:.*)"
)
# Marks and short words, as in "31 de marzo de 2025" and "2025 m. kovo 31 d.".
_BETWEEN = r"((?:[^\w%]|del|[^\W\d_A-Z]{1,2}\b){0,6}?)"
_NAMED = (
    # A day or year has the name of a month beside it, which M stands for.
    (rf"[0-9]{{1,2}}{_BETWEEN}M{_BETWEEN}[0-9]{{4}}{_BETWEEN}", "%d{}%b{}%Y{}"),
    (rf"[0-9]{{1,2}}{_BETWEEN}M{_BETWEEN}[0-9]{{2}}{_BETWEEN}", "%d{}%b{}%y{}"),
    (rf"M{_BETWEEN}[0-9]{{1,2}}{_BETWEEN}[0-9]{{4}}{_BETWEEN}", "%b{}%d{}%Y{}"),
    (rf"[0-9]{{4}}{_BETWEEN}M{_BETWEEN}[0-9]{{1,2}}{_BETWEEN}", "%Y{}%b{}%d{}"),
)
_MONTH = "M"


class DateForms(NamedTuple):
    """The forms in which all cells of a column are dates.

    Attributes:
      forms: The forms, as `strptime` takes them; none where the cells are no dates.
      locales: The locales that the names in the dates may be of; none where they have no
        names, or English ones.
    """

    forms: tuple[str, ...] = ()
    locales: tuple[str, ...] = ()


def date_forms(values: Sequence[str]) -> DateForms:
    """Return the forms in which all values are dates of our time."""
    left = _forms_of(values[0]) if values else ()
    for shape in {re.sub("[0-9]", "1", value) for value in values}:
        left = tuple(form for form in left if form in _forms_of(shape))
    left = tuple(form for form in left if _are_days(values, form))
    return DateForms(left) if left or not values else _named_forms(values)


def has_month(text: str) -> bool:
    """Return whether a text has the shape of a date and a month's name in any language."""
    if len(text) > LONGEST or not _LIKELY.fullmatch(text):
        return False
    return has_name(text)


@cache
def _forms_of(value: str) -> tuple[str, ...]:
    """Return the forms that a text has the shape of."""
    if len(value) > LONGEST:
        return ()
    day, clock = _without_time(value)
    weekday = re.match(r"[^\W\d_]{2,3}, |[^\W\d_]{6,9}, ", day)
    before = ""
    if weekday:
        before = "%a, " if weekday.end() <= 5 else "%A, "
        day = day[weekday.end() :]
    return tuple(
        before + form.format(match[1] if match.lastindex else "") + clock
        for pattern, forms in _DAYS
        if (match := re.fullmatch(pattern, day))
        for form in forms
    )


def _without_time(value: str) -> tuple[str, str]:
    """Return a text without the time at its end, and the form of that."""
    time = _TIME.search(value)
    if not time or time.end() != len(value):
        return value, ""
    half = time["half"] or ""
    clock = time["between"] + ("%I" if half else "%H") + ":%M"
    clock += ":%S" if time["seconds"] else ""
    clock += ".%f" if time["part"] else ""
    clock += half[:-2] + "%p" if half else ""
    zone = time["zone"] or ""
    clock += (" " if zone.startswith(" ") else "") + "%z" if zone else ""
    return value[: time.start()], clock


def _are_days(values: Iterable[str], form: str, locale: str = "") -> bool:
    """Return whether all values are dates of our time in a form."""
    read = date_reader([form], locale)
    try:
        return all(1990 <= read(value).year <= 2089 for value in values)
    except ValueError:
        return False


def _named_forms(values: Sequence[str]) -> DateForms:
    """Return the form in which all values are dates in one or several languages."""
    shapes = {re.sub("[0-9]", "1", value) for value in values}
    if not all(map(has_month, shapes)):
        return DateForms()
    found: dict[str, list[str]] = {}
    for locale in locales_of(shapes):
        forms = {_form_in(shape, locale) for shape in shapes}
        form = forms.pop()
        if form and not forms and _are_days(values, form, locale):
            found.setdefault(form, []).append(locale)
    if not found:
        return DateForms()
    form = max(found, key=lambda each: len(found[each]))
    locales = tuple(different(_likely(found[form], form, values)))
    # As with dates that `strptime` reads, English is not asked about.
    return DateForms((form,), locales[:1] if locales[0].startswith("en") else locales)


def _form_in(value: str, locale: str) -> str:
    """Return the form of a date whose names are of a locale; empty where it has none."""
    day, clock = _without_time(value.lower())
    weekday = re.match(rf"(?:{_pattern(day_names(locale))})\.?(,? )(?=[0-9])", day)
    rest = [("", day)]
    if weekday:  # or the first name is that of a month, as "mar" is both in Italian
        rest.insert(0, (f"%a{weekday[1]}", day[weekday.end() :]))
    for before, text in rest:
        text = _replaced(text, month_names(locale), _MONTH)
        if _replaced(text, month_names(locale), "") != text:
            continue
        for pattern, form in _NAMED:
            if match := re.fullmatch(pattern, text):
                return before + form.format(*match.groups()) + clock
    return ""


def _replaced(text: str, names: Iterable[str], letter: str) -> str:
    """Return a text with a letter in place of the first of the names in it.

    The full stop of a short name goes with it, but not one that parts it from a number.
    """
    pattern = rf"(?<![^\W\d_])(?:{_pattern(names)})(?![^\W\d_])(?:\.(?![0-9]))?"
    return re.sub(pattern, letter, text, count=1)


def _pattern(names: Iterable[str]) -> str:
    bare = {name.rstrip(".") for name in names}
    return "|".join(map(re.escape, sorted(bare, key=len, reverse=True)))


def _likely(locales: Sequence[str], form: str, values: Iterable[str]) -> list[str]:
    """Return the locales without those that write dates in another form themselves.

    One that reads another date than they do stays, as it may be right.
    """
    usual = [each for each in locales if _usual_form(form) in forms_as_written(each)]
    if not usual:
        return list(locales)
    reads = {each: list(map(date_reader([form], each), values)) for each in locales}
    return [each for each in locales if each in usual or reads[each] != reads[usual[0]]]


def _usual_form(form: str) -> str:
    """Return a form as `_forms_as_written` has it, without weekday and time."""
    return re.sub("^%a,? | %H.*", "", form).replace("%y", "%Y")

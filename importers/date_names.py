"""Read the names of months and days that stand in dates, in the languages of the CLDR.

`strptime` knows the English names. In another language each name is put into English
first, wherever the form of the date has one.
"""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from functools import cache

from babel import Locale

_ENGLISH = {
    "b": (
        "Jan",
        "Feb",
        "Mar",
        "Apr",
        "May",
        "Jun",
        "Jul",
        "Aug",
        "Sep",
        "Oct",
        "Nov",
        "Dec",
    ),
    "a": ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
}
_DIRECTIVE = re.compile(r"%(.)|(\s+)|([^%\s]+)")
_NUMBERS = frozenset("dmyYHIMSfj")
_LONGEST = 80


def has_names(form: str) -> bool:
    """Return whether a form, as `strptime` takes it, has a month or day by its name."""
    return any(match[1] in ("a", "A", "b", "B") for match in _DIRECTIVE.finditer(form))


def english_form(form: str) -> str:
    """Return a form for dates whose names are put into English, all of them short."""
    return re.sub("%(.)", lambda each: each[0].replace("A", "a").replace("B", "b"), form)


def into_english(form: str, locale: str) -> Callable[[str], str]:
    """Return a function that puts the names in a date into English.

    It raises ValueError for what has not the form. What is between the names is left to
    `strptime`, to which this is the way.

    Args:
      form: The form of the dates, as `strptime` takes it.
      locale: The CLDR locale of the names.
    """
    pattern, names = "", []
    for directive, blanks, text in _DIRECTIVE.findall(form):
        if directive.lower() in _ENGLISH:
            names.append(_table(directive.lower(), locale))
            pattern += f"({'|'.join(map(re.escape, names[-1]))})"
        elif directive:
            pattern += "[0-9]+" if directive in _NUMBERS else r"\S+?"
        else:
            pattern += r"\s+" if blanks else re.escape(text.lower())
    fits = re.compile(pattern)

    def read(cell: str) -> str:
        text = _folded(cell) if len(cell) <= _LONGEST else ""
        match = fits.fullmatch(text)
        if not match:
            raise ValueError
        for number in range(len(names), 0, -1):
            english = names[number - 1][match[number]]
            text = text[: match.start(number)] + english + text[match.end(number) :]
        return text

    return read


def date_in(form: str, locale: str, day: datetime.date) -> str:
    """Return a day as a form writes it, with the names of a locale, for an example."""
    place = {"b": day.month - 1, "a": day.weekday()}

    def name(match: re.Match[str]) -> str:
        kind = (match[1] or "").lower()
        return _names(kind, locale, match[1])[place[kind]] if kind in place else match[0]

    return day.strftime(_DIRECTIVE.sub(name, form))


@cache
def month_names(locale: str) -> Mapping[str, int]:
    """Return the months of a locale by what they are called, in small letters.

    They are called by their wide and their abbreviated names, as they stand in a date and
    by themselves, with a full stop and without one.
    """
    table = _table("b", locale)
    return {name: _ENGLISH["b"].index(english) + 1 for name, english in table.items()}


@cache
def day_names(locale: str) -> frozenset[str]:
    """Return what the days of the week are called in a locale, as `month_names`."""
    return frozenset(_table("a", locale))


@cache
def _table(kind: str, locale: str) -> Mapping[str, str]:
    """Return the English names by the locale's, the longest first.

    A name that stands for two is none.
    """
    found: dict[str, set[str]] = {}
    for directive in (kind, kind.upper()):
        for context in ("format", "stand-alone"):
            names = _names(kind, locale, directive, context)
            for name, english in zip(names, _ENGLISH[kind], strict=True):
                for spelling in _spellings(name):
                    found.setdefault(spelling, set()).add(english)
    single = {name: min(english) for name, english in found.items() if len(english) == 1}
    return dict(sorted(single.items(), key=lambda each: -len(each[0])))


def _names(kind: str, locale: str, directive: str, context: str = "format") -> list[str]:
    """Return the names of the months, or of the days, in their order."""
    parsed = Locale.parse(locale)
    width = "abbreviated" if directive == kind else "wide"
    by_number = (parsed.months if kind == "b" else parsed.days)[context][width]
    return [str(by_number[number]) for number in sorted(by_number)]


def _spellings(name: str) -> Iterable[str]:
    """Return how a name is spelled: with a full stop, without, and from large letters."""
    bare = name.rstrip(".")
    if bare:
        for spelling in (bare, f"{bare}."):
            yield _folded(spelling)
            yield _folded(spelling.upper())  # which an i without a dot does not outlast


def _folded(text: str) -> str:
    """Return a text in small letters, each letter spelled as one character."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).lower())

"""Tell the languages that the names of months in dates may be of (CLDR)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache

from babel import Locale, localedata
from babel.core import get_global
from babel.languages import get_official_languages

from offcut.importers.date_names import month_names

# In the order in which they are offered; the others follow by their codes.
_USUAL = ("en", "de", "fr", "es", "it", "nl", "pt", "sv", "da", "nb", "pl")


def has_name(text: str) -> bool:
    """Return whether a month's name in any language is among the words of a text."""
    return not _words(text).isdisjoint(_locales_of_words())


def locales_of(values: Iterable[str]) -> list[str]:
    """Return a locale of each language with a month's name in each value, usual ones first.

    A country's own words count only where those of the language alone do not.
    """
    index = _locales_of_words()
    named = [
        set().union(*(index.get(word, ()) for word in _words(value))) for value in values
    ]
    languages: dict[str, str] = {}
    for locale in sorted(set.intersection(*named)):  # the language alone is the first
        languages.setdefault(locale.partition("_")[0], locale)
    usual = {language: at for at, language in enumerate(_USUAL)}
    order = sorted(
        languages,
        key=lambda each: (usual.get(each, len(usual)), "_" in languages[each], each),
    )
    return [languages[each] for each in order]


@cache
def forms_as_written(locale: str) -> frozenset[str]:
    """Return the forms of dates with a month's name that a locale writes (CLDR)."""
    patterns = [each.pattern for each in Locale.parse(locale).date_formats.values()]
    found = set()
    for pattern in patterns:
        form = re.sub("E+,? ", "", pattern).replace("'", "").lower()
        for letters, directive in (
            ("[ml]{3,4}", "%b"),
            ("y+", "%Y"),
            ("d{1,2}(?!e)", "%d"),
        ):
            form = re.sub(letters, directive, form, count=1)
        found.add(form)
    return frozenset(found)


def different(locales: Iterable[str]) -> Iterator[str]:
    """Yield locales, each that has the names of another one left out."""
    seen = []
    for locale in locales:
        if (names := month_names(locale)) not in seen:
            seen.append(names)
            yield locale


def _words(text: str) -> set[str]:
    """Return the words of a text, alone and with those beside them, as names have them."""
    found = set()
    for part in re.split(r"[0-9,/-]+|\.(?=[0-9])", text.lower()):
        words = part.split()
        for begin in range(len(words)):
            for end in range(begin + 1, len(words) + 1):
                found.add(" ".join(words[begin:end]).strip("."))
    return found


@cache
def _locales_of_words() -> dict[str, set[str]]:
    """Return the locales that have the name of a month, by the name without full stop.

    They are those of the languages that a country has for its official ones.
    """
    territories = get_global("territory_languages")
    official = {each for place in territories for each in get_official_languages(place)}
    found: dict[str, set[str]] = {}
    for locale in localedata.locale_identifiers():
        if locale.partition("_")[0] in official or locale in official:
            for name in month_names(locale):
                found.setdefault(name.rstrip("."), set()).add(locale)
    return found

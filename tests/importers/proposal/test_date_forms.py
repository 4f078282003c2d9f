"""The forms of dates, and the languages of the names in them, are told by the cells.

Dates are written by Babel's `format_date`, from the data of the Unicode CLDR.
"""

from __future__ import annotations

import datetime

import pytest
from babel.dates import format_date

from offcut.importers.proposal.date_forms import date_forms, has_month
from offcut.importers.values import date_reader

YEAR = [datetime.date(2025, month, month + 10) for month in range(1, 13)]
LANGUAGES = (
    *("de", "fr", "es", "it", "nl", "pt", "sv", "da", "nb", "pl", "fi", "cs", "hr", "hu"),
    *("ro", "tr", "lt", "el", "ru", "uk", "is", "id", "et", "sl"),
)
PATTERNS = ("d MMM y", "d. MMMM y", "d-MMM-yy", "EEEE d MMMM y", "MMMM d, y", "y. MMMM d.")


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_year_of_dates_is_read_in_its_language(language: str, pattern: str) -> None:
    cells = [format_date(day, pattern, language) for day in YEAR]

    found = date_forms(cells)

    (form,) = found.forms
    # Languages may share all names that the cells have; what they read is the same.
    for locale in found.locales:
        assert list(map(date_reader([form], locale), cells)) == YEAR, locale


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_stands_in_a_file_as_the_language_writes_it_is_a_date(language: str) -> None:
    for form in ("medium", "long"):
        cells = [format_date(day, form, language) for day in YEAR]
        found = date_forms(cells)
        assert found.forms, cells
        for locale in found.locales or ("",):
            read = date_reader(found.forms, locale)
            assert [read(cell) for cell in cells] == YEAR


@pytest.mark.parametrize(
    ("cell", "languages"),
    [
        ("31. März 2025", {"de"}),
        ("31 mars 2025", {"fr", "sv"}),
        ("31. mars 2025", {"nb", "is"}),
        ("31/mars/2025", {"fr", "sv", "nb"}),
        ("31 de marzo de 2025", {"es"}),
        ("1 lis 2025", {"pl", "hr"}),  # November, October
        ("3 Jänner 2025", {"de_AT"}),
        ("31 Mar 2025", set()),  # `strptime` reads it
    ],
)
def test_languages_that_share_a_name_are_all_told(cell: str, languages: set[str]) -> None:
    found = date_forms([cell])
    assert found.forms
    assert languages <= set(found.locales), found
    assert bool(languages) == bool(found.locales)


@pytest.mark.parametrize(
    "cell",
    [
        *("12 heron prints 2025", "Mars bar 2025", "mars", "31 Mrz 2025", "2025 mars"),
        *("A 31 mars 2025", "31 mars 2025 x1", "31 mars mai 2025", "99 mars 2025", ""),
        "31 mars 2025" * 10,
    ],
)
def test_what_is_no_date_is_none(cell: str) -> None:
    assert date_forms([cell] if cell else []).forms == ()


def test_a_column_of_two_forms_or_languages_is_none() -> None:
    assert date_forms(["31 mars 2025", "31. mars 2025"]).forms == ()
    assert date_forms(["31 mars 2025", "30 juin 2025"]).locales == ("fr",)
    assert date_forms(["31 März 2025", "30 giugno 2025"]).forms == ()


def test_a_month_in_a_text_of_another_shape_is_no_date() -> None:
    assert has_month("31 mars 2025")
    assert not has_month("Rent for mars 2025 and 2026")
    assert not has_month("31 of 2025")

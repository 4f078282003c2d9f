"""Dates with the names of months and days of a language read back as the same days.

The outside source of the dates is Babel's `format_date`, which writes them by the data of
the Unicode CLDR; the importer reads the names of the same data, and nothing else of it.
"""

from __future__ import annotations

import datetime
import unicodedata

import pytest
from babel import Locale
from babel.dates import format_date
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.importers.date_names import month_names
from offcut.importers.importing import import_files
from offcut.importers.layout import layout_of
from offcut.importers.problems import ImportRefused
from offcut.importers.values import date_reader
from tests.importers.shop import Shop

LOCALES = (
    *("en", "en_GB", "de", "de_AT", "fr", "fr_CA", "es", "it", "nl", "pt", "pt_PT", "sv"),
    *("da", "nb", "fi", "pl", "cs", "sk", "hr", "sl", "hu", "ro", "bg", "el", "ru", "uk"),
    *("tr", "lt", "lv", "et", "is", "ca", "ga", "he", "ar", "fa", "hi", "th", "id", "vi"),
    *("ja", "ko", "zh", "zh_Hant"),
)
# A pattern of the CLDR (UTS 35), and the same form as a layout has it.
FORMS = (
    ("d MMM y", "%d %b %Y"),
    ("d. MMMM y", "%d. %B %Y"),
    ("d.MMM.yy", "%d.%b.%y"),
    ("d-LLL-y", "%d-%b-%Y"),
    ("LLLL d, y", "%B %d, %Y"),
    ("y MMMM dd.", "%Y %B %d."),
    ("EEE, d MMM y", "%a, %d %b %Y"),
    ("EEEE d 'de' MMMM 'de' y", "%A %d de %B de %Y"),
)
DAYS = st.dates(datetime.date(2000, 1, 1), datetime.date(2068, 12, 31))


@given(DAYS, st.sampled_from(LOCALES), st.sampled_from(FORMS), st.booleans())
def test_dates_as_cldr_writes_them_read_back(
    day: datetime.date, locale: str, form: tuple[str, str], capitals: bool
) -> None:
    pattern, ours = form
    cell = format_date(day, pattern, locale)

    assert date_reader([ours], locale)(cell.upper() if capitals else cell) == day


@given(DAYS, st.sampled_from(LOCALES))
@settings(max_examples=30)
def test_letters_that_are_made_of_two_read_as_one(day: datetime.date, locale: str) -> None:
    cell = unicodedata.normalize("NFD", format_date(day, "d MMMM y", locale))

    assert date_reader(["%d %B %Y"], locale)(cell) == day


@pytest.mark.parametrize("locale", LOCALES)
def test_every_name_of_the_cldr_is_known_with_a_full_stop_and_without(locale: str) -> None:
    names = month_names(locale)
    for context in ("format", "stand-alone"):
        for width in ("wide", "abbreviated"):
            for month, name in Locale.parse(locale).months[context][width].items():
                bare = unicodedata.normalize("NFC", name.lower().rstrip("."))
                assert {names[bare], names[f"{bare}."]} == {month}


@pytest.mark.parametrize(
    ("locale", "cell"),
    [
        ("de", "31 mars 2025"),  # French
        ("fr", "31 marz 2025"),
        ("pl", "31 listopad 2025"),  # November has no such day
        ("de", "31 März 25"),
        ("de", "März"),
        ("de", "31 März 2025 or so"),
        ("de", "31 Märzen 2025"),
        ("de", ""),
        ("de", "31 " * 100_000),
    ],
)
def test_what_is_no_such_date_is_not_guessed(locale: str, cell: str) -> None:
    with pytest.raises(ValueError, match=r"expected a date such as 31 [Mm]"):
        date_reader(["%d %b %Y"], locale)(cell)


def test_one_word_is_another_month_in_another_language() -> None:
    # CLDR: "lis" is short for listopad, which is November in Polish, October in Croatian.
    read = {each: date_reader(["%d %b %Y"], each)("1 lis 2025") for each in ("pl", "hr")}
    assert {each: day.month for each, day in read.items()} == {"pl": 11, "hr": 10}


def test_a_day_and_a_month_of_one_name_are_told_by_their_places() -> None:
    # CLDR, Italian: "mar" is Tuesday and March.
    read = date_reader(["%a %d %b %Y"], "it")
    assert read("mar 4 mar 2025") == datetime.date(2025, 3, 4)


def test_english_names_need_no_locale() -> None:
    assert date_reader(["%d %b %Y"])("31 Mar 2025") == datetime.date(2025, 3, 31)
    with pytest.raises(ValueError, match="such as 31 Mar 2025, found '31 März 2025'"):
        date_reader(["%d %b %Y"])("31 März 2025")


GERMAN = """\
kind = "payments"
source = "kasse"
channel = "Web"
currency = "EUR"
[columns]
date = "Datum"
gross = "Betrag"
[forms]
date = "%d. %b %Y"
date-locale = "de_DE"
locale = "de_DE"
[types]
default = "sale"
"""


def test_a_layout_says_the_language_of_its_dates(shop: Shop) -> None:
    own = shop.file("own.toml", GERMAN)
    rows = ("31. März 2025;4,00", "1. Apr. 2025;5,00", "2. DEZEMBER 2025;6,00")
    layout = GERMAN.replace("[columns]", '[file]\ndelimiter = ";"\n[columns]')
    own.write_text(layout, "utf-8")

    import_files([shop.file("k.csv", "Datum;Betrag", *rows)], shop.ledger, [str(own)])
    assert sorted(str(each.date) for each in shop.transactions()) == [
        *("2025-03-31", "2025-04-01", "2025-12-02"),
    ]
    wrong = shop.file("w.csv", "Datum;Betrag", "31. Mrz 2025;4,00")
    (line,) = shop.refused(wrong, layouts=[str(own)])
    assert line == (
        "w.csv: row 2, column Datum: expected a date such as 31. März 2025, found '31. Mrz "
        "2025'; correct the row or the layout's [forms] date-locale, nothing was imported"
    )


def test_an_unknown_locale_is_refused() -> None:
    table = {
        "kind": "bank",
        "source": "b",
        "currency": "EUR",
        "columns": {"date": "D", "gross": "G"},
        "forms": {"date-locale": "xx_XX"},
    }
    with pytest.raises(ImportRefused, match="date-locale: expected a locale such as"):
        layout_of("b", table, "b.toml")

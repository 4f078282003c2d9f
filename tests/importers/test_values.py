"""Cells become dates, numbers, amounts and texts of one line."""

from __future__ import annotations

import datetime
import unicodedata
from decimal import Decimal

import pytest
from babel.numbers import format_decimal, get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers import values


@pytest.mark.parametrize(
    ("locale", "cell", "number"),
    [
        ("en_US", "4", "4"),
        ("en_US", "-1,234.50", "-1234.50"),
        ("en_US", "+.5", "0.5"),
        ("en_US", "12.", "12"),
        ("en_US", "1,234,567.891", "1234567.891"),
        ("en_US", "\N{MINUS SIGN}4.00", "-4.00"),
        ("en_IN", "12,34,567.00", "1234567.00"),
        ("de_DE", "1.234,50", "1234.50"),
        ("de_DE", "1.234", "1234"),
        ("fr_FR", "1 234,50", "1234.50"),
        ("fr_FR", "1\N{NO-BREAK SPACE}234,50", "1234.50"),
        ("fr_FR", "1\N{NARROW NO-BREAK SPACE}234,50", "1234.50"),
        ("de_CH", "1'234.50", "1234.50"),
        ("de_CH", "1\N{RIGHT SINGLE QUOTATION MARK}234.50", "1234.50"),
    ],
)
def test_numbers_with_the_marks_of_a_locale(locale: str, cell: str, number: str) -> None:
    assert values.number_reader(locale)(cell) == Decimal(number)


@pytest.mark.parametrize(
    ("locale", "cell"),
    [
        *(("en_US", cell) for cell in ("", "abc", "1,50", "1.234,50", "1e5", "NaN", "inf")),
        *(
            ("en_US", cell)
            for cell in ("1_000", "--4", "4-", "(4.00)", "$4", "4 5", "0x10")
        ),
        ("en_US", "12,34,567.00"),
        ("en_US", "1" * 19),
        ("de_DE", "4.00"),
        ("de_DE", "1,234.50"),
    ],
)
def test_what_is_no_number_is_not_guessed(locale: str, cell: str) -> None:
    with pytest.raises(
        ValueError, match=r"expected a number such as 1[.,]234[.,]50, found"
    ):
        values.number_reader(locale)(cell)


@given(st.decimals(-(10**9), 10**9, places=2), st.sampled_from(["en_US", "de_DE", "fr_FR"]))
def test_numbers_as_cldr_writes_them_read_back(number: Decimal, locale: str) -> None:
    cell = format_decimal(number, "#,##0.00", locale)
    assert values.number_reader(locale)(cell) == number


@pytest.mark.parametrize(
    ("currency", "unit"),
    [("USD", "0.01"), ("EUR", "0.01"), ("JPY", "1"), ("KWD", "0.001"), ("CLF", "0.0001")],
)
def test_minor_unit(currency: str, unit: str) -> None:
    # ISO 4217, table A.1 as published on 2024-06-25.
    assert values.minor_unit(currency) == Decimal(unit)


@pytest.mark.parametrize(
    "currency",
    [
        *("AFN", "ALL", "IRR", "KPW", "LAK", "LBP"),
        *("MGA", "MMK", "RSD", "SOS", "SYP", "YER"),
    ],
)
def test_minor_unit_is_isos_where_cldr_shows_no_digits(currency: str) -> None:
    # ISO 4217 stores hundredths of these (table A.1, 2024-06-25); CLDR shows none.
    assert get_currency_precision(currency) == 0
    assert values.minor_unit(currency) == Decimal("0.01")


@pytest.mark.parametrize(
    ("amount", "rounded"), [("0.125", "0.13"), ("-0.125", "-0.13"), ("0.1249", "0.12")]
)
def test_amounts_are_rounded_half_up(amount: str, rounded: str) -> None:
    assert values.rounded(Decimal(amount), "USD") == Decimal(rounded)


def test_first_form_that_reads_the_date() -> None:
    read = values.date_reader(["%d/%m/%Y", "%Y-%m-%d %H:%M"])

    assert read("03/04/2025") == datetime.date(2025, 4, 3)
    assert read("2025-04-03 23:59") == datetime.date(2025, 4, 3)
    with pytest.raises(
        ValueError, match="such as 31/03/2025 or 2025-03-31 00:00, found '4/'"
    ):
        read("4/")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("  two   words ", "two words"),
        ("a\r\nb\tc\x00d", "a b c d"),
        ("\u202eabc\u2066", "abc"),
        ("a\u2028b\u2029c\x85d", "a b c d"),
        ("نجمة 星 🦉\u200d🌙", "نجمة 星 🦉\u200d🌙"),
    ],
)
def test_texts_on_one_line(text: str, line: str) -> None:
    assert values.one_line(text) == line


@given(st.text())
def test_one_line_is_one_line_and_stays_so(text: str) -> None:
    line = values.one_line(text)

    assert len(line.splitlines()) <= 1
    assert not any(unicodedata.category(char) == "Cc" for char in line)
    assert values.one_line(line) == line

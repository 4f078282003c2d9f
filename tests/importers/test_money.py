"""Amounts as files write them read back exactly, or not at all."""

from __future__ import annotations

from decimal import Decimal

import pytest
from babel import Locale
from babel.numbers import format_currency, format_decimal
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers import money
from offcut.importers.values import minor_unit

# Point and comma, comma and point, blanks of both widths, apostrophe, lakhs; the minus
# before, after and as U+2212; the currency on both sides; marks of direction.
LOCALES = (
    *("en_US", "en_GB", "en_IN", "en_CA", "fr_CA", "de_DE", "de_AT", "de_CH", "fr_FR"),
    *("fr_CH", "sv_SE", "nb_NO", "da_DK", "nl_NL", "pl_PL", "pt_BR", "es_ES", "it_IT"),
    *("sl_SI", "lt_LT", "ja_JP", "he_IL", "hi_IN", "cs_CZ", "hu_HU", "tr_TR", "xh_ZA"),
)
CURRENCIES = ("USD", "EUR", "GBP", "CAD", "CHF", "SEK", "DKK", "PLN", "INR", "JPY", "KWD")


@pytest.mark.parametrize(
    ("cell", "amount"),
    [
        ("5", "5.00"),
        ("(5.00)", "-5.00"),
        ("( 1,005.00 )", "-1005.00"),
        ("5.00-", "-5.00"),
        ("5.00 -", "-5.00"),
        ("\N{EN DASH}5.00", "-5.00"),
        ("5.00+", "5.00"),
        ("$5.00", "5.00"),
        ("-$5.00", "-5.00"),
        ("$-5.00", "-5.00"),
        ("$ -5.00", "-5.00"),
        ("$5.00-", "-5.00"),
        ("($5.00)", "-5.00"),
        ("$(5.00)", "-5.00"),
        ("$.50", "0.50"),
        ("US$5.00", "5.00"),
        ("USD 5.00", "5.00"),
        ("5.00 usd", "5.00"),
        ("$1,234.50 USD", "1234.50"),
        ("\u200e-$5.00", "-5.00"),
    ],
)
def test_amounts_in_dollars(cell: str, amount: str) -> None:
    assert str(money.money_reader("en_US")(cell, "USD")) == amount


@pytest.mark.parametrize(
    ("locale", "cell", "currency", "amount"),
    [
        ("de_DE", "5,00 €", "EUR", "5.00"),
        ("de_DE", "1.234,50- EUR", "EUR", "-1234.50"),
        ("fr_FR", "1\N{NARROW NO-BREAK SPACE}234,50\N{NO-BREAK SPACE}€", "EUR", "1234.50"),
        ("fr_FR", "(1 234,50 €)", "EUR", "-1234.50"),
        ("de_CH", "CHF 1'234.50", "CHF", "1234.50"),
        ("de_CH", "CHF-1\N{RIGHT SINGLE QUOTATION MARK}234.50", "CHF", "-1234.50"),
        ("en_IN", "₹12,34,567.00", "INR", "1234567.00"),
        ("da_DK", "1.234,50 kr.", "DKK", "1234.50"),
        ("en_US", "1,234.50 kr", "SEK", "1234.50"),
        ("en_US", "$5.00", "CAD", "5.00"),  # the narrow symbol of the row's own currency
        ("en_US", "¥500", "JPY", "500"),
    ],
)
def test_amounts_in_the_currency_of_the_row(
    locale: str, cell: str, currency: str, amount: str
) -> None:
    assert str(money.money_reader(locale)(cell, currency)) == amount


@pytest.mark.parametrize(
    ("cell", "currency"),
    [
        ("€5.00", "USD"),
        ("$5.00", "EUR"),
        ("5.00 GBP", "USD"),
        ("HK$5.00", "USD"),
        ("A$5.00", "USD"),
        ("kr 5.00", "USD"),
    ],
)
def test_symbol_of_another_currency(cell: str, currency: str) -> None:
    with pytest.raises(
        ValueError, match=f"expected an amount in {currency}, found .*anoth"
    ):
        money.money_reader("en_US")(cell, currency)


@pytest.mark.parametrize(
    "cell",
    [
        *("", "-", "$", "()", "--5.00", "-(5.00)", "(-5.00)", "(5.00", "5.00)", "-5.00-"),
        *("$$5.00", "5.00 approx", "5 00", "5.00 5.00", "5.-", "1,23", "$1.234,50", "5$00"),
        *("5%", "1e5", "#5", "=5", "$12,34,567.00", "$" + "1" * 19),
    ],
)
def test_what_is_no_amount_is_not_guessed(cell: str) -> None:
    with pytest.raises(ValueError, match=r"expected a number such as 1,234\.50, found"):
        money.money_reader("en_US")(cell, "USD")


def test_amount_of_more_digits_than_the_currency_has() -> None:
    read = money.money_reader("en_US")

    assert read("4.00", "JPY") == 4
    assert str(read("4", "USD")) == "4.00"
    with pytest.raises(ValueError, match=r"whole units of 1 JPY, found '4\.50'"):
        read("4.50", "JPY")


def test_price_of_more_digits_than_the_currency_has() -> None:
    assert str(money.price_reader("en_US")("$0.0415", "USD")) == "0.0415"


# No more than the digits and marks that a number may have at most, which are 18.
amounts = st.integers(-(10**11), 10**11)


@given(amounts, st.sampled_from(LOCALES), st.sampled_from(CURRENCIES), st.booleans())
def test_amounts_as_cldr_writes_them_read_back(
    units: int, locale: str, currency: str, accounting: bool
) -> None:
    """Outside source: the CLDR's currency patterns and symbols, as Babel applies them.

    The CLDR's accounting pattern of en_IN parts thousands, its other ones lakhs: a layout
    has one grouping, so that pattern is left out.
    """
    accounting = accounting and locale != "en_IN"
    amount = units * minor_unit(currency)
    cell = format_currency(
        amount,
        currency,
        locale=locale,
        format_type="accounting" if accounting else "standard",
    )
    assert money.money_reader(locale)(cell, currency) == amount


@given(amounts, st.sampled_from(LOCALES), st.sampled_from(CURRENCIES))
def test_amounts_with_the_code_as_cldr_writes_them_read_back(
    units: int, locale: str, currency: str
) -> None:
    """Outside source: the CLDR's patterns, with U+00A4 doubled for the ISO code."""
    amount = units * minor_unit(currency)
    pattern = Locale.parse(locale).currency_formats["standard"].pattern.replace("¤", "¤¤")
    cell = format_currency(amount, currency, format=pattern, locale=locale)
    assert money.money_reader(locale)(cell, currency) == amount


@given(amounts, st.sampled_from(LOCALES), st.integers(0, 4))
def test_numbers_as_cldr_writes_them_read_back(
    units: int, locale: str, places: int
) -> None:
    """Outside source: the CLDR's decimal patterns, as Babel applies them."""
    number = Decimal(units).scaleb(-places)
    zeros = "." + "0" * places if places else ""
    pattern = Locale.parse(locale).decimal_formats[None].pattern.split(".")[0] + zeros
    cell = format_decimal(number, pattern, locale)
    assert money.price_reader(locale)(cell, "USD") == number


@given(amounts, st.sampled_from(LOCALES), st.sampled_from(LOCALES))
def test_another_locale_reads_the_same_amount_or_none(
    units: int, written: str, read: str
) -> None:
    """Marks are never guessed: a whole number of cents cannot turn into another one."""
    amount = Decimal(units).scaleb(-2)
    cell = format_currency(amount, "EUR", locale=written)
    try:
        found = money.money_reader(read)(cell, "EUR")
    except ValueError:
        return
    assert found == amount

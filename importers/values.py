"""Read dates, numbers, currencies and texts from cells, each different cell once."""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from babel import numbers

from offcut.importers.date_names import date_in, english_form, has_names, into_english
from offcut.importers.problems import quoted

ReadNumber = Callable[[str], Decimal]

ZERO = Decimal(0)
DIGITS_AT_MOST = 18
EXAMPLE_DAY = datetime.date(2025, 3, 31)

# ISO 4217, table A.1 as published on 2024-06-25: the currencies whose minor unit is
# not a hundredth. (CLDR's digits say how a currency is shown, and differ for some.)
_NO_MINOR_UNIT = (
    *("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI"),
    *("VND", "VUV", "XAF", "XOF", "XPF"),
)
_DIGITS = {
    **dict.fromkeys(_NO_MINOR_UNIT, 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
    **dict.fromkeys(("CLF", "UYW"), 4),
}

# How else a group mark is written: the narrow and the wide no-break space, a blank; the
# typographic apostrophe and the straight one.
_SPELLINGS = {"\u202f": "\xa0 ", "\xa0": "\u202f ", "\u2019": "'"}


def date_reader(forms: Sequence[str], locale: str = "") -> Callable[[str], datetime.date]:
    """Return a function that reads a date in the first of the forms that it has.

    Args:
      forms: The forms, as `strptime` takes them.
      locale: The CLDR locale whose names months and days have; English ones without it.
    """
    named = [bool(locale) and has_names(form) for form in forms]
    readers = [
        (english_form(form), into_english(form, locale)) if has else (form, None)
        for form, has in zip(forms, named, strict=True)
    ]
    examples = " or ".join(
        date_in(form, locale, EXAMPLE_DAY) if has else EXAMPLE_DAY.strftime(form)
        for form, has in zip(forms, named, strict=True)
    )
    keys = "[forms] date-locale" if any(named) else "[forms] date"

    def read(cell: str) -> datetime.date:
        for form, in_english in readers:
            try:
                text = in_english(cell) if in_english else cell
                day = datetime.datetime.strptime(text, form).date()
            except ValueError:
                continue
            # The years that beancount's grammar has.
            if 1700 <= day.year <= 2099:
                return day
        raise ValueError(
            f"expected a date such as {examples}, found {quoted(cell)}; correct the row or "
            f"the layout's {keys}"
        )

    return read


def number_reader(locale: str) -> ReadNumber:
    """Return a function that reads a number written with a locale's marks (CLDR)."""
    point, mark = numbers.get_decimal_symbol(locale), numbers.get_group_symbol(locale)
    plain = re.compile(
        rf"[-+]?(?:[0-9]+(?:{re.escape(point)}[0-9]*)?|{re.escape(point)}[0-9]+)"
    )
    grouped = re.compile(rf"[-+]?[0-9][0-9{re.escape(mark + point)}]*")
    # Files are often typed with the plain forms of a locale's marks.
    spellings = str.maketrans(
        dict.fromkeys(_SPELLINGS.get(mark, ""), mark) | {"\N{MINUS SIGN}": "-"}
    )
    example = numbers.format_decimal(Decimal("1234.5"), "#,##0.00", locale)

    def read(cell: str) -> Decimal:
        text = cell.translate(spellings)
        try:
            if len(text) > DIGITS_AT_MOST:
                raise ValueError
            if plain.fullmatch(text):
                return Decimal(text.replace(point, "."))
            if grouped.fullmatch(text):
                return numbers.parse_decimal(text, locale, strict=True)
            raise ValueError
        except ValueError:
            raise ValueError(
                f"expected a number such as {example}, found {quoted(cell)}; correct the "
                "row or the layout's [forms] locale"
            ) from None

    return read


@cache
def minor_unit(currency: str) -> Decimal:
    """Return a currency's smallest coin: 0.01 of a dollar."""
    return Decimal(1).scaleb(-_DIGITS.get(currency, 2))


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return an amount rounded half up to the currency's minor unit."""
    return amount.quantize(minor_unit(currency), ROUND_HALF_UP)


def currency_reader(known: Sequence[str]) -> Callable[[str], str]:
    """Return a function that reads one of the currencies that a layout names."""

    def read(cell: str) -> str:
        currency = cell.upper()
        if currency not in known:
            raise ValueError(
                f"expected {' or '.join(known)}, found {quoted(cell)}; correct the row or "
                "name the currency in the layout"
            )
        return currency

    return read


def one_line(text: str) -> str:
    """Return a text without control characters, line breaks and runs of blanks.

    Marks that turn the direction of the text after them are dropped too: they could
    make a ledger's line show in another order than it is read in.
    """
    if text.isascii() and text.isprintable():
        return text.strip() if "  " not in text else " ".join(text.split())
    kept = (
        " " if unicodedata.category(char) in ("Cc", "Cs", "Zl", "Zp") else char
        for char in text
        if char not in _DIRECTION_MARKS
    )
    return " ".join("".join(kept).split())


_DIRECTION_MARKS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff")

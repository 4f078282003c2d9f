"""Read amounts of money as files write them: with signs, brackets and currencies.

A minus may stand before or after, a negative amount in parentheses, and the currency of
the row as its code or a symbol on either side: `-$5.00`, `($5.00)`, `5,00- €`. Which
marks part the digits is never guessed: the locale says it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from decimal import Decimal
from functools import cache, lru_cache
from typing import NamedTuple

from babel import Locale, localedata, numbers
from babel.core import get_global

from offcut.importers.problems import quoted
from offcut.importers.values import minor_unit, number_reader, rounded

ReadAmount = Callable[[str, str], Decimal]
"""Takes a cell and the currency of its row; raises ValueError saying what is wrong."""

# What stands around a number, blanks and currencies aside, and what it makes of it.
_SIGNS = {
    ("", ""): 1,
    ("+", ""): 1,
    ("", "+"): 1,
    ("-", ""): -1,
    ("", "-"): -1,
    ("(", ")"): -1,
}
# U+2212, U+2012 and U+2013 stand for a minus; CLDR puts marks of direction around it.
_SPELLINGS = str.maketrans(
    {"\u2212": "-", "\u2012": "-", "\u2013": "-"} | dict.fromkeys("\u200e\u200f\u061c")
)
_NUMBER = re.compile(r"([^0-9]*)([0-9](?:.*[0-9])?)([^0-9]*)", re.DOTALL)


def price_reader(locale: str) -> ReadAmount:
    """Return a function that reads an amount, of any number of digits.

    Args:
      locale: The CLDR locale that says which marks the numbers are written with.
    """
    read_number = number_reader(locale)
    point = numbers.get_decimal_symbol(locale)

    def read(cell: str, currency: str) -> Decimal:
        try:
            return read_number(cell)  # most amounts are plain numbers
        except ValueError as error:
            plain = error
        parts = _NUMBER.fullmatch(cell.translate(_SPELLINGS))
        if not parts:
            raise plain
        before, digits, after = parts.groups()
        before, after = _bare(before), _bare(after)
        around = before + after
        if (before, after) not in _SIGNS:
            before = _without_currency(before, currency, locale)
            after = _without_currency(after, currency, locale)
            if before.endswith(point):
                before, digits = before.removesuffix(point), point + digits
        if (before, after) not in _SIGNS:
            if currencies_named(around.strip("-+()"), locale) - {currency}:
                raise ValueError(
                    f"expected an amount in {currency}, found {quoted(cell)}, which names "
                    "another currency; correct the row, or the currency in the layout"
                )
            raise plain
        try:
            number = read_number(digits)
        except ValueError:
            raise plain from None
        return -number if _SIGNS[before, after] < 0 else number

    return read


def money_reader(locale: str) -> ReadAmount:
    """Return a function that reads an amount of a currency's whole minor units.

    Args:
      locale: As in `price_reader`.
    """
    read_price = price_reader(locale)

    def read(cell: str, currency: str) -> Decimal:
        number = read_price(cell, currency)
        amount = rounded(number, currency)
        if amount != number:
            raise ValueError(
                f"expected an amount in whole units of {minor_unit(currency)} {currency}, "
                f"found {quoted(cell)}; correct the row"
            )
        return amount

    return read


class Split(NamedTuple):
    """An amount in its parts.

    Attributes:
      sign: 1 or -1.
      digits: The digits with the marks between them.
      named: What else stands beside them, on either side: a symbol or a code.
    """

    sign: int
    digits: str
    named: tuple[str, ...]


@lru_cache(1 << 18)
def split_amount(cell: str) -> Split | None:
    """Return the parts of an amount in any currency and locale; None if it is none.

    Args:
      cell: A text such as "($1,234.50)".
    """
    parts = _NUMBER.fullmatch(cell.translate(_SPELLINGS))
    if not parts:
        return None
    before, digits, after = parts.groups()
    before, after = _bare(before), _bare(after)
    if before[-1:] in (".", ",") and not digits.startswith("0"):
        before, digits = before[:-1], before[-1] + digits  # as in -.50
    named = tuple(filter(None, (before.strip("-+()"), after.strip("-+()"))))
    for each in named:
        before, after = before.replace(each, "", 1), after.replace(each, "", 1)
    if (before, after) not in _SIGNS or any(len(each) > 5 for each in named):
        return None
    return Split(_SIGNS[before, after], digits, named)


def currencies_named(text: str, locale: str) -> frozenset[str]:
    """Return the currencies that a text of one code or symbol may stand for.

    Args:
      text: What stands beside a number: "€", "US$", "usd".
      locale: Whose symbols count, beside those of each currency's own lands.
    """
    name = _bare(text).casefold()
    if not any(char.isalpha() or unicodedata.category(char) == "Sc" for char in name):
        return frozenset()
    return frozenset(_currencies(locale).get(name, ()))


@cache
def symbols(currency: str, locale: str) -> tuple[str, ...]:
    """Return how a currency is written, its code included, the longest first.

    That is its symbol in a locale, in English, and in the locales of the lands whose
    money it is, where it is often shorter (CLDR).

    Args:
      currency: The currency's code.
      locale: A locale.
    """
    found = {currency, *(_symbol(currency, each) for each in (locale, "en", "en_001"))}
    found |= _own_symbols(currency)
    bare = {_bare(each).casefold() for each in found}
    return tuple(sorted(bare - {""}, key=lambda each: (-len(each), each)))


def _without_currency(around: str, currency: str, locale: str) -> str:
    """Return what stands beside a number without one name of the currency."""
    folded = around.casefold()
    for each in symbols(currency, locale):
        at = folded.find(each)
        if at >= 0 and len(folded) == len(around):
            return around[:at] + around[at + len(each) :]
    return around


def _bare(text: str) -> str:
    """Return a text without blanks and marks of direction, wide letters made usual."""
    bare = "".join(text.translate(_SPELLINGS).split())
    return bare if bare.isascii() else unicodedata.normalize("NFKC", bare)


@cache
def _currencies(locale: str) -> dict[str, set[str]]:
    """Return the currencies by their codes and symbols, in lower case."""
    found: dict[str, set[str]] = {}
    for currency in Locale.parse(locale).currencies:
        if currency in _territories():
            for each in symbols(currency, locale):
                found.setdefault(each, set()).add(currency)
    return found


@cache
def _territories() -> dict[str, set[str]]:
    """Return the lands of each currency that is in use."""
    found: dict[str, set[str]] = {}
    for land in get_global("territory_currencies"):
        for currency in numbers.get_territory_currencies(land):
            found.setdefault(currency, set()).add(land)
    return found


@cache
def _own_symbols(currency: str) -> frozenset[str]:
    """Return the symbols of a currency in the locales of its own lands."""
    lands = _territories().get(currency, set())
    return frozenset(
        _symbol(currency, name)
        for name in localedata.locale_identifiers()
        if name.rpartition("_")[2] in lands
    )


def _symbol(currency: str, locale: str) -> str:
    return str(numbers.get_currency_symbol(currency, locale))

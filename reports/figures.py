"""Write the reports' numbers, names and standing sentences for a reader."""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from offcut.importers.splitting import EXACT
from offcut.importers.values import minor_unit

# Marks that turn the direction of all text after them; letters of right-to-left scripts
# need none, and joiners (U+200C, U+200D) are part of names and of emoji.
DIRECTION_MARKS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
# A sheet's ink costs parts of a cent, and unit prices of print are quoted in them.
UNIT_PRICE_STEP = Decimal("0.0001")
UNSAFE_CATEGORIES = frozenset({"Cc", "Cs", "Zl", "Zp"})
# No characters, and none of XML, which a workbook is made of.
NO_CHARACTERS = frozenset("\ufffe\uffff")


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return an amount in whole minor units, half a unit away from zero.

    Args:
      amount: An amount of money.
      currency: Its currency.
    """
    whole = amount.quantize(minor_unit(currency), rounding=ROUND_HALF_UP, context=EXACT)
    return whole if whole else abs(whole)


def money(amount: Decimal, currency: str) -> str:
    """Return an amount as text: `-1,234.50`; never a negative zero.

    Args:
      amount: An amount of money.
      currency: Its currency, which is not written.
    """
    return f"{rounded(amount, currency):,f}"


def unit_price(amount: Decimal, currency: str, places: int = 0) -> str:
    """Return what one unit costs as text: `0.42`, `0.0313`; to four places at the most.

    Args:
      amount: The amount for one unit.
      currency: Its currency, which is not written.
      places: How many decimal places are written at the least.
    """
    coin = minor_unit(currency)
    fine = amount.quantize(min(coin, UNIT_PRICE_STEP), ROUND_HALF_UP, context=EXACT)
    if fine == fine.quantize(coin, context=EXACT):
        return _with_places(money(fine, currency), places)
    return _with_places(f"{fine:,f}".rstrip("0"), places)


def month_label(date: datetime.date) -> str:
    """Return a date's month as text: `2025-03`.

    Args:
      date: A day of the month.
    """
    return f"{date.year:04}-{date.month:02}"


def pieces(quantity: Decimal, places: int = 0) -> str:
    """Return a quantity as text, without digits that say nothing: `1,250`, `2.5`.

    Args:
      quantity: A number of pieces.
      places: How many decimal places are written at the least.
    """
    text = f"{quantity:,f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return _with_places(text, places)


def decimal_places(text: str) -> int:
    """Return how many decimal places a number has as text.

    Args:
      text: A number, written by one of the functions here.
    """
    return len(text.partition(".")[2])


def _with_places(text: str, places: int) -> str:
    """Return a number with zeros after it, up to so many decimal places."""
    missing = places - decimal_places(text)
    if missing <= 0:
        return text
    return f"{text}{'' if '.' in text else '.'}{'0' * missing}"


def percentage(share: Decimal | None) -> str:
    """Return a share as a whole percentage: `42%`; a dash where there is none.

    Args:
      share: A share; 1 is all.
    """
    if share is None:
        return "\N{EN DASH}"
    whole = (share * 100).quantize(Decimal(1), rounding=ROUND_HALF_UP, context=EXACT)
    return f"{whole if whole else abs(whole):,f}%"


def named(names: Sequence[str], most: int) -> str:
    """Return names as one part of a sentence: `Heron, Moth and 4 more`.

    Args:
      names: The names; at least one.
      most: How many to name; the others are a number.
    """
    shown = list(names[:most])
    if len(names) > most:
        shown.append(f"{len(names) - most:,} more")
    *first, last = shown
    return f"{', '.join(first)} and {last}" if first else last


def plain(text: str) -> str:
    """Return text from a ledger that cannot move a terminal's cursor or turn other text.

    Args:
      text: A name, an account or a message.
    """
    # What Python calls printable has none of these characters: all but a few texts.
    if text.isprintable():
        return text
    return "".join(
        "\N{REPLACEMENT CHARACTER}"
        if character in DIRECTION_MARKS
        or character in NO_CHARACTERS
        or unicodedata.category(character) in UNSAFE_CATEGORIES
        else character
        for character in text
    )

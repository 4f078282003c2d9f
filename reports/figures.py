"""Write the reports' numbers, names and standing sentences for a reader."""

from __future__ import annotations

import datetime
import unicodedata
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


def unit_price(amount: Decimal, currency: str) -> str:
    """Return what one unit costs as text: `0.42`, `0.0313`; to four places at the most.

    Args:
      amount: The amount for one unit.
      currency: Its currency, which is not written.
    """
    coin = minor_unit(currency)
    fine = amount.quantize(min(coin, UNIT_PRICE_STEP), ROUND_HALF_UP, context=EXACT)
    if fine == fine.quantize(coin, context=EXACT):
        return money(fine, currency)
    return f"{fine:,f}".rstrip("0")


def month_label(date: datetime.date) -> str:
    """Return a date's month as text: `2025-03`.

    Args:
      date: A day of the month.
    """
    return f"{date.year:04}-{date.month:02}"


def pieces(quantity: Decimal) -> str:
    """Return a quantity as text, without digits that say nothing: `1,250`, `2.5`.

    Args:
      quantity: A number of pieces.
    """
    text = f"{quantity:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def percentage(share: Decimal | None) -> str:
    """Return a share as a whole percentage: `42%`; a dash where there is none.

    Args:
      share: A share; 1 is all.
    """
    if share is None:
        return "\N{EN DASH}"
    whole = (share * 100).quantize(Decimal(1), rounding=ROUND_HALF_UP, context=EXACT)
    return f"{whole if whole else abs(whole):,f}%"


def plain(text: str) -> str:
    """Return text from a ledger that cannot move a terminal's cursor or turn other text.

    Args:
      text: A name, an account or a message.
    """
    return "".join(
        "\N{REPLACEMENT CHARACTER}"
        if character in DIRECTION_MARKS
        or character in NO_CHARACTERS
        or unicodedata.category(character) in UNSAFE_CATEGORIES
        else character
        for character in text
    )

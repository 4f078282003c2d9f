"""Read the figures that a maker gives for a plan: amounts, shares, changes, by name or not.

    4.50        an amount
    50%         a share, as 0.5 is
    +10%        by a share more
    +0.20       by an amount more
    VINYL=0.60  one of these for something that has a name

All are Decimals from the first character on. What cannot be read is a ValueError that
says in one sentence what was expected.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

# More digits than any price, quantity or rate has.
_NUMBER = re.compile(r"(?:[0-9]{1,3}(?:,[0-9]{3}){1,3}|[0-9]{1,12})(?:\.[0-9]{1,9})?")
HUNDRED = Decimal(100)


class Change(NamedTuple):
    """What a figure becomes, or by how much it changes.

    Attributes:
      number: The number; a share where `is_share`, of 1.
      is_share: Whether it is a share of what there was.
      is_by: Whether it is what is added, and not what the figure becomes.
    """

    number: Decimal
    is_share: bool
    is_by: bool


def amount_of(text: str) -> Decimal:
    """Return an amount or a number of zero or more.

    Args:
      text: `4.50`, `1200` or `1,200`.
    """
    if not _NUMBER.fullmatch(text.strip()):
        raise ValueError(f"expected a number such as 4.50, found {_quoted(text)}")
    return Decimal(text.strip().replace(",", ""))


def whole_of(text: str) -> Decimal:
    """Return a whole number of one or more.

    Args:
      text: `250`.
    """
    try:
        number = amount_of(text)
    except ValueError:
        number = Decimal(0)
    if not number or number % 1:
        raise ValueError(f"expected a whole number such as 250, found {_quoted(text)}")
    return number


def share_of(text: str) -> Decimal:
    """Return a share of more than nothing, up to all, as a number up to 1.

    Args:
      text: `50%` or `0.5`.
    """
    bare = text.strip()
    try:
        number = amount_of(bare.removesuffix("%").rstrip())
    except ValueError:
        number = Decimal(0)
    if bare.endswith("%"):
        number /= HUNDRED
    if not 0 < number <= 1:
        raise ValueError(
            f"expected a share such as 50%, above 0% and up to 100%, found {_quoted(text)}"
        )
    return number


def change_of(text: str) -> Change:
    """Return a change, or what a figure becomes.

    Args:
      text: `+10%`, `-0.20` or `4.50`.
    """
    bare = text.strip()
    sign, rest = (bare[0], bare[1:]) if bare[:1] in ("+", "-") else ("", bare)
    is_share = rest.endswith("%")
    try:
        number = amount_of(rest.removesuffix("%").rstrip())
    except ValueError:
        number = None
    if number is None or (is_share and not sign):
        raise ValueError(
            "expected a change such as +10% or -0.20, or what it becomes, such as 4.50; "
            f"found {_quoted(text)}"
        )
    number = number / HUNDRED if is_share else number
    return Change(-number if sign == "-" else number, is_share, bool(sign))


def named(text: str, example: str) -> tuple[str, str]:
    """Return a name and what is given for it.

    Args:
      text: `VINYL=0.60`.
      example: What to write instead where it is not of this form.
    """
    name, equals, value = text.rpartition("=")
    if not equals or not name.strip():
        raise ValueError(
            f"expected a name and a figure such as {example}, found {_quoted(text)}"
        )
    return name.strip(), value.strip()


def _quoted(text: str) -> str:
    shown = "".join(char if char.isprintable() else "\ufffd" for char in text)
    return f"'{shown if len(shown) <= 40 else shown[:39] + '…'}'"

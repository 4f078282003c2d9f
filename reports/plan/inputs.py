"""Refuse figures that no plan can be made from, in one sentence each."""

from __future__ import annotations

from decimal import Decimal

from offcut.importers.splitting import ZERO

ONE = Decimal(1)


def above_zero(number: Decimal, what: str) -> Decimal:
    """Return a number that is more than zero.

    Args:
      number: The number.
      what: What it is, to begin the sentence with: "The list price of HERON-STK".

    Raises:
      ValueError: It is zero, less, or no number.
    """
    if not number.is_finite() or number <= ZERO:
        raise ValueError(f"{what} must be more than zero, not {number}")
    return number


def not_negative(number: Decimal, what: str) -> Decimal:
    """Return a number that is zero or more.

    Args:
      number: The number.
      what: What it is, to begin the sentence with.

    Raises:
      ValueError: It is less than zero, or no number.
    """
    if not number.is_finite() or number < ZERO:
        raise ValueError(f"{what} must not be less than zero, as {number} is")
    return number


def whole_above_zero(number: Decimal, what: str) -> Decimal:
    """Return a whole number of one or more.

    Args:
      number: The number.
      what: What it is, to begin the sentence with.

    Raises:
      ValueError: It is a fraction, zero, less, or no number.
    """
    above_zero(number, what)
    if number % 1:
        raise ValueError(f"{what} must be a whole number, not {number}")
    return number


def share_above_zero(number: Decimal, what: str) -> Decimal:
    """Return a share of more than nothing, up to all.

    Args:
      number: The share; 1 is all.
      what: What it is, to begin the sentence with.

    Raises:
      ValueError: It is not.
    """
    if not number.is_finite() or not ZERO < number <= ONE:
        raise ValueError(
            f"{what} must be a share above 0 and up to 1, such as 0.5 for half, "
            f"not {number}"
        )
    return number

"""The types of options that take a figure: what cannot be read is a usage error."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from offcut.reports.plan.given_figures import (
    Change,
    amount_of,
    change_of,
    named,
    share_of,
    whole_of,
)

if TYPE_CHECKING:
    ParamType = click.ParamType[Any]
else:
    ParamType = click.ParamType


class Named(NamedTuple):
    """A figure that was given for something.

    Attributes:
      name: What it is for; empty where it is for all.
      figure: The figure.
    """

    name: str
    figure: Any


class Figure(ParamType):
    """A figure that a function reads, which raises ValueError where it cannot."""

    def __init__(self, name: str, read: Callable[[str], object]) -> None:
        self.name = name
        self._read = read

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:
        """Return the figure; what is one already stays as it is."""
        if not isinstance(value, str):
            return value
        try:
            return self._read(value)
        except ValueError as error:
            self.fail(str(error), param, ctx)


def _for_one(example: str, read: Callable[[str], Any]) -> Callable[[str], Named]:
    """Return what reads a figure that must have a name."""

    def reading(text: str) -> Named:
        name, value = named(text, example)
        return Named(name, read(value))

    return reading


def _for_one_or_all(text: str) -> Named:
    """Return a change of something that has a name, or of all."""
    if "=" not in text:
        return Named("", change_of(text))
    name, value = named(text, "NAME=+10%")
    return Named(name, change_of(value))


def _step(text: str) -> tuple[Decimal, Decimal]:
    """Return a line of a price table: from how many pieces on, what each costs."""
    pieces, price = named(text, "250=0.42")
    return whole_of(pieces), amount_of(price)


def _change_of_amount(text: str) -> Decimal:
    """Return by what amount a figure changes."""
    change: Change = change_of(text)
    if change.is_share or not change.is_by:
        raise ValueError(f"expected a change such as +0.20 or -0.20, found '{text}'")
    return change.number


AMOUNT = Figure("amount", amount_of)
WHOLE = Figure("number", whole_of)
SHARE = Figure("share", share_of)
STEP = Figure("pieces=price", _step)
COST = Figure("name=amount", _for_one("table=85.00", amount_of))
CHANGE = Figure("change", _for_one_or_all)
MATERIAL = Figure("name=cost", _for_one("VINYL=0.60", change_of))
CHANGE_OF_AMOUNT = Figure("change", _change_of_amount)

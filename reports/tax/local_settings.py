"""Read what the settings say of a tax of the maker's own place.

[[tax.local]]
name = "State income tax"
base = "income"                       # of taxable income, or of the business's "profit"
rate = 0.05                           # or: rates = [...] with edges = [...]
source = "State form 1, 2025"
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from offcut.reports.tax.schedule import Schedule
from offcut.reports.tax.toml_checks import (
    are_edges,
    either,
    is_share,
    is_text,
    shown,
    unknown_keys,
)

Base = Literal["income", "profit"]
BASES = ("income", "profit")
LOCAL = ("name", "base", "rate", "rates", "edges", "source")


@dataclass(frozen=True)
class LocalSchedule:
    """A tax of the maker's own place.

    Attributes:
      name: Its name.
      base: What it is of: taxable income, or the business's profit.
      schedule: Its rates.
      source: Where they stand.
    """

    name: str
    base: Base
    schedule: Schedule
    source: str


def local_schedule(table: Mapping[str, Any]) -> LocalSchedule:
    """Return the tax that a table without mistakes describes.

    Args:
      table: The table.
    """
    rates = table.get("rates", [table.get("rate", 0)])
    return LocalSchedule(
        table["name"],
        table["base"],
        Schedule(tuple(map(Decimal, rates)), tuple(map(Decimal, table.get("edges", ())))),
        table.get("source", ""),
    )


def local_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with a table.

    Args:
      table: The table.
    """
    yield from unknown_keys(table, LOCAL)
    if not is_text(table.get("name")):
        yield "name is missing; say what the tax is called"
    if "source" in table and not is_text(table["source"]):
        yield "source must be text in quotes"
    if "base" not in table:
        yield 'base is missing; add base = "income", or profit'
    elif table["base"] not in BASES:
        yield f"base is {shown(table['base'])}; it can be {either(BASES)}"
    if ("rate" in table) == ("rates" in table):
        yield "give it a rate, or rates with edges"
        return
    if "rate" in table and "edges" in table:
        yield "edges go with rates, not with one rate"
        return
    rates = table.get("rates", [table.get("rate")])
    if not (isinstance(rates, list) and rates and all(map(is_share, rates))):
        yield "rates are shares of 1: 0.05 for 5 %"
    elif not are_edges(table.get("edges", []), len(rates) - 1):
        count = len(rates) - 1
        yield f"edges must be {count} rising numbers above zero, one fewer than rates"

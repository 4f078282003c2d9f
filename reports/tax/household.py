"""What the books cannot know: who is taxed, and what they have besides the business."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Literal, NamedTuple

from offcut.importers.splitting import ZERO
from offcut.reports.tax.toml_checks import either, is_number, meant, shown, unknown_keys

Kind = Literal["money", "count", "share"]


class Fact(NamedTuple):
    """Something that only the maker can say.

    Attributes:
      key: Its key in the settings.
      kind: What it is: money in the rules' currency, a whole number, a share of 1.
      question: The question whose answer it is.
      most: The largest count.
      alone: The statuses of which it counts one person at most.
      statuses: The statuses that it is asked of; all where there are none.
    """

    key: str
    kind: Kind
    question: str
    most: int = 2
    alone: frozenset[str] = frozenset()
    statuses: frozenset[str] = frozenset()

    def is_of(self, status: str) -> bool:
        """Tell whether it is asked of a status."""
        return not self.statuses or status in self.statuses


@dataclass(frozen=True)
class Household:
    """Who is taxed, and what they have besides the business.

    Attributes:
      status: One of the rules' statuses.
      facts: What was answered, by key.
    """

    status: str
    facts: Mapping[str, Decimal] = field(default_factory=dict)

    def fact(self, key: str) -> Decimal:
        """Return an answer; zero where there is none.

        Args:
          key: The fact's key.
        """
        return self.facts.get(key, ZERO)

    def unanswered(self, facts: Iterable[Fact]) -> list[Fact]:
        """Return the questions that were not answered, of those that are asked.

        Args:
          facts: The questions.
        """
        return [
            fact for fact in facts if fact.key not in self.facts and fact.is_of(self.status)
        ]


class HouseholdError(ValueError):
    """Answers that cannot be used; the text is one line for each mistake."""


def read_household(
    table: Mapping[str, Any], statuses: Sequence[str], facts: Sequence[Fact], where: str
) -> Household:
    """Return the household that settings describe.

    Args:
      table: The settings that are about it.
      statuses: What status may be.
      facts: What may be answered besides.
      where: What the settings are called, for errors.

    Raises:
      HouseholdError: Something is missing or wrong; says all of it.
    """
    mistakes = list(_mistakes(table, statuses, facts))
    if mistakes:
        raise HouseholdError("\n".join(f"{where}: {each}" for each in mistakes))
    return Household(
        table.get("status", statuses[0]),
        {fact.key: Decimal(table[fact.key]) for fact in facts if fact.key in table},
    )


def _mistakes(
    table: Mapping[str, Any], statuses: Sequence[str], facts: Sequence[Fact]
) -> Iterator[str]:
    status = table.get("status")
    if status is None and len(statuses) > 1:
        yield f'status is missing; add status = "{statuses[0]}", or {either(statuses[1:])}'
    elif status is not None and status not in statuses:
        hint = meant(status, statuses)
        yield f"status is {shown(status)}{hint}; it can be {either(statuses)}"
    of = str(status) if status in statuses else ""
    known = {fact.key: fact for fact in facts}
    yield from unknown_keys(table, ("status", *known))
    for key in table:
        if key in known:
            yield from _answer_mistakes(known[key], table[key], of)


def _answer_mistakes(fact: Fact, value: object, status: str) -> Iterator[str]:
    """Yield what is wrong with an answer; the status is empty where it is not known."""
    key = fact.key
    if not is_number(value):
        yield f"{key} must be a number, not {shown(value)}"
        return
    most = 1 if status in fact.alone else fact.most
    if value < 0:
        yield f"{key} must not be below zero, here it is {value}"
    elif fact.kind == "share" and value > 1:
        yield f"{key} is a share of 1, here it is {value}"
    elif fact.kind == "count" and (value != int(value) or value > most):
        yield f"{key} must be a whole number up to {most}, not {value}"
    elif value and status and not fact.is_of(status):
        yield f"{key} is of status {either(sorted(fact.statuses))} only, not of {status}"

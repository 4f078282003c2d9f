"""What a proposed layout is made of: beliefs with reasons, and doubts with choices."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from offcut.importers.proposal.evidence import Column
from offcut.importers.proposal.form import Sample


class Wishes(NamedTuple):
    """What the user said beforehand; empty where they did not.

    Attributes:
      name: The layout's name.
      kind: The layout's kind.
      source: The slug of its source.
      channel: The channel of its sales.
      currency: The currency where no column says one.
      usual_currency: The ledger's own, which is the first to be asked about.
      channels: The channels that the ledger's layouts have, to choose from.
    """

    name: str = ""
    kind: str = ""
    source: str = ""
    channel: str = ""
    currency: str = ""
    usual_currency: str = ""
    channels: tuple[str, ...] = ()


class Choice(NamedTuple):
    """One answer to a doubt: the value for the layout, and what it means."""

    value: str
    meaning: str


class Doubt(NamedTuple):
    """A question that the file does not answer.

    Attributes:
      key: Where the answer goes in the layout: "forms.date".
      question: The question.
      choices: The answers; the first is taken meanwhile. None where no answer helps.
      free: Whether another answer may be given too.
    """

    key: str
    question: str
    choices: tuple[Choice, ...]
    free: bool = False


@dataclasses.dataclass
class Draft:
    """A layout while it is being made.

    Attributes:
      sample: The file's beginning.
      columns: Its columns.
      wishes: What the user said beforehand.
      answers: What the user answered, by the keys of doubts.
      table: The layout, as TOML has it.
      reasons: Why a key is what it is, by the key: "forms.date".
      doubts: What is not known.
      roles: What each column is, by its place in the row; the reasons with it.
      answered: Whether the last question had an answer.
    """

    sample: Sample
    columns: list[Column]
    wishes: Wishes
    answers: Mapping[str, str]
    table: dict[str, Any] = dataclasses.field(default_factory=dict)
    reasons: dict[str, str] = dataclasses.field(default_factory=dict)
    doubts: list[Doubt] = dataclasses.field(default_factory=list)
    roles: dict[int, tuple[str, str]] = dataclasses.field(default_factory=dict)
    answered: bool = False

    def put(self, key: str, value: object, why: str) -> None:
        """Set a key of the layout, "forms.date" or "kind", and say why."""
        section, _, name = key.rpartition(".")
        table = self.table.setdefault(section, {}) if section else self.table
        table[name] = value
        self.reasons[key] = self._so_far(why)

    def take(self, key: str, column: Column, why: str) -> None:
        """Make a column that of a key; a second one of the key is put beside the first."""
        name = f"columns.{key}"
        before = self.table.get("columns", {}).get(key)
        if before:
            headers = [before] if isinstance(before, str) else before
            self.put(name, [*headers, column.header], self.reasons[name])
        else:
            self.put(name, column.header, why)
        self.roles[column.at] = (key, self._so_far(why))

    def _so_far(self, why: str) -> str:
        """Return a reason; where it is an answer that was not given, that it is none."""
        return "in doubt" if why == "as answered" and not self.answered else why

    def ask(
        self,
        key: str,
        question: str,
        choices: Iterable[Choice],
        *,
        free: bool = False,
    ) -> str:
        """Return the answer to a question; the first choice, with a doubt, without one."""
        choices = tuple(choices)
        self.answered = key in self.answers
        if self.answered:
            return self.answers[key]
        self.doubts.append(Doubt(key, question, choices, free))
        return choices[0].value if choices else ""

    def choose(
        self, key: str, question: str, columns: Iterable[Column], nothing: str = ""
    ) -> Column | None:
        """Return the column that is chosen for a key, with a doubt until it is.

        Args:
          key: The key in `[columns]`.
          question: The question.
          columns: The columns it may be.
          nothing: What it means that it is none of them; empty where it has to be one.
        """
        columns = list(columns)
        choices = [Choice(each.header, examples(each)) for each in columns]
        if nothing:
            choices.append(Choice("-", nothing))
        answer = self.ask(f"columns.{key}", question, choices)
        return next((each for each in columns if each.header == answer), None)

    @property
    def left(self) -> list[Column]:
        """The columns that have no role, and whose heading is the only one of its text."""
        headers = [column.header for column in self.columns]
        return [
            column
            for column in self.columns
            if column.at not in self.roles
            and column.header
            and headers.count(column.header) == 1
        ]


def examples(column: Column) -> str:
    """Return a few of the cells of a column, to tell it by."""
    shown = ", ".join(value[:24] for value in column.values[:3])
    return f"such as {shown}" if shown else "empty in all rows"

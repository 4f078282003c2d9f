"""Lay out a page: what stands in each report's section, and what once for all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from offcut.reports.statement import Check, Line, Statement, Table

# On a phone each line is a card of figures, unless it has more of them than these, or the
# lines are so many that the page would be endless.
MOST_COLUMNS = 12
MOST_CARDS = 40
# Of longer tables a page shows the name, until they are opened.
MOST_OPEN = 60


class Section(NamedTuple):
    """A statement as it stands among others.

    Attributes:
      statement: The statement.
      name: The name that a link goes to.
      has_headlines: Whether its headlines stand in it, not at the top of the page.
      checks: The checks that stand in it.
      notes: The notes that stand in it.
    """

    statement: Statement
    name: str
    has_headlines: bool
    checks: list[Check]
    notes: list[str]


class Finding(NamedTuple):
    """A sentence at the top of a page, and the section that it is taken from.

    Attributes:
      sentence: The sentence.
      section: The name that a link goes to.
      title: The section's title.
    """

    sentence: str
    section: str
    title: str


def findings(statements: Sequence[Statement]) -> list[Finding]:
    """Return what of the statements asks for a look.

    Args:
      statements: What the page shows.
    """
    return [
        Finding(sentence, _name(statement), statement.title)
        for statement in statements
        for sentence in statement.findings
    ]


def _name(statement: Statement) -> str:
    """Return the name of a statement's section, that a link goes to."""
    return f"{statement.tables[0].slug}-title"


def sections(statements: Sequence[Statement]) -> list[Section]:
    """Return the sections of a page.

    Args:
      statements: What the page shows.
    """
    at_top, at_end = set(shared_checks(statements)), set(shared_notes(statements))
    first = statements[0].headlines
    return [
        Section(
            statement=statement,
            name=_name(statement),
            has_headlines=bool(statement.headlines) and statement.headlines != first,
            checks=[check for check in statement.checks if check not in at_top],
            notes=[note for note in statement.shown_notes(False) if note not in at_end],
        )
        for statement in statements
    ]


def shared_checks(statements: Sequence[Statement]) -> list[Check]:
    """Return the checks at the top of a page: all that fail, and the first statement's.

    Args:
      statements: What the page shows.
    """
    failed = [check for each in statements for check in each.checks if not check.holds]
    return list(dict.fromkeys([*failed, *statements[0].checks]))


def shared_notes(statements: Sequence[Statement]) -> list[str]:
    """Return the notes at the end of a page: those that several statements have.

    Args:
      statements: What the page shows; of a single one, all notes are there.
    """
    notes = [note for each in statements for note in dict.fromkeys(each.shown_notes(False))]
    times = Counter(notes)
    least = 2 if len(statements) > 1 else 1
    return [note for note, count in times.items() if count >= least]


def has_frame(table: Table) -> bool:
    """Tell whether a table stays a table on a phone, and moves in a frame of its own.

    Args:
      table: The table.
    """
    columns = len(table.shown_columns(False))
    is_long = columns > 3 and len(table.lines) > MOST_CARDS
    return not table.has_cards and (columns > MOST_COLUMNS or is_long)


def is_folded(table: Table) -> bool:
    """Tell whether a page shows only the name of a table until it is asked for.

    Args:
      table: The table.
    """
    return table.folded or (len(table.lines) > MOST_OPEN and not table.has_cards)


def numbered(table: Table) -> list[tuple[int, Line]]:
    """Return the lines of a table with the numbers that links go to.

    Args:
      table: The table.
    """
    return list(enumerate(table.lines, 1))


def own_lines(table: Table) -> list[tuple[int, Line]]:
    """Return the lines of a table that are no sums, with their numbers.

    Args:
      table: The table.
    """
    return [each for each in numbered(table) if each[1].role in ("line", "part")]


def sum_lines(table: Table) -> list[tuple[int, Line]]:
    """Return the lines of a table that are sums, with their numbers.

    Args:
      table: The table.
    """
    return [each for each in numbered(table) if each[1].role not in ("line", "part")]


def source_columns(table: Table, line: Line) -> list[int]:
    """Return the positions of the columns in which sources of a line say anything.

    Args:
      table: The table.
      line: One of its lines, with sources.
    """
    name, *rest = table.shown_columns(False)
    return [
        name,
        *(at for at in rest if any(each.cells[at] is not None for each in line.sources)),
    ]

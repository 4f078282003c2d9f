"""Decide which rows of a file are read at all."""

from __future__ import annotations

from typing import NamedTuple

from offcut.importers.layout import RowRule
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.source_file import SourceFile
from offcut.importers.values import one_line


class LeftOut(NamedTuple):
    """A row that is not booked, and why."""

    row: int
    reason: str


def leave_out(source: SourceFile) -> tuple[SourceFile, list[LeftOut]]:
    """Return a file without the rows that its layout leaves out, and those rows.

    Raises:
      ImportRefused: A rule names a column that the file does not have.
    """
    reasons: dict[int, str] = {}
    for rule in source.layout.leave_out:
        for at, fits in enumerate(fitting(source, rule, "leave-out")):
            if fits:
                reasons.setdefault(at, rule.says)
    return _split(source, reasons)


def fitting(source: SourceFile, rule: RowRule, name: str) -> list[bool]:
    """Return of each row whether it has the cell of a rule.

    Args:
      source: The file.
      rule: The rule.
      name: The name of its table in the layout.

    Raises:
      ImportRefused: The rule names a column that the file does not have.
    """
    if rule.column not in source.columns:
        message = (
            f"[[{name}]] looks at the column {rule.column!r}, which the file does not "
            "have; correct the layout"
        )
        raise ImportRefused([Problem(source.name, None, None, message)])
    cells = source.columns[rule.column]
    fits = {cell: rule.fits(cell.strip()) for cell in set(cells)}
    return [fits[cell] for cell in cells]


def without_repeated(source: SourceFile) -> tuple[SourceFile, list[LeftOut]]:
    """Return a file without rows that repeat another row's id and contents, and those.

    Raises:
      ImportRefused: Rows of one id have different contents.
    """
    if "id" not in source.layout.columns:
        return source, []
    seen: dict[str, int] = {}
    repeated: dict[int, str] = {}
    problems = []
    for at, name in enumerate(map(one_line, source.cells("id"))):
        first = seen.setdefault(name, at) if name else at
        if first == at:
            continue
        if all(cells[first] == cells[at] for cells in source.columns.values()):
            repeated[at] = "repeated row"
            continue
        message = (
            f"expected an id of its own or the same row again, found {quoted(name)}, which "
            f"row {source.numbers[first]} has with other contents; correct the file, or "
            "leave id out of the layout's [columns] where rows may share one"
        )
        problems.append(
            Problem(source.name, source.numbers[at], source.header("id"), message)
        )
    if problems:
        raise ImportRefused(problems)
    return _split(source, repeated)


def _split(source: SourceFile, reasons: dict[int, str]) -> tuple[SourceFile, list[LeftOut]]:
    """Return a file without some rows, and those rows with their reasons."""
    if not reasons:
        return source, []
    left_out = [LeftOut(source.numbers[at], reasons[at]) for at in sorted(reasons)]
    return source.without(reasons), left_out

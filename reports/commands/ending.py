"""How a command ends: its exit codes, and one line on stderr for what went wrong."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

if TYPE_CHECKING:
    from offcut.reports.books import Books
    from offcut.reports.statement import Statement

REFUSED = 1
DONE_WITH_DOUBT = 3

EXIT_CODES = """\b
Exit codes:
  0  done
  1  not done: a file was refused; one line on stderr says why
  2  not done: the command line was not understood
  3  done, but the ledger has errors, a report does not add up, a month is not
     done, or a proposed layout has doubts
"""


def refuse(message: str) -> NoReturn:
    """Stop with one line on stderr."""
    raise click.ClickException(message)


def refuse_files(problems: Iterable[object]) -> NoReturn:
    """Stop with a line on stderr for each problem of the files."""
    from offcut.reports.figures import plain

    for problem in problems:
        click.echo(plain(str(problem)), err=True)
    raise SystemExit(REFUSED)


def loaded(path: Path) -> Books:
    """Load a ledger; print what is wrong in it, or stop where it cannot be read."""
    from offcut.reports.books import Books
    from offcut.reports.ledger_file import LedgerRefused, error_lines, load_ledger

    try:
        ledger = load_ledger(path)
    except LedgerRefused as refused:
        refuse(str(refused))
    for line in error_lines(ledger.errors):
        click.echo(line, err=True)
    return Books(ledger.entries, ledger.options, ledger.errors, path)


def finish(statements: Iterable[Statement], has_errors: bool) -> None:
    """Leave with the exit code of what was done.

    Args:
      statements: What was shown.
      has_errors: Whether the ledger has errors.
    """
    if has_errors or not all(statement.holds for statement in statements):
        raise SystemExit(DONE_WITH_DOUBT)

"""The command `offcut check`: how the books stand, in one screen."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from offcut.reports.commands.ending import DONE_WITH_DOUBT, refuse
from offcut.reports.commands.ledger_options import ledger_argument

WIDTH = 80
INDENT = 14
LINES = 2


@click.command()
@ledger_argument
def check(ledger: Path) -> None:
    """Say in one screen how the books stand, and what to do next.

    Whether the ledger loads, and its first error; whether all its files belong to it and
    stock is costed; what is imported, counted and asserted up to which day; what waits;
    and the next thing to do. Nothing is written.

    \b
    Examples:
      offcut check
      offcut check books/main.beancount

    Exit codes: 0 where ledger and settings have no errors, 3 where they have.
    """
    from offcut.importers.problems import ImportRefused
    from offcut.importers.settings import load_settings
    from offcut.reports.books import Books
    from offcut.reports.figures import plain
    from offcut.reports.ledger_file import LedgerRefused, load_ledger
    from offcut.reports.standing.standing import standing

    try:
        loaded = load_ledger(ledger)
    except LedgerRefused as refused:
        refuse(str(refused))
    settings, mistakes = None, []
    try:
        settings = load_settings(ledger)
    except ImportRefused as problems:
        mistakes = [problem.line("") for problem in problems.problems]
    books = Books(loaded.entries, loaded.options, loaded.errors, ledger)
    stands = standing(books, settings, mistakes, datetime.date.today())
    click.echo(plain(f"{stands.title}, {ledger}"))
    for what, text in stands.said:
        most = LINES + (what == "Errors")
        click.echo("\n".join(_wrapped(plain(text), f"{what:{INDENT}}", most)))
    click.echo()
    click.echo("\n".join(_wrapped(plain(stands.todo), f"{'Next':{INDENT}}", LINES)))
    if stands.how:
        for line in stands.how.splitlines():
            click.echo(f"    {plain(line)}")
    if books.errors or mistakes:
        raise SystemExit(DONE_WITH_DOUBT)


def _wrapped(text: str, label: str, most: int) -> list[str]:
    """Return a text beside its label, in so many lines at the most."""
    import textwrap

    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=label,
        subsequent_indent=" " * INDENT,
        max_lines=most,
        placeholder=" …",
    )

"""The options that write a report into files instead of on the terminal."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from offcut.reports.commands.ending import finish, refuse
from offcut.reports.commands.ledger_options import Command

if TYPE_CHECKING:
    from offcut.reports.books import Books
    from offcut.reports.statement import Statement


class Files(NamedTuple):
    """Where to write a report: files of the user's choice, or none.

    Attributes:
      page: The page to write.
      workbook: The workbook to write.
      folder: The folder to write a CSV file for each table into.
    """

    page: Path | None
    workbook: Path | None
    folder: Path | None


def file_options(command: Command) -> Command:
    """Add --html, --xlsx and --csv, which the command gets as one argument `files`."""

    @functools.wraps(command)
    def with_files(
        *args: Any,
        page: Path | None,
        workbook: Path | None,
        folder: Path | None,
        **kwargs: Any,
    ) -> None:
        command(*args, files=Files(page, workbook, folder), **kwargs)

    path = click.Path(path_type=Path)
    adding: Command = with_files
    for decorate in (
        click.option(
            "--csv",
            "folder",
            type=path,
            metavar="FOLDER",
            help="Write a CSV file for each table into it.",
        ),
        click.option(
            "--xlsx", "workbook", type=path, metavar="FILE", help="Workbook to write."
        ),
        click.option("--html", "page", type=path, metavar="FILE", help="Page to write."),
    ):
        adding = decorate(adding)
    return adding


def show(
    statements: Sequence[Statement],
    books: Books,
    files: Files,
    title: str,
    in_csv: Callable[[], Sequence[Statement]] | None = None,
) -> None:
    """Write statements into the files that were asked for, or print them; then leave.

    Args:
      statements: The statements.
      books: The ledger that they are of.
      files: Where to write.
      title: The title of the page.
      in_csv: Returns what to write as CSV where that is more than the others show.
    """
    if any(files):
        owner = str(books.options.get("title") or "")
        write_files(statements, owner, files, title, in_csv or (lambda: statements))
    else:
        from rich.console import Console

        from offcut.reports.drawing.terminal import print_statements

        print_statements(Console(), statements)
    finish(statements, bool(books.errors))


def write_files(
    statements: Sequence[Statement],
    owner: str,
    files: Files,
    title: str,
    in_csv: Callable[[], Sequence[Statement]],
) -> None:
    """Write the files, and tell what does not agree with the ledger.

    Args:
      statements: The statements.
      owner: The title of the books.
      files: Where to write.
      title: The title of the page.
      in_csv: Returns what to write as CSV.
    """
    from offcut.reports.drawing.report_files import write_csv, write_page, write_workbook

    for write, target in (
        (write_page, files.page),
        (write_workbook, files.workbook),
        (write_csv, files.folder),
    ):
        if target is None:
            continue
        try:
            chosen = in_csv() if write is write_csv else statements
            written = write(chosen, title, owner, target)
        except OSError as error:
            refuse(
                f"{target}: cannot be written: {error.strerror}; name a file in a folder "
                "that exists and is yours to write to"
            )
        if write is write_csv:
            click.echo(f"Wrote {len(written)} tables into {target}")
        else:
            click.echo(f"Wrote {target}")
    for check in dict.fromkeys(check for each in statements for check in each.checks):
        if not check.holds:
            click.echo(check.sentence, err=True)

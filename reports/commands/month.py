"""The command `offcut month`: from the inbox to the month's reports in one go."""

from __future__ import annotations

import datetime
import os
import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import finish, loaded, refuse, refuse_files
from offcut.reports.commands.file_options import Files, write_files
from offcut.reports.commands.ledger_options import LEDGER_VARIABLE, USUAL_LEDGER

if TYPE_CHECKING:
    from rich.console import Console

    from offcut.importers.settings import Settings
    from offcut.reports.books import Books
    from offcut.reports.close.month import Month

PAGES = "pages"
# What looks like a month or nearly so, and not like a file.
MONTH = re.compile("[0-9]{4}(-[0-9]*)?")


@click.command()
@click.argument("words", nargs=-1, metavar="[MONTH] [LEDGER]")
@click.option(
    "--html",
    "page",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Page to write. Default: pages/MONTH.html beside LEDGER.",
)
def month(words: tuple[str, ...], page: Path | None) -> None:
    """Do a month: import the inbox, list what is left to do, write the reports.

    MONTH is one such as 2025-03; without it, it is the last one that is over. Files
    are taken from the folder inbox/ beside LEDGER. They stay where they are, and what
    is booked is not booked again: this may be run as often as you like.

    \b
    Examples:
      offcut month
      offcut month 2025-03
      offcut month 2025-03 books/main.beancount --html march.html

    Exit codes: 0 where the month is done, 3 where it is not.
    """
    today = datetime.date.today()
    name, ledger = _month_and_ledger(words, today)
    from rich.console import Console
    from rich.text import Text

    from offcut.importers.problems import ImportRefused
    from offcut.importers.settings import load_settings
    from offcut.reports.close.closing import close_month
    from offcut.reports.close.month import read_month
    from offcut.reports.close_statement import close_statement
    from offcut.reports.drawing.terminal import print_statements
    from offcut.reports.ledger_file import LedgerRefused, check_readable
    from offcut.reports.period import PeriodError

    try:
        chosen = read_month(name)
    except PeriodError as error:
        raise click.UsageError(str(error)) from None
    console = Console()

    def heading(text: str) -> None:
        console.print(Text(text, style="bold"))
        console.print()

    try:
        check_readable(ledger)
        settings = load_settings(ledger)
        heading("1. The inbox")
        _import_inbox(console, ledger, settings)
    except LedgerRefused as refused:
        refuse(str(refused))
    except ImportRefused as problems:
        refuse_files(problems.problems)
    heading("2. The month's end")
    books = loaded(ledger)
    statement = close_statement(
        close_month(books, settings, chosen, today), books.path, books.currency
    )
    print_statements(console, [statement])
    console.print()
    heading("3. The reports")
    _write_page(books, chosen, page, today)
    for check in statement.checks:
        console.print(Text(check.sentence))
    finish([statement], has_errors=False)


def _month_and_ledger(words: tuple[str, ...], today: datetime.date) -> tuple[str, Path]:
    """Return the month and the ledger that the arguments name."""
    rest = list(words)
    name = (today.replace(day=1) - datetime.timedelta(days=1)).isoformat()[:7]
    if rest and MONTH.fullmatch(rest[0]):
        name = rest.pop(0)
    elif rest and not Path(rest[0]).suffix and not Path(rest[0]).exists():
        raise click.UsageError(
            "expected a month such as 2025-03, or the main file of a ledger, found "
            f"'{rest[0]}'"
        )
    if len(rest) > 1:
        raise click.UsageError(
            "Expected [MONTH] [LEDGER], such as 2025-03 main.beancount, not "
            f"{' '.join(words)}"
        )
    usual = os.environ.get(LEDGER_VARIABLE) or USUAL_LEDGER
    return name, Path(rest[0] if rest else usual)


def _import_inbox(console: Console, ledger: Path, settings: Settings) -> None:
    """Import what can be imported of the inbox, and say what became of each file.

    Raises:
      ImportRefused: Something has to be put right first; nothing was written.
    """
    from rich.text import Text

    from offcut.importers.importing import import_files
    from offcut.reports.bank_summary import print_bank
    from offcut.reports.close.inbox import INBOX, read_inbox
    from offcut.reports.close.points import counted
    from offcut.reports.commands.ending import DONE_WITH_DOUBT
    from offcut.reports.figures import plain
    from offcut.reports.import_summary import print_summary, progress_after_a_second

    inbox = read_inbox(ledger.parent, settings, ())
    files = [each.path for each in inbox.waiting]
    if not (files or inbox.imported or inbox.refused or inbox.tallies):
        there = "is empty" if (ledger.parent / INBOX).is_dir() else "is not there"
        console.print(
            Text(
                f"The folder {INBOX}/ beside {ledger.name} {there}. Download your files "
                "into it: payments, orders, the bank's."
            )
        )
    elif files:
        from rich.console import Console as OtherConsole

        with progress_after_a_second(OtherConsole(stderr=True)) as progress:
            summary = import_files(files, ledger, progress=progress)
        if summary.written:
            print_summary(console, summary)
            print_bank(console, summary.bank)
            console.print()
        if not summary.ties:
            raise SystemExit(DONE_WITH_DOUBT)
        console.print(
            Text(
                f"The books have all of {counted(len(files), 'file')} of {INBOX}/"
                f"{'' if summary.written else ' already'}: "
                f"{plain(', '.join(path.name for path in files))}. "
                f"{'It' if len(files) == 1 else 'They'} may stay there, or be moved away."
            )
        )
    for path, reason in inbox.refused:
        console.print(Text(f"NOT IMPORTED: {plain(path.name)}: {plain(reason)}."))
    for path in inbox.tallies:
        console.print(
            Text(
                f"{plain(path.name)} is the tally sheet of a fair: book it by `offcut "
                "fair`, with the cash that was counted."
            )
        )
    console.print()


def _write_page(
    books: Books, chosen: Month, page: Path | None, today: datetime.date
) -> None:
    """Write the month's reports as a page."""
    from offcut.reports.period import Period
    from offcut.reports.whole_report import whole_report

    if page is None:
        page = books.path.parent / PAGES / f"{chosen.name}.html"
        try:
            page.parent.mkdir(exist_ok=True)
        except OSError as error:
            refuse(f"{page.parent}: cannot be made: {error.strerror}; give --html FILE")
    period = Period(chosen.first, chosen.last)
    statements = list(whole_report(books, period, books.currency, "value", today))
    write_files(
        statements,
        str(books.options.get("title") or ""),
        Files(page, None, None),
        f"Reports, {period.label}",
        lambda: statements,
    )

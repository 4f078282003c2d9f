"""The command `offcut`."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterable, Sequence
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from offcut.reports import fair_command, items_command, layout_command

if TYPE_CHECKING:
    from offcut.reports.ledger_file import Ledger
    from offcut.reports.period import Period
    from offcut.reports.profit import Grouping, ProfitReports
    from offcut.reports.statement import Statement

REFUSED = 1
DONE_WITH_DOUBT = 3

EPILOG = """\b
Exit codes:
  0  done
  1  not done: a file was refused; one line on stderr says why
  2  not done: the command line was not understood
  3  done, but the ledger has errors, a report does not add up, or a proposed
     layout has doubts
"""

# What loads slowly is imported inside the commands, so that help is quick.


@click.group(epilog=EPILOG)
@click.version_option(
    metadata.version("offcut"), prog_name="offcut", message="%(prog)s %(version)s"
)
def main() -> None:
    """Plain-text books for one person who makes and sells printed paper goods.

    \b
    Once a month:
      offcut import payments.csv orders.csv --into main.beancount
      offcut profit main.beancount --month 2025-03
      offcut report main.beancount --html 2025.html --year 2025
    """
    # A pipe may not know every letter of a name: better a "?" than no report.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


@main.command(name="import")
@click.argument("files", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option(
    "--into",
    "ledger",
    type=click.Path(path_type=Path),
    required=True,
    metavar="LEDGER",
    help="The main ledger; what is new goes into imports/ beside it.",
)
@click.option(
    "--layout",
    "layouts",
    multiple=True,
    metavar="NAME",
    help="How to read the files: a layout's name or TOML file. May be given several "
    "times. Default: the one whose columns a file has.",
)
@click.option("--dry-run", is_flag=True, help="Show what would be booked; write nothing.")
def import_(
    files: tuple[Path, ...], ledger: Path, layouts: tuple[str, ...], dry_run: bool
) -> None:
    """Book payment and order FILES into a ledger.

    Payments and order lines of one call are joined on the order number. What the
    ledger has already is not booked again, so a file may be imported twice. If
    anything in a file is wrong, every problem is named and nothing is written.

    \b
    Examples:
      offcut import payments.csv orders.csv --into main.beancount
      offcut import march.csv --into main.beancount --layout my-shop --dry-run
    """
    from rich.console import Console

    from offcut.importers.importing import import_files
    from offcut.importers.problems import ImportRefused
    from offcut.reports.bank_summary import print_bank
    from offcut.reports.import_summary import print_summary, progress_after_a_second

    try:
        with progress_after_a_second(Console(stderr=True)) as progress:
            summary = import_files(files, ledger, layouts, dry_run, progress)
    except ImportRefused as refused:
        _refuse_files(refused.problems)
    print_summary(Console(), summary)
    print_bank(Console(), summary.bank)
    if not summary.ties:
        raise SystemExit(DONE_WITH_DOUBT)


@main.command(name="opening-stock")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--into",
    "ledger",
    type=click.Path(path_type=Path),
    required=True,
    metavar="LEDGER",
    help="The main ledger; it must declare the items.",
)
@click.option("--dry-run", is_flag=True, help="Check the file; write nothing.")
def opening_stock(file: Path, ledger: Path, dry_run: bool) -> None:
    """Begin with the stock that is on the shelf, from a CSV FILE.

    FILE has the columns Item, Quantity, Unit cost and Date (2025-01-01). Each row
    becomes a lot against the owner's opening equity. A row that the ledger has
    already is not booked again.

    \b
    Example:
      offcut opening-stock shelf.csv --into main.beancount
    """
    from rich.console import Console

    from offcut.importers.opening_stock import import_opening_stock
    from offcut.importers.problems import ImportRefused
    from offcut.reports.figures import money
    from offcut.reports.import_summary import counted, print_written

    try:
        report = import_opening_stock(file, ledger, dry_run)
    except ImportRefused as refused:
        _refuse_files(refused.problems)
    known = report.rows - report.booked
    click.echo(
        f"{counted(report.rows, 'row')} = {report.booked:,} booked + {known:,} already in "
        "the ledger"
    )
    click.echo(f"Booked at {money(report.value, report.currency)} {report.currency} in all")
    print_written(Console(), report.written, dry_run)


def _report_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options that say what a report is about."""
    for decorate in (
        click.option("--to", "last", metavar="DAY", help="Last day, included: 2025-03-31."),
        click.option("--from", "first", metavar="DAY", help="First day: 2025-03-01."),
        click.option("--month", metavar="MONTH", help="One month: 2025-03."),
        click.option("--year", metavar="YEAR", help="One year: 2025."),
        click.option(
            "--currency",
            metavar="CODE",
            help="Currency to report in. Default: the ledger's first operating currency.",
        ),
    ):
        command = decorate(command)
    return command


@main.command()
@click.argument("ledger", type=click.Path(path_type=Path))
@click.option(
    "--by",
    "groupings",
    type=click.Choice(["design", "channel"]),
    multiple=True,
    help="Which profit to print; give it twice for both. Default: both.",
)
@_report_options
def profit(ledger: Path, groupings: Sequence[Grouping], **options: str | None) -> None:
    """Print profit per design and per channel.

    Without a period all dates of LEDGER count. The rows printed, with what could be
    allocated to nothing, add up to the ledger's net income; the report says so.

    \b
    Examples:
      offcut profit main.beancount --year 2025
      offcut profit main.beancount --by design --month 2025-03
      offcut profit main.beancount --from 2025-11-01 --to 2025-12-24
    """
    reports, has_errors = _profit_reports(ledger, **options)
    from rich.console import Console

    from offcut.reports.profit import GROUPINGS
    from offcut.reports.profit_statement import profit_statement
    from offcut.reports.statement_terminal import print_statements

    chosen = list(dict.fromkeys(groupings)) or GROUPINGS
    statements = [profit_statement(reports, grouping) for grouping in chosen]
    print_statements(Console(), statements)
    _finish(statements, has_errors)


@main.command()
@click.argument("ledger", type=click.Path(path_type=Path))
@click.option(
    "--html",
    "page",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The page to write. It needs no other file and no network.",
)
@click.option(
    "--xlsx",
    "workbook",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The workbook to write, a sheet for each table.",
)
@click.option(
    "--csv",
    "folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="The folder to write a CSV file for each table into.",
)
@_report_options
def report(
    ledger: Path,
    page: Path | None,
    workbook: Path | None,
    folder: Path | None,
    **options: str | None,
) -> None:
    """Write profit per design and per channel as a page, a workbook or CSV files.

    \b
    Examples:
      offcut report main.beancount --html 2025.html --year 2025
      offcut report main.beancount --xlsx 2025.xlsx --csv figures --year 2025
    """
    if not (page or workbook or folder):
        raise click.UsageError("Say what to write: --html FILE, --xlsx FILE, --csv FOLDER.")
    reports, has_errors = _profit_reports(ledger, **options)
    from offcut.reports.profit import GROUPINGS
    from offcut.reports.profit_statement import profit_statement
    from offcut.reports.report_files import write_csv, write_page, write_workbook

    statements = [profit_statement(reports, grouping) for grouping in GROUPINGS]
    title = f"Profit, {reports.period.label}"
    for write, target in (
        (write_page, page),
        (write_workbook, workbook),
        (write_csv, folder),
    ):
        if target is None:
            continue
        try:
            written = write(statements, title, reports.title, target)
        except OSError as error:
            _refuse(
                f"{target}: cannot be written: {error.strerror}; name a file in a folder "
                "that exists and is yours to write to"
            )
        for path in written:
            click.echo(f"Wrote {path}")
    for check in dict.fromkeys(check for each in statements for check in each.checks):
        if not check.holds:
            click.echo(check.sentence, err=True)
    _finish(statements, has_errors)


@main.command()
@click.argument("ledger", type=click.Path(path_type=Path))
@_report_options
def inventory(ledger: Path, currency: str | None, **options: str | None) -> None:
    """Print the inventory roll: what there was, came in, left, and is left.

    Opening inventory, what was bought and made, less what was used and sold, is the
    closing inventory: for each item in units and at cost, tied to the accounts.

    \b
    Example:
      offcut inventory main.beancount --year 2025
    """
    period = _period(**options)
    loaded = _load(ledger)
    from rich.console import Console

    from offcut.reports.inventory_roll import inventory_roll, stock_currency
    from offcut.reports.inventory_statement import inventory_statement
    from offcut.reports.statement_terminal import print_statements

    currency = currency or stock_currency(loaded.entries, loaded.options)
    roll = inventory_roll(loaded.entries, loaded.options, period, currency)
    statement = inventory_statement(roll, period, loaded.errors)
    print_statements(Console(), [statement])
    _finish([statement], bool(loaded.errors))


def _period(**options: str | None) -> Period:
    """Return the period that the options name."""
    from offcut.reports.period import PeriodError, choose_period

    try:
        return choose_period(**options)
    except PeriodError as error:
        raise click.UsageError(str(error)) from None


def _load(path: Path) -> Ledger:
    """Load a ledger; print what is wrong in it."""
    from offcut.reports.ledger_file import LedgerRefused, error_lines, load_ledger

    try:
        ledger = load_ledger(path)
    except LedgerRefused as refused:
        _refuse(str(refused))
    for line in error_lines(ledger.errors):
        click.echo(line, err=True)
    return ledger


def _profit_reports(
    path: Path, currency: str | None, **period_options: str | None
) -> tuple[ProfitReports, bool]:
    """Load a ledger and make its reports."""
    period = _period(**period_options)
    ledger = _load(path)
    from offcut.reports.profit import profit_reports

    reports = profit_reports(ledger.entries, ledger.options, period, currency)
    return reports, bool(ledger.errors)


def _refuse_files(problems: Iterable[object]) -> NoReturn:
    """Stop with a line on stderr for each problem of the files."""
    from offcut.reports.figures import plain

    for problem in problems:
        click.echo(plain(str(problem)), err=True)
    raise SystemExit(REFUSED)


def _refuse(message: str) -> NoReturn:
    """Stop with one line on stderr."""
    raise click.ClickException(message)


def _finish(statements: Iterable[Statement], has_errors: bool) -> None:
    """Leave with the exit code of what was done."""
    if has_errors or not all(statement.holds for statement in statements):
        raise SystemExit(DONE_WITH_DOUBT)


main.add_command(layout_command.layout)
main.add_command(fair_command.fair)
main.add_command(items_command.items)

"""The command `offcut fair`: book one day of a fair."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ledger_options import into_option

if TYPE_CHECKING:
    import datetime

    from rich.console import Console

    from offcut.importers.fair.bookings import Fair


@click.command()
@click.argument("tally", type=click.Path(path_type=Path))
@click.option(
    "--event",
    required=True,
    metavar="NAME",
    help="The fair, as its tag has it: harbour-fair-2026 for #event-harbour-fair-2026.",
)
@click.option(
    "--date",
    "day",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="DAY",
    help="The day: 2026-06-14. Not needed where the tally has the dates of one day.",
)
@click.option(
    "--cash", metavar="AMOUNT", help="Cash counted in the evening, float and all."
)
@click.option(
    "--float", "float_", metavar="AMOUNT", help="Cash in the box before the fair."
)
@click.option(
    "--card",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The card reader's file; the payments of that day are taken from it.",
)
@click.option(
    "--currency",
    metavar="CODE",
    default="",
    help="Currency of a tally that does not say it. Default: the ledger's first.",
)
@click.option(
    "--layout",
    "layouts",
    multiple=True,
    metavar="NAME",
    help="How to read the files: a layout's name or TOML file. May be given several "
    "times. Default: the one whose columns a file has.",
)
@into_option("The main ledger; what is new goes into imports/ beside it.")
@click.option("--dry-run", is_flag=True, help="Show what would be booked; write nothing.")
def fair(
    tally: Path,
    event: str,
    day: datetime.datetime | None,
    cash: str | None,
    float_: str | None,
    card: Path | None,
    currency: str,
    layouts: tuple[str, ...],
    ledger: Path,
    dry_run: bool,
) -> None:
    """Book one day of a fair from its TALLY sheet and the money that was taken.

    TALLY is a CSV file with the columns Sold, Count, Price and Reduced by, a row a
    design or a row a sale. The cash that was counted, less the float, and the card
    payments are held against it; what they differ by is cash over or short. A fair of
    several days is booked day by day. To book a day twice changes nothing.

    \b
    Example:
      offcut fair tally.csv --event harbour-fair-2026 --date 2026-06-14 \\
        --cash 212.50 --float 50 --card reader.csv --into main.beancount
    """
    from rich.console import Console

    from offcut.importers.fair.day import book_fair
    from offcut.importers.fair.papers import FairPapers
    from offcut.importers.problems import ImportRefused
    from offcut.reports.figures import plain
    from offcut.reports.import_summary import (
        print_list,
        print_unknown_items,
        print_written,
    )

    papers = FairPapers(
        event, tally, day.date() if day else None, cash, float_, card, currency
    )
    try:
        report = book_fair(papers, ledger, layouts, dry_run)
    except ImportRefused as refused:
        for problem in refused.problems:
            click.echo(plain(problem.line("nothing was booked")), err=True)
        raise SystemExit(1) from None
    console = Console()
    _print_figures(console, report.fair)
    if report.already_there:
        click.echo("Nothing new: the ledger has all of it already.")
    print_written(console, report.written, dry_run)
    print_list(console, [plain(note) for note in report.notes], "notes")
    if report.unknown_items:
        print_unknown_items(console, report.unknown_items)


def _print_figures(console: Console, fair: Fair) -> None:
    """Print what the day came to, on one line where it has room."""
    from rich.text import Text

    from offcut.reports.figures import money, pieces

    currency = fair.tally.currency
    figures = {
        "tally": fair.tally.total,
        "cash": fair.cash,
        "card": fair.card,
        "tips": fair.tips,
    }
    if fair.over:
        figures["over" if fair.over > 0 else "short"] = abs(fair.over)
    shown = [f"{name} {money(amount, currency)}" for name, amount in figures.items()]
    over = "" if fair.over else "; nothing over or short"
    for line in (
        f"{fair.event}, {fair.tally.day}: {pieces(fair.tally.pieces)} pieces sold",
        f"{', '.join(shown)} {currency}{over}",
    ):
        console.print(Text(line))

"""The command `offcut new`: found books of one's own."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from offcut.reports.commands.ending import refuse

if TYPE_CHECKING:
    from offcut.reports.founding.shop import Shop

T = TypeVar("T")


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", metavar="TEXT", help="The name of the shop.")
@click.option("--currency", metavar="CODE", help="Its currency: USD.")
@click.option(
    "--first-day",
    metavar="DAY",
    help="The first day of the books: 2025-01-01. Default: that of this year.",
)
@click.option(
    "--channels",
    metavar="WORDS",
    help="Where it sells: web,market,fair,wholesale,commission. Default: all of these.",
)
@click.option(
    "--jurisdiction",
    metavar="NAME",
    help="Whose tax rules hold, such as us-federal. Default: none.",
)
@click.option(
    "--status", metavar="WORD", help="How you are taxed, as these rules call it: single."
)
def new(folder: Path, **answers: str | None) -> None:
    """Found books of your own in FOLDER, which is empty or not there yet.

    Asks a few questions at a terminal; what an option answers is not asked. Writes a
    small ledger with accounts, a catalogue to fill in, settings, and an inbox for
    downloaded files, each explained by remarks in it.

    \b
    Examples:
      offcut new books
      offcut new books --name "Corner Press" --currency USD --first-day 2025-01-01
    """
    from offcut.reports.founding.folder import FolderRefused, check_folder, found

    try:
        check_folder(folder)
        shop = _shop(folder, answers)
        written = found(folder, shop)
    except FolderRefused as refused:
        refuse(str(refused))
    from offcut.reports.figures import plain

    click.echo(plain(f"Wrote the books of {shop.title} into {folder}:"))
    for path in written:
        click.echo(f"  {plain(str(path))}{'/' if path.is_dir() else ''}")
    click.echo(
        "\nRead main.beancount first: it says what each file is for. Then:\n"
        "  offcut guide first-month   how a month is done\n"
        "  offcut move-in --help      if you kept a spreadsheet until now\n"
        f"  offcut check {plain(str(written[0]))}"
    )


def _shop(folder: Path, answers: dict[str, str | None]) -> Shop:
    """Return what was answered, by options and at the terminal."""
    from offcut.reports.founding import shop

    asks = sys.stdin.isatty() and sys.stdout.isatty()

    def answer(option: str, question: str, usual: str, read: Callable[[str], T]) -> T:
        """Return an option's value, or ask for it until it can be read."""
        given = answers[option.replace("-", "_")]
        if given is None and not asks:
            if not usual:
                raise click.UsageError(
                    f"There is no terminal to ask at: give --{option}. {question}?"
                )
            given = usual
        if given is not None:
            try:
                return read(given)
            except ValueError as error:
                raise click.UsageError(f"--{option}: {error}") from None
        while True:
            text = click.prompt(question, default=usual or None, type=str)
            try:
                return read(text)
            except ValueError as error:
                click.echo(f"  {error}")

    name = folder.absolute().name.replace("-", " ").replace("_", " ").strip()
    title = answer("name", "Name of the shop", name, shop.read_title)
    currency = answer(
        "currency", "Currency of the books, such as USD", "", shop.read_currency
    )
    this_year = datetime.date.today().replace(month=1, day=1).isoformat()
    first = answer("first-day", "First day of the books", this_year, shop.read_day)
    everywhere = ",".join(shop.CHANNELS).lower()
    channels = answer("channels", "Where you sell", everywhere, shop.read_channels)
    known = ", ".join(shop.jurisdictions())
    rules = answer(
        "jurisdiction",
        f"Whose tax rules hold ({known}, or none)",
        "none",
        lambda text: shop.read_jurisdiction(text, currency, first),
    )
    status = ""
    if rules:
        status = answer(
            "status",
            f"How you are taxed ({', '.join(rules.statuses)})",
            "" if len(rules.statuses) > 1 else rules.statuses[0],
            lambda text: shop.read_status(text, rules.statuses),
        )
    return shop.Shop(title, currency, first, channels, rules, status)

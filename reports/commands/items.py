"""The command `offcut items`: say what unknown item texts mean, once."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ledger_options import ledger_argument

if TYPE_CHECKING:
    from offcut.importers.learning.answers import Unknown
    from offcut.importers.learning.parked_lines import UnknownText
    from offcut.importers.settings import ItemRule

MOST_LISTED = 40


@click.command()
@ledger_argument
@click.option(
    "--rule",
    "rules",
    multiple=True,
    metavar="TEXT=PRODUCT",
    help='An answer: "Heron sticker*=HERON-STK". May be given several times.',
)
@click.option(
    "--layout",
    "layouts",
    multiple=True,
    metavar="NAME",
    help="A layout's TOML file, where lines were read by one that is not among the "
    "settings.",
)
@click.option("--dry-run", is_flag=True, help="Show what would be booked; write nothing.")
def items(
    ledger: Path, rules: tuple[str, ...], layouts: tuple[str, ...], dry_run: bool
) -> None:
    """List the item texts that no rule knows, and learn what they mean.

    Lines of order and tally files whose text no rule knows wait in suspense. At a
    terminal each text is asked for; --rule answers without one. The answers become
    rules in offcut.toml beside LEDGER, and the lines that waited are booked by them.

    TEXT is an item text or a pattern over the whole of it: * is any text. PRODUCT is a
    product of the ledger, several as in "HERON-STK, 2 MOTH-STK", or an account.

    \b
    Examples:
      offcut items main.beancount
      offcut items main.beancount --rule "Heron sticker*=HERON-STK"
    """
    from offcut.importers.learning.answers import find_unknown, learn
    from offcut.importers.problems import ImportRefused
    from offcut.reports.figures import plain

    try:
        unknown = find_unknown(ledger, layouts)
        answers: list[str | ItemRule] = list(rules)
        if not answers:
            _list(unknown.texts)
            if not unknown.texts:
                return
            if not (sys.stdin.isatty() and sys.stdout.isatty()):
                _print_proposals(unknown)
                return
            answers.extend(_ask(unknown))
            if not answers:
                return
        learned = learn(ledger, answers, layouts, dry_run)
    except ImportRefused as refused:
        for problem in refused.problems:
            click.echo(plain(problem.line("nothing was written")), err=True)
        raise SystemExit(1) from None

    from rich.console import Console

    from offcut.reports.import_summary import counted, print_written

    verb = "would be " if dry_run else ""
    click.echo(
        f"{counted(len(learned.rules), 'rule')} {verb}added, "
        f"{counted(learned.parked_lines, 'parked line')} {verb}booked"
    )
    print_written(Console(), learned.written, dry_run)
    for note in learned.notes:
        click.echo(f"  {plain(note)}")
    if learned.unknown:
        click.echo(f"Still not known: {counted(len(learned.unknown), 'item text')}")


def _list(texts: Sequence[UnknownText]) -> None:
    """Print the texts that wait."""
    from offcut.reports.import_summary import counted

    if not texts:
        click.echo("No item text waits in suspense.")
        return
    verb = "waits" if len(texts) == 1 else "wait"
    click.echo(f"{counted(len(texts), 'item text')} {verb} in suspense:")
    for each in texts[:MOST_LISTED]:
        click.echo(f"  {_described(each)}")
    if len(texts) > MOST_LISTED:
        click.echo(f"  … and {len(texts) - MOST_LISTED:,} more item texts")


def _described(each: UnknownText) -> str:
    from offcut.reports.figures import money, plain
    from offcut.reports.import_summary import counted, shortened

    return plain(
        f"{shortened(each.text, '…')}: {counted(each.lines, 'line')}, "
        f"{money(each.amount, each.currency)} {each.currency}, latest {each.latest}, in "
        f"{' and '.join(each.accounts)}"
    )


def _print_proposals(unknown: Unknown) -> None:
    """Print the TOML that would name the texts, with the likeliest products."""
    from offcut.importers.learning.answers import likely_products
    from offcut.reports.figures import plain

    click.echo(
        '\nAdd to offcut.toml which products they are, or answer by --rule "TEXT=PRODUCT":'
    )
    for each in unknown.texts[:MOST_LISTED]:
        likely = likely_products(each.text, unknown.products, most=1)
        product = likely[0].currency if likely else "YOUR-PRODUCT"
        text = plain(json.dumps(each.text, ensure_ascii=False))
        remark = "  # the likeliest by its name" if likely else ""
        click.echo(f'\n[[items]]\ntext = {text}\nproduct = "{product}"{remark}')


def _ask(unknown: Unknown) -> Iterator[ItemRule]:
    """Ask for each text; yield the rules of those that were answered."""
    from offcut.importers.learning.answers import likely_products
    from offcut.importers.learning.item_rules import item_rule
    from offcut.importers.problems import ImportRefused
    from offcut.reports.figures import plain

    click.echo(
        "\nA number, a product, or an account for what is none. Enter skips a text, a "
        "full\nstop leaves the rest, Ctrl-C ends without writing anything."
    )
    for each in unknown.texts:
        click.echo(f"\n{_described(each)}")
        likely = likely_products(each.text, unknown.products)
        for number, item in enumerate(likely, 1):
            click.echo(plain(f"  {number}  {item.currency}  {item.name}"))
        numbered = {str(number): item.currency for number, item in enumerate(likely, 1)}
        rule = None
        while rule is None:
            answer = click.prompt("It is", default="", show_default=False).strip()
            if answer in ("", "."):
                break
            try:
                rule = item_rule(
                    each.text, numbered.get(answer, answer), unknown.commodities
                )
            except ImportRefused as refused:
                click.echo(plain(refused.problems[0].message))
        if rule:
            yield rule
        elif answer == ".":
            return

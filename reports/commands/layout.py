"""The command `offcut layout`: propose how to read an unknown file."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

if TYPE_CHECKING:
    from offcut.importers.problems import ImportRefused
    from offcut.importers.proposal.draft import Doubt
    from offcut.importers.proposal.proposing import Proposal

DOUBTFUL = 3
_FORMS = {
    "name": ("[A-Za-z0-9][A-Za-z0-9_-]*", "letters, digits, - and _"),
    "source": ("[a-z][a-z0-9]*(-[a-z0-9]+)*", "a lower-case word such as card"),
    "channel": ("[A-Z][A-Za-z0-9-]*", "a part of an account's name, such as Web"),
    "currency": ("[A-Z]{3}", "a currency such as USD"),
}


def _checked(context: click.Context, option: click.Parameter, value: str | None) -> str:
    """Return an option's value, which must have its form."""
    if value is None:
        return ""
    pattern, expected = _FORMS[option.name or ""]
    if not re.fullmatch(pattern, value):
        raise click.BadParameter(f"expected {expected}, found {value!r}")
    return value


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--into",
    "ledger",
    type=click.Path(path_type=Path),
    metavar="LEDGER",
    help="The main ledger: the layout is written to layouts/NAME.toml beside it.",
)
@click.option(
    "--output",
    type=click.Path(path_type=Path),
    metavar="TOML",
    help="The file to write the layout to. Without it and --into nothing is written.",
)
@click.option(
    "--name", callback=_checked, help="The layout's name. Default: from the file's name."
)
@click.option("--kind", type=click.Choice(["payments", "bank", "order-lines", "tally"]))
@click.option("--source", callback=_checked, help="What to call where the file is from.")
@click.option("--channel", callback=_checked, help="The channel of its sales: Web.")
@click.option("--currency", callback=_checked, help="The currency where no column says it.")
def layout(
    file: Path,
    ledger: Path | None,
    output: Path | None,
    kind: str | None,
    **given: str,
) -> None:
    """Propose how to read FILE, a CSV that no layout knows.

    It says what it believes of every column and why, shows the first rows as they
    would be booked, and writes the layout. What the file does not tell is asked at a
    terminal; without one it is marked DOUBT in what is written, and the exit code
    is 3. A file that is there already is never overwritten.

    \b
    Examples:
      offcut layout march.csv --into main.beancount --channel Web
      offcut layout march.csv --output my-bank.toml --kind bank
    """
    if ledger and output:
        raise click.UsageError("--into and --output both say where to write; give one")

    from rich.console import Console

    from offcut.importers.problems import ImportRefused, Problem
    from offcut.importers.proposal.draft import Wishes
    from offcut.importers.proposal.known_layouts import known_fits
    from offcut.importers.proposal.proposing import (
        layout_path,
        propose_file,
        with_ledger,
        write_layout,
    )
    from offcut.reports.figures import plain
    from offcut.reports.layout_terminal import print_beliefs, print_doubts, print_first

    console = Console()
    answers: dict[str, str] = {}
    try:
        wishes = Wishes(
            given["name"], kind or "", given["source"], given["channel"], given["currency"]
        )
        if ledger:
            wishes = with_ledger(wishes, ledger)
        proposal = propose_file(file, wishes, answers, ledger)
        path = output or (layout_path(ledger, proposal.name) if ledger else None)
        if path and path.exists():
            message = "the file is there already; give another by --name or --output"
            raise ImportRefused([Problem(str(path), None, None, message)])
        for sentence in known_fits(proposal.sample, ledger):
            click.echo(plain(sentence))
        print_beliefs(console, proposal)
        if proposal.doubts and _at_a_terminal():
            proposal = _ask_all(
                proposal,
                answers,
                lambda: propose_file(file, wishes, answers, ledger),
            )
            print_beliefs(console, proposal)
        if proposal.doubts:
            print_doubts(console, proposal.doubts)
        print_first(console, proposal)
        click.echo()
        if path:
            write_layout(proposal.text, path, ledger)
            click.echo(f"Wrote {plain(str(path))}")
        else:
            click.echo("\n".join(map(plain, proposal.text.splitlines())))
    except ImportRefused as refused:
        _refuse(refused)
    if proposal.doubts:
        raise SystemExit(DOUBTFUL)


def _at_a_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _ask_all(
    proposal: Proposal, answers: dict[str, str], again: Callable[[], Proposal]
) -> Proposal:
    """Ask about each doubt; return what is proposed with all answers.

    Args:
      proposal: What is proposed without them.
      answers: Takes the answers.
      again: Returns what is proposed with the answers so far.
    """
    while open_doubt := next(
        (d for d in proposal.doubts if d.choices and d.key not in answers), None
    ):
        answers[open_doubt.key] = _ask(open_doubt)
        proposal = again()
    return proposal


def _ask(doubt: Doubt) -> str:
    """Return the answer to one doubt."""
    from offcut.reports.figures import plain
    from offcut.reports.layout_terminal import choice_line

    click.echo()
    click.echo(plain(doubt.question))
    for number, choice in enumerate(doubt.choices, 1):
        click.echo(f"  {number}  {choice_line(choice.value, choice.meaning)}")
    hint = f"1 to {len(doubt.choices)}" + (", or another" if doubt.free else "")

    def answer(text: str) -> str:
        if text.isascii() and text.isdigit() and 1 <= int(text) <= len(doubt.choices):
            return doubt.choices[int(text) - 1].value
        pattern, expected = _FORMS.get(doubt.key, ("", ""))
        if doubt.free and re.fullmatch(pattern, text):
            return text
        raise click.BadParameter(f"expected {hint}" + (f": {expected}" if expected else ""))

    value: str = click.prompt(f"Answer ({hint})", default="1", value_proc=answer)
    return value


def _refuse(refused: ImportRefused) -> NoReturn:
    """Stop with a line on stderr for each problem."""
    from offcut.reports.figures import plain

    for problem in refused.problems:
        click.echo(plain(problem.line("nothing was written")), err=True)
    raise SystemExit(1)

"""The command `offcut guide`: short guides to what is done now and then."""

from __future__ import annotations

import click

from offcut.reports.guides import NAMES, guide_text, guide_title


@click.command()
@click.argument("name", type=click.Choice(NAMES), required=False)
def guide(name: str | None) -> None:
    """Print a short guide; without NAME, list the guides that there are.

    \b
    Examples:
      offcut guide
      offcut guide first-month
    """
    if name:
        click.echo(guide_text(name), nl=False)
        return
    for each in NAMES:
        click.echo(f"{each:20} {guide_title(each)}")
    click.echo("\nTo read one: offcut guide first-month")

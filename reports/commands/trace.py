"""The command `offcut trace`: the ledger's lines behind a figure."""

from __future__ import annotations

from pathlib import Path

import click

from offcut.reports.commands.ending import finish, loaded, refuse
from offcut.reports.commands.ledger_options import ledger_argument


@click.command()
@click.argument("figure")
@ledger_argument
@click.option(
    "--depth",
    type=click.IntRange(min=0),
    metavar="STEPS",
    help="How many steps to go down: 1 shows a month's orders only. Default: all.",
)
def trace(figure: str, ledger: Path, depth: int | None) -> None:
    """Show the ledger's lines behind a FIGURE, each with its file and line.

    FIGURE is a design and a month, an order, or a lot of an item by its day. A design's
    month goes down to its orders, these to the lots that they sold, a lot to its print
    run, and that to the purchases of its paper and ink.

    \b
    Examples:
      offcut trace "Heron at Dusk 2025-03" --depth 1
      offcut trace "order W1042" main.beancount
      offcut trace "lot HERON-STK 2025-02-03"
    """
    books = loaded(ledger)
    from rich.console import Console

    from offcut.reports.drawing.terminal import print_statements
    from offcut.reports.trace.tracing import TraceError
    from offcut.reports.trace.tracing import trace as traced
    from offcut.reports.trace_statement import trace_statement

    try:
        root = traced(figure, books.trace_index, lambda: books.table)
    except TraceError as error:
        refuse(str(error))
    statement = trace_statement(root, books.path, depth)
    print_statements(Console(), [statement])
    finish([statement], bool(books.errors))

"""The command `offcut view`: the ledger and the reports in a browser."""

from __future__ import annotations

from pathlib import Path

import click

from offcut.reports.commands.ending import refuse
from offcut.reports.commands.ledger_options import ledger_argument


@click.command()
@ledger_argument
@click.option(
    "--edit", is_flag=True, help="Let what is changed in the browser be saved to LEDGER."
)
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=5000,
    show_default=True,
    help="The port to listen at.",
)
def view(ledger: Path, edit: bool, port: int) -> None:
    """Show LEDGER and its reports in a browser, until Ctrl-C is pressed.

    This is fava with a page of reports: profit, each design by itself, channels, shelf,
    months and years, the month's end, plans, and an estimate of tax (not advice: rules
    differ by place; ask a licensed accountant). fava's filters by time, account, tag and
    link apply, each line leads to the journal, and its import page reads the inbox. Only
    this machine can see it, and nothing is written without --edit. A ledger that changes
    is read anew.

    \b
    Examples:
      offcut view
      offcut view main.beancount --port 5001
      offcut view main.beancount --edit

    \b
    The same page comes with fava's own command, by a line in the ledger:
      2025-01-01 custom "fava-extension" "offcut.reports.viewer"
    """
    from offcut.reports.ledger_file import LedgerRefused, check_readable

    try:
        check_readable(ledger)
    except LedgerRefused as refused:
        refuse(str(refused))
    from cheroot.wsgi import Server

    from offcut.reports.viewer.server import LOOPBACK, address, viewer

    app = viewer(ledger, edit)
    server = Server((LOOPBACK, port), app)
    try:
        server.prepare()
    except OSError:
        refuse(f"port {port} cannot be had; name another one: --port {port + 1}")
    click.echo(f"{address(app, port)}  (Ctrl-C ends it)")
    try:
        server.serve()
    except KeyboardInterrupt:
        pass
    finally:
        server.stop()

"""Run fava on this machine, with the reports in it."""

from __future__ import annotations

import datetime
from pathlib import Path

from beancount.core import data
from beancount.parser.grammar import ValueType
from fava.application import create_app
from fava.core import FavaLedger
from flask import Flask

from offcut.reports.viewer import Offcut
from offcut.reports.viewer.same_machine import own_machine_only

LOOPBACK = "127.0.0.1"


def viewer(ledger: Path, can_edit: bool) -> Flask:
    """Return fava with the reports, whether or not the ledger has their line.

    Args:
      ledger: The main file of the ledger.
      can_edit: Whether what fava can write may be written.
    """
    app = create_app([ledger.resolve()], load=True, read_only=not can_edit)
    for loaded in app.config["LEDGERS"].ledgers:
        _add_reports(loaded)
    app.wsgi_app = own_machine_only(app.wsgi_app)  # type: ignore[assignment, method-assign]
    return app


def _add_reports(ledger: FavaLedger) -> None:
    """Add the extension to a ledger that does not name it.

    fava reads its extensions from the ledger's directives, so for a moment there is one
    more, in memory: neither the user's file nor the number of a line changes. fava keeps
    an extension over loads of the ledger, so adding it once is enough.
    """
    extensions, written = ledger.extensions, ledger.all_entries_by_type
    if extensions.get_extension(Offcut.__qualname__) is not None:
        return
    line = data.Custom(
        meta=data.new_metadata("<offcut.reports.viewer>", 0),
        date=datetime.date.min,
        type="fava-extension",
        values=[ValueType("offcut.reports.viewer", str)],
    )
    ledger.all_entries_by_type = written._replace(
        Custom=[*written.Custom, line]  # type: ignore[list-item]
    )
    extensions.load_file()
    ledger.all_entries_by_type = written
    reports = extensions.get_extension(Offcut.__qualname__)
    assert reports is not None
    reports.after_load_file()


def address(app: Flask, port: int) -> str:
    """Return the address of the first report.

    Args:
      app: fava with the reports.
      port: The port that it is served at.
    """
    slug = app.config["LEDGERS"].first_slug()
    return f"http://{LOOPBACK}:{port}/{slug}/extension/{Offcut.__qualname__}/"

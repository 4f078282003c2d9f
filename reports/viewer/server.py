"""Run fava on this machine, with the reports in it."""

from __future__ import annotations

from pathlib import Path

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

    fava has no door for this; its instances outlive loads of the ledger, so adding it
    once is enough, and neither the user's file nor the number of a line changes.
    """
    if ledger.extensions.get_extension(Offcut.__qualname__) is None:
        reports = Offcut(ledger)
        ledger.extensions._instances[reports.name] = reports
        reports.after_load_file()


def address(app: Flask, port: int) -> str:
    """Return the address of the first report.

    Args:
      app: fava with the reports.
      port: The port that it is served at.
    """
    slug = app.config["LEDGERS"].first_slug()
    return f"http://{LOOPBACK}:{port}/{slug}/extension/{Offcut.__qualname__}/"

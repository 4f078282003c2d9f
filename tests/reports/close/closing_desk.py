"""A ledger in a folder, its month-end list, and what settles the points of it."""

from __future__ import annotations

import datetime
import subprocess
import sys
import textwrap
from pathlib import Path

from offcut.importers.settings import load_settings
from offcut.reports.books import Books
from offcut.reports.close.closing import Closing, close_month
from offcut.reports.close.month import read_month
from offcut.reports.close.points import ClosePoint
from offcut.reports.ledger_file import load_ledger

START = "from offcut.reports.command import main; main(prog_name='offcut')"
TODAY = datetime.date(2025, 6, 1)
PLUGIN = 'plugin "offcut.plugins"\noption "operating_currency" "USD"\n'


class Desk:
    """A folder with a ledger, and the month that is closed in it."""

    def __init__(self, folder: Path, text: str, month: str = "2025-03") -> None:
        self.ledger = folder / "main.beancount"
        self.month = month
        self.today = TODAY
        self.ledger.write_text(PLUGIN + textwrap.dedent(text), "utf-8")

    def set(self, text: str) -> None:
        """Write the settings beside the ledger."""
        (self.ledger.parent / "offcut.toml").write_text(textwrap.dedent(text), "utf-8")

    def add(self, text: str) -> None:
        """Write lines to the end of the ledger."""
        with self.ledger.open("a", encoding="utf-8") as file:
            file.write(f"\n{textwrap.dedent(text)}\n")

    def close(self) -> Closing:
        """Return the month-end list."""
        ledger = load_ledger(self.ledger)
        books = Books(ledger.entries, ledger.options, ledger.errors, self.ledger)
        return close_month(
            books, load_settings(self.ledger), read_month(self.month), self.today
        )

    def errors(self) -> list[str]:
        """Return what is wrong in the ledger."""
        return [error.message for error in load_ledger(self.ledger).errors]

    def points(self, what: str) -> list[ClosePoint]:
        """Return the points of a kind."""
        return [point for point in self.close().points if point.what == what]

    def point(self, what: str) -> ClosePoint:
        """Return the only point of a kind."""
        (point,) = self.points(what)
        return point

    def settle(self, point: ClosePoint) -> None:
        """Do what a point says: run its command, or write its lines into the ledger."""
        if point.settle.startswith("offcut "):
            script = f'offcut() {{ "$0" -c "{START}" "$@"; }}\n{point.settle}'
            subprocess.run(
                ["sh", "-c", script, sys.executable],
                check=True,
                capture_output=True,
            )
        else:
            self.add(point.settle)

    def line(self, point: ClosePoint) -> str:
        """Return the line of the ledger that a point stands at."""
        lines = Path(point.file).read_text("utf-8").split("\n")
        return lines[point.line - 1]

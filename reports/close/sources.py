"""Which sources' files are missing: those that usually have rows in a month.

A source is expected where at least two of the three months before have rows of it; one
that the user has a layout for is told, too. A month in which there was nothing to import
is said in the ledger:

    2025-03-31 custom "no-rows" "market"
"""

from __future__ import annotations

from collections.abc import Collection

from offcut.importers.ledger_text import escaped
from offcut.importers.settings import Settings
from offcut.reports.close.entry_reader import NO_ROWS
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.points import TO_DO, TO_KNOW, ClosePoint, Found, Looked, several

MONTHS_BEFORE = 3
ENOUGH = 2


def check_sources(found: LedgerPass, settings: Settings, waiting: Collection[str]) -> Found:
    """Return the sources without rows in the month.

    Args:
      found: What the ledger has.
      settings: The user's settings.
      waiting: The sources that a file in the inbox has rows of the month of.
    """
    month = found.month
    own = {each.source for each in settings.layouts.values() if each.kind != "tally"}
    tallies = {each.source for each in found.roles.layouts if each.kind == "tally"}
    last = range(month.number - MONTHS_BEFORE, month.number)
    points, there = [], []
    for source in sorted({*found.months, *own} - tallies):
        months = found.months.get(source, set())
        before = sum(number in months for number in last)
        if month.number in months:
            there.append(source)
            continue
        is_expected = before >= ENOUGH and source not in settings.close.not_expected
        has_layout = source in own and source not in settings.close.not_expected
        if source in found.none or source in waiting or not (is_expected or has_layout):
            continue
        why = (
            f"{before} of the {MONTHS_BEFORE} months before have rows of it"
            if is_expected
            else "you have a layout for it"
        )
        points.append(
            ClosePoint(
                TO_DO if is_expected else TO_KNOW,
                f"No rows of {source}",
                f"{month.label} has no rows of {source}, and {why}. Download its file and "
                "import it; if there was nothing this month, say so by this line. A source "
                "that is not monthly goes into not-expected in [close] of offcut.toml.",
                date=month.last,
                settle=f'{month.last} custom "{NO_ROWS}" "{escaped(source)}"',
            )
        )
    in_order = []
    if there:
        in_order.append(Looked("Files are imported", f"Rows of {several(there)}."))
    if found.none:
        none = several(sorted(found.none))
        in_order.append(Looked("Nothing to import", f"The ledger says so of {none}."))
    return Found(tuple(points), tuple(in_order))

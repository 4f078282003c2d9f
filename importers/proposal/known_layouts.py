"""Say which layouts that are known already fit a file."""

from __future__ import annotations

from pathlib import Path

from offcut.importers.importing import read_records
from offcut.importers.layout import Layout
from offcut.importers.layout_choice import candidates, missing_columns
from offcut.importers.problems import ImportRefused
from offcut.importers.proposal.form import Sample
from offcut.importers.settings import load_settings


def known_fits(sample: Sample, ledger: Path | None) -> list[str]:
    """Return a sentence for each known layout that a file has the columns of.

    As in the import, the shipped layouts count where none of the user's own fits.

    Args:
      sample: The file's beginning.
      ledger: The main ledger file, whose settings have layouts of their own.

    Raises:
      ImportRefused: The settings have mistakes.
    """
    own = load_settings(ledger).layouts if ledger else {}
    for group in candidates((), own):
        fitting = [
            layout
            for layout in group.values()
            if not layout.file.names and not missing_columns(sample.contents, layout)
        ]
        if len(fitting) == 1:
            return [_sentence(sample, fitting[0])]
        if fitting:
            names = " and ".join(layout.name for layout in fitting)
            return [
                f"The layouts {names} fit this file; choose one by offcut import --layout"
            ]
    return []


def _sentence(sample: Sample, layout: Layout) -> str:
    """Return what becomes of a file that has the columns of a layout."""
    if layout.kind == "tally":
        return f"The layout {layout.name} fits this file; offcut fair reads it"
    try:
        read_records(sample.name, sample.contents, layout)
    except ImportRefused as refused:
        reason = refused.found[0].line("")
        return (
            f"The file has the columns of the layout {layout.name}, but offcut import "
            f"refuses it: {reason}"
        )
    return f"The layout {layout.name} fits this file; offcut import reads it"

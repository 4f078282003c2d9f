"""Propose a layout for a file, try it on the file, and write it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from contextlib import nullcontext
from pathlib import Path
from typing import NamedTuple

from offcut.importers.fair.tally import read_tally
from offcut.importers.importing import read_records
from offcut.importers.known import scan_ledger
from offcut.importers.layout import Layout, layout_of
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.proposal.draft import Doubt, Draft, Wishes
from offcut.importers.proposal.form import Sample, read_sample
from offcut.importers.proposal.layout import open_doubts, propose
from offcut.importers.proposal.layout_text import layout_text
from offcut.importers.proposal.trial import first_bookings
from offcut.importers.settings import FOLDER, load_settings
from offcut.importers.values import date_reader
from offcut.importers.writing import add_texts, clear_unfinished, locked

_ANY_DAY = datetime.date(2025, 3, 31)


class Proposal(NamedTuple):
    """A layout that is proposed for a file.

    Attributes:
      name: The layout's name.
      sample: The file's beginning.
      draft: The layout, with what is believed and why.
      layout: The layout as the importers take it.
      text: The layout as TOML.
      doubts: What the file does not tell.
      first: What the first rows are booked as, as text of a ledger.
    """

    name: str
    sample: Sample
    draft: Draft
    layout: Layout
    text: str
    doubts: tuple[Doubt, ...]
    first: str


def with_ledger(wishes: Wishes, ledger: Path) -> Wishes:
    """Return wishes with the currency and the channels that a ledger has.

    Args:
      wishes: What the user said.
      ledger: The main ledger file.

    Raises:
      ImportRefused: The ledger or its settings cannot be read.
    """
    settings = load_settings(ledger)
    contents = scan_ledger(ledger).files[ledger.resolve()]
    channels = tuple(dict.fromkeys(each.channel for each in settings.layouts.values()))
    return wishes._replace(
        usual_currency=_operating_currency(contents),
        channels=tuple(channel for channel in channels if channel),
    )


def propose_file(
    path: Path, wishes: Wishes, answers: Mapping[str, str], ledger: Path | None = None
) -> Proposal:
    """Return the layout that is proposed for a file.

    Args:
      path: The file.
      wishes: What the user said beforehand.
      answers: What the user answered, by the keys of doubts.
      ledger: The main ledger file, whose settings say what item texts mean.

    Raises:
      ImportRefused: The file cannot be read, or is no table of dates and amounts.
    """
    sample = read_sample(path, answers.get("file.encoding", ""))
    draft = propose(sample, wishes, answers)
    name = wishes.name or draft.table["source"]
    layout = layout_of(name, draft.table, f"{name}.toml")
    first = ""
    try:
        if layout.kind == "tally":
            currency = layout.currencies[0]
            day = _first_day(draft, layout)
            read_tally(sample.name, sample.contents, layout, day, currency)
        else:
            read_records(sample.name, sample.contents, layout)
            first = first_bookings(sample, draft, ledger)
    except ImportRefused as refused:
        if not draft.doubts:
            reason = refused.found[0].line("")
            question = f"Read so, the file is refused ({reason}). What is the right layout?"
            draft.doubts.append(Doubt("", question, ()))
    doubts = tuple(open_doubts(draft))
    return Proposal(name, sample, draft, layout, layout_text(draft), doubts, first)


def _first_day(draft: Draft, layout: Layout) -> datetime.date:
    """Return the first day that a tally has; any day where it has none."""
    if "date" not in layout.columns:
        return _ANY_DAY
    (header,) = layout.columns["date"]
    dates = next(each for each in draft.columns if each.header == header)
    return date_reader(layout.dates, layout.date_locale)(dates.cells[0])


def write_layout(text: str, path: Path, ledger: Path | None = None) -> None:
    """Write a layout into a file that is not there yet, all of it or nothing.

    Args:
      text: The layout.
      path: The file.
      ledger: The main ledger file, where it is among that one's layouts.

    Raises:
      ImportRefused: The file is there, or cannot be written.
    """
    with locked(ledger) if ledger else nullcontext():
        if path.exists():
            message = "the file is there already; give another by --name or --output"
            raise ImportRefused([Problem(str(path), None, None, message)])
        clear_unfinished(path.parent, path.name)
        add_texts({path: text})


def layout_path(ledger: Path, name: str) -> Path:
    """Return where a ledger's own layout of a name is."""
    return ledger.parent / FOLDER / f"{name}.toml"


def _operating_currency(contents: bytes) -> str:
    """Return the first operating currency that a ledger's text states, if any."""
    for line in contents.splitlines():
        words = line.split(b'"')
        if line.startswith(b"option") and words[1:2] == [b"operating_currency"]:
            return words[3].decode("ascii", "replace") if len(words) > 3 else ""
    return ""

"""Print what is believed of an unknown file, what is doubtful, how it would be booked."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from offcut.importers.proposal.draft import Doubt
from offcut.importers.proposal.kind import KIND_MEANINGS
from offcut.importers.proposal.layout import beliefs
from offcut.importers.proposal.proposing import Proposal
from offcut.reports.figures import plain
from offcut.reports.import_summary import counted

_MARKS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
_LONGEST = 60


def print_beliefs(console: Console, proposal: Proposal) -> None:
    """Print what is believed of a file and of each of its columns, and why.

    Args:
      console: Where to print.
      proposal: The layout proposed.
    """
    sample, table = proposal.sample, proposal.draft.table
    console.print(Text(plain(sample.name), style="bold"))
    rows = counted(len(proposal.draft.columns[0].cells), "row")
    if not sample.whole:
        rows = f"the first {rows} of it (it is larger than 2 MB; the rest was not read)"
    form = f"{sample.encodings[0].name}, {_MARKS[sample.delimiter]} between the cells"
    if sample.preamble:
        form += f", {counted(sample.preamble, 'line')} before the headings"
    if not sample.has_header:
        form += ", no headings"
    kind = table["kind"]
    console.print(Text(f"Read: {rows}; {form}"))
    currencies = table["currency"]
    codes = currencies if isinstance(currencies, str) else ", ".join(currencies)
    forms = table["forms"]
    dates = forms.get("date", "none")
    shown = dates if isinstance(dates, str) else " or ".join(dates)
    if language := forms.get("date-locale"):
        shown += f" with the names of {language}"
    console.print(
        Text(
            f"Kind: {kind}, {KIND_MEANINGS[kind]}; {codes}; dates {shown}; numbers as in "
            f"{forms['locale']}"
        )
    )
    console.print()
    columns = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="")
    for heading in ("Column", "Read as", "Why"):
        columns.add_column(heading, overflow="fold")
    for header, key, why in beliefs(proposal.draft):
        columns.add_row(
            Text(_short(header) or "(no heading)"),
            Text(key or "not used", style="" if key else "dim"),
            Text(_short(why)),
        )
    console.print(columns)
    for movement, words in table.get("types", {}).items():
        if movement != "default":
            said = ", ".join(_short(word) for word in words)
            console.print(Text(f"{movement}: {said}"))
    for rule in table.get("leave-out", ()):
        what = rule.get("equals") or rule.get("matches")
        console.print(Text(f"Left out: {_short(rule['column'])} {_short(what)}"))
    if totals := table.get("totals"):
        said = f"{_short(totals['column'])} {_short(totals['equals'])}"
        console.print(Text(f"Totals: {said}; they are the sums, and each import checks"))


def print_doubts(console: Console, doubts: Sequence[Doubt]) -> None:
    """Print doubts as questions, with the answers there are.

    Args:
      console: Where to print.
      doubts: The doubts.
    """
    console.print()
    console.print(Text(f"{counted(len(doubts), 'doubt')}:", style="bold"))
    for doubt in doubts:
        _print_wrapped(console, "  ? ", plain(doubt.question))
        for choice in doubt.choices:
            _print_wrapped(console, "      ", choice_line(choice.value, choice.meaning))


def print_first(console: Console, proposal: Proposal) -> None:
    """Print the first records as they would be booked.

    Args:
      console: Where to print.
      proposal: The layout proposed.
    """
    if proposal.first:
        console.print()
        console.print(Text("The first rows, as they would be booked:", style="bold"))
        for line in proposal.first.splitlines():
            console.print(Text(plain(line)), soft_wrap=True)


def choice_line(value: str, meaning: str) -> str:
    """Return an answer to a doubt on one line.

    Args:
      value: What goes into the layout.
      meaning: What it means; may be empty.
    """
    name = "none" if value == "-" else plain(value)
    return f"{name}: {_short(meaning, 100)}" if meaning else name


def _print_wrapped(console: Console, before: str, text: str) -> None:
    """Print a text in lines that begin below each other."""
    for line in textwrap.wrap(
        text,
        max(40, console.width),
        initial_indent=before,
        subsequent_indent=" " * len(before),
    ):
        console.print(Text(line), soft_wrap=True)


def _short(text: str, longest: int = _LONGEST) -> str:
    shown = plain(text)
    return shown if len(shown) <= longest else f"{shown[: longest - 1]}…"

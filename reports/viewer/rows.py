"""Write the rows of a table for a page of fava, with the links of their lines.

A template would take far longer over many thousand cells. Each text is escaped here.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from markupsafe import Markup, escape

from offcut.reports.drawing.page_rows import name_of
from offcut.reports.figures import plain
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column, is_loss

# Columns that say where something stands.
PLACES = frozenset({"At", "File and line"})


class Links(NamedTuple):
    """What gives the addresses that lines of tables lead to; None where there is none.

    Attributes:
      inner: Of a line's own page.
      journal: Of fava's journal with what a line is made of.
      place: Of a place in the ledger's files.
    """

    inner: Callable[[Table, Line], str | None]
    journal: Callable[[Table, Line], str | None]
    place: Callable[[str], str | None]


class Row(NamedTuple):
    """A line, and where it leads.

    Attributes:
      line: The line.
      inner: The address of its own page.
      journal: That of its journal.
    """

    line: Line
    inner: str | None
    journal: str | None


class Rows(NamedTuple):
    """The rows of a table.

    Attributes:
      html: They, as HTML.
      has_journals: Whether they have a column of links to the journal, as their names
        lead elsewhere.
    """

    html: Markup
    has_journals: bool


def rows_of(
    table: Table, links: Links, written: Callable[[Cell, Column, str], str]
) -> Rows:
    """Return the rows of a table.

    Args:
      table: The table.
      links: Where its lines lead.
      written: What writes a cell in a column of a currency.
    """
    found = [
        Row(line, links.inner(table, line), links.journal(table, line))
        for line in table.lines
    ]
    has_journals = any(row.inner for row in found) and any(row.journal for row in found)
    name, *rest = table.shown_columns(False)
    columns = [(at, table.columns[at]) for at in rest]
    parts: list[str] = []
    for row in found:
        line = row.line
        text = written(line.cells[name], table.columns[name], table.currency)
        address = row.inner or (None if has_journals else row.journal)
        parts.append(f'<tr class="{line.role}">{_name(line, name, text, address)}')
        for at, column in columns:
            cell = line.cells[at]
            shown = written(cell, column, table.currency)
            parts.append(f"<td{_classes(cell, column)}>{_text(shown, column, links)}</td>")
        if has_journals:
            parts.append(f'<td class="shown-in">{_journal(row.journal, text)}</td>')
        parts.append("</tr>\n")
    return Rows(Markup("".join(parts)), has_journals)


def linked(address: str | None, text: str) -> Markup:
    """Return a name, as a link where it leads anywhere.

    Args:
      address: Where.
      text: The name.
    """
    name = name_of(text)
    return name if address is None else Markup(f'<a href="{escape(address)}">{name}</a>')


def _name(line: Line, at: int, text: str, address: str | None) -> str:
    """Return the cell that names a line."""
    step = f' class="step" style="--depth: {line.depth}"' if line.depth else ""
    code = ""
    says_more = line.code not in ("", *line.cells) and not line.code.endswith(text)
    if says_more:
        code = f" <small>{escape(plain(line.code))}</small>"
    return f'<th scope="row"{step}>{linked(address, text)}{code}</th>'


def _classes(cell: Cell, column: Column) -> str:
    """Return how a cell looks, where that is not as any figure."""
    classes: list[str] = [] if column.kind == "money" else [column.kind]
    if is_loss(cell, column):
        classes.append("negative")
    return f' class="{" ".join(classes)}"' if classes else ""


def _text(text: str, column: Column, links: Links) -> Markup:
    """Return what stands in a cell."""
    if column.kind in ("text", "prose") and text:
        address = links.place(text) if column.heading in PLACES else None
        return linked(address, text)
    return escape(text)


def _journal(address: str | None, name: str) -> Markup:
    """Return the link to a line's journal; it reads as one whole without its column."""
    if address is None:
        return Markup("")
    label = escape(f"show {plain(name)} in the journal")
    return Markup(f'<a href="{escape(address)}" aria-label="{label}">show</a>')

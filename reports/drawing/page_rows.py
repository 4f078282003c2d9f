"""Write the rows of a table for a page: a large ledger has many thousand cells.

What stands around the rows is a template's. Here each text is escaped where it is written.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from markupsafe import Markup, escape

from offcut.reports.drawing.page_cells import page_cell
from offcut.reports.figures import plain
from offcut.reports.statement import Line, Source, Table
from offcut.reports.statement_cells import Cell, Column, is_loss

# Kinds whose cells look otherwise than a figure.
STYLED = frozenset({"text", "prose", "verbatim"})
NumberedLines = Iterable[tuple[int, Line]]


def name_of(text: str) -> Markup:
    """Return a name apart from the direction of the text around it.

    Args:
      text: The name.
    """
    return Markup(f"<bdi>{escape(plain(text))}</bdi>")


def rows(table: Table, lines: NumberedLines, is_long: bool) -> Markup:
    """Return rows of a table.

    Args:
      table: The table.
      lines: The lines to write, with the numbers that links go to.
      is_long: Whether the table is one of cards on a phone: its cells then say what they
        are, to the eye and to a screen reader.
    """
    rest = [(at, table.columns[at]) for at in table.shown_columns(False)[1:]]
    says = [_says(column, is_long) for _, column in rest]
    row, header = (' role="row"', ' role="rowheader"') if is_long else ("", "")
    written = []
    for number, line in lines:
        written.append(f'<tr{row} class="{line.role}">{_name(table, number, line, header)}')
        for (at, column), opening in zip(rest, says, strict=True):
            cell = line.cells[at]
            written.append(
                f"<td{opening}{_classes(cell, column)}>{_text(cell, column, table)}</td>"
            )
        written.append("</tr>\n")
    # All of its parts are escaped.
    return Markup("".join(written))


def _name(table: Table, number: int, line: Line, role: str) -> str:
    """Return the cell that names a line, with the link to its sources."""
    at = table.shown_columns(False)[0]
    cell, link = line.cells[at], f"{table.slug}-{number}"
    name = str(name_of(page_cell(cell, table.columns[at], table.currency)))
    own = f' class="step" style="--depth: {line.depth}"' if line.depth else ""
    if line.sources:
        own = f' id="{link}"{own}'
        name = f'<a href="#{link}-from">{name}</a>'
    if line.code and line.code != cell:
        name += f" <small>{escape(plain(line.code))}</small>"
    return f'<th{role} scope="row"{own}>{name}</th>'


def _says(column: Column, is_long: bool) -> str:
    """Return what each cell of a column says of itself."""
    heading = escape(column.heading)
    return f' role="cell" data-heading="{heading}"' if is_long else ""


def _classes(cell: Cell, column: Column) -> str:
    """Return how a cell looks, where that is not as any figure."""
    classes: list[str] = [column.kind] if column.kind in STYLED else []
    if column.is_result:
        classes.append("result")
    if is_loss(cell, column):
        classes.append("negative")
    return f' class="{" ".join(classes)}"' if classes else ""


def _text(cell: Cell, column: Column, table: Table) -> str:
    """Return a cell's text, escaped."""
    if cell is None:
        return ""
    if column.kind == "text":
        return str(name_of(str(cell)))
    text = page_cell(cell, column, table.currency)
    # A figure has nothing to escape.
    return text if isinstance(cell, Decimal) else str(escape(text))


def source_rows(table: Table, sources: Iterable[Source], columns: list[int]) -> Markup:
    """Return the rows of a table of sources: what each is, its figures and its place.

    Args:
      table: The table whose lines' sources they are.
      sources: The sources.
      columns: The positions of the columns in which they say anything, the name first.
    """
    return Markup("".join(_source_row(table, each, columns) for each in sources))


def _source_row(table: Table, source: Source, columns: list[int]) -> str:
    """Return the row of a source."""

    def cells() -> Iterator[str]:
        for at in columns[1:]:
            yield f"<td>{_text(source.cells[at], table.columns[at], table)}</td>"

    at = columns[0]
    name = name_of(page_cell(source.cells[at], table.columns[at], table.currency))
    place = f'<td class="text place">{name_of(source.place)}</td>'
    return f'<tr><th scope="row">{name}</th>{"".join(cells())}{place}</tr>\n'

"""State that a report cannot be made, and what to do."""

from __future__ import annotations

from offcut.reports.statement import Check, Line, Statement, Table
from offcut.reports.statement_cells import Column


def refused(title: str, reason: str, caution: str = "", write: str = "") -> Statement:
    """Return the statement of a report that cannot be made.

    Args:
      title: The report's title.
      reason: What is missing or wrong, and what to do; a sentence a line.
      caution: What stands beside the report's figures.
      write: Lines to write into `offcut.toml`; none where it is empty.
    """
    tables: tuple[Table, ...] = ()
    if write:
        tables = (
            Table(
                title="What to write",
                columns=(Column("Where", "text"), Column("Lines", "verbatim")),
                lines=(Line(("offcut.toml, beside the ledger", write)),),
                slug="to-write",
            ),
        )
    return Statement(
        title=title,
        period="cannot be worked out yet",
        tables=tables,
        checks=tuple(Check(line, False) for line in reason.splitlines()),
        caution=caution,
    )

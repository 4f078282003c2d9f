"""Find the lines of totals before and after the rows of a table."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.proposal.form import Sample
from offcut.importers.proposal.trade_words import names_a_total

_TOTALS_WITHIN = 8


def without_totals(
    sample: Sample,
) -> tuple[list[tuple[str, ...]], list[dict[str, Any]]]:
    """Return the rows without lines of totals, and rules that leave these out.

    Such a line has a word for it, and lacks a cell that every other row has.

    Raises:
      ImportRefused: A row that is too short is not at the end.
    """
    rows = list(sample.rows)
    ends = [
        *range(min(3, len(rows))),
        *range(max(3, len(rows) - _TOTALS_WITHIN), len(rows)),
    ]
    likely = {at for at in ends if any(names_a_total(cell) for cell in rows[at] if cell)}
    others = [row for at, row in enumerate(rows) if at not in likely]
    filled = [all(cells) for cells in zip(*others, strict=True)] if others else []
    totals = {
        at
        for at in likely
        if any(full and not cell for full, cell in zip(filled, rows[at], strict=True))
    }
    kept = [row for at, row in enumerate(rows) if at not in totals]
    rules: list[dict[str, Any]] = []
    lines = [(at, rows[at]) for at in sorted(totals)]
    for place, cells in [*lines, *sample.short]:
        at = next(
            (
                at
                for at, cell in enumerate(cells)
                if cell and (names_a_total(cell) or len(cells) < len(sample.header))
            ),
            0,
        )
        rule = _rule(sample.header[at], cells[at])
        taken = {row[at] for row in kept}
        if (len(cells) < len(sample.header) and place < len(rows) - 3) or _hits(
            rule, taken
        ):
            message = (
                f"expected {len(sample.header)} cells in every row, found {len(cells)} in "
                f"the row that begins {cells[0][:40]!r}; the file seems cut off, export it "
                "again"
            )
            raise ImportRefused([Problem(sample.name, None, None, message)])
        if rule not in rules:
            rules.append(rule)
    return kept, rules


def _rule(header: str, cell: str) -> dict[str, Any]:
    """Return the rule that leaves out a line of totals, whatever its numbers are."""
    if not re.search(r"[0-9]", cell):
        return {"column": header, "equals": cell, "reason": "a line of totals"}
    pattern = re.sub(r"[0-9]+", "[0-9]+", re.escape(cell))
    return {"column": header, "matches": pattern, "reason": "a line of totals"}


def _hits(rule: Mapping[str, Any], cells: set[str]) -> bool:
    if "equals" in rule:
        return rule["equals"] in cells
    return any(re.fullmatch(rule["matches"], cell) for cell in cells)

"""Find the lines of totals before and after the rows of a table, and check them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from offcut.importers.importing import read_records
from offcut.importers.layout import layout_of
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.proposal.draft import Draft
from offcut.importers.proposal.form import Sample, shaped
from offcut.importers.proposal.trade_words import names_a_total

_TOTALS_WITHIN = 8
_REASON = "a line of totals"


def without_totals(
    sample: Sample,
) -> tuple[list[tuple[str, ...]], list[dict[str, Any]]]:
    """Return the rows without lines of totals, and rules that leave these out.

    Such a line has a word for it, and lacks a cell that every other row has; or it has
    the word where every other row has a date.

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
    columns = list(zip(*others, strict=True))
    filled = [all(cells) for cells in columns]
    dated = [all(shaped(cell) == "date" for cell in cells) for cells in columns]
    totals = {
        at
        for at in likely
        if any(
            (full and not cell) or (days and names_a_total(cell))
            for full, days, cell in zip(filled, dated, rows[at], strict=bool(others))
        )
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


def check_totals(draft: Draft) -> None:
    """Have the import check a line of totals, where the file's own is at its end and right.

    Such a line is no longer one that is left out only.

    Args:
      draft: The layout, whole but for this.
    """
    sample, rules = draft.sample, draft.table.get("leave-out", [])
    if draft.table["kind"] not in ("payments", "bank") or not sample.whole:
        return
    for rule in rules:
        if rule["reason"] != _REASON or "equals" not in rule:
            continue
        at = sample.header.index(rule["column"])
        places = [
            place for place, row in enumerate(sample.rows) if row[at] == rule["equals"]
        ]
        if not places or places != list(range(places[0], len(sample.rows))):
            continue
        others = [each for each in rules if each is not rule]
        totals = {"column": rule["column"], "equals": rule["equals"]}
        table = {**draft.table, "leave-out": others, "totals": totals}
        try:
            layout = layout_of("proposed", table, sample.name)
            read = read_records(sample.name, sample.contents, layout)
        except ImportRefused:
            continue  # the sums are others, or the layout is doubtful
        agreeing = [each for each in read.balances.checks if "of totals agrees" in each]
        if len(agreeing) == len(places):
            draft.table["leave-out"] = others
            draft.put("totals.column", rule["column"], "its figures are the sums")
            draft.put("totals.equals", rule["equals"], "")
            return


def _rule(header: str, cell: str) -> dict[str, Any]:
    """Return the rule that leaves out a line of totals, whatever its numbers are."""
    if not re.search(r"[0-9]", cell):
        return {"column": header, "equals": cell, "reason": _REASON}
    pattern = re.sub(r"[0-9]+", "[0-9]+", re.escape(cell))
    return {"column": header, "matches": pattern, "reason": _REASON}


def _hits(rule: Mapping[str, Any], cells: set[str]) -> bool:
    if "equals" in rule:
        return rule["equals"] in cells
    return any(re.fullmatch(rule["matches"], cell) for cell in cells)

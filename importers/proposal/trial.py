"""Book the first rows of a file by a proposed layout, into a ledger made for the trial."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

from offcut.importers.importing import import_files
from offcut.importers.known import scan_ledger
from offcut.importers.proposal.draft import Draft
from offcut.importers.proposal.form import Sample
from offcut.importers.proposal.layout_text import layout_text
from offcut.importers.settings import FILE

SHOWN = 3
_NAME = "proposed.toml"


def first_bookings(sample: Sample, draft: Draft, ledger: Path | None) -> str:
    """Return what the first rows, or orders, are booked as by the import itself.

    Args:
      sample: The file's beginning.
      draft: The layout.
      ledger: The main ledger file; its products and its settings are those of the trial.

    Raises:
      ImportRefused: The rows are not what the layout says.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        main = folder / "main.beancount"
        declared = ""
        if ledger:
            products = sorted(scan_ledger(ledger).commodities)
            declared = "".join(f"2000-01-01 commodity {each}\n" for each in products)
            settings = ledger.parent / FILE
            if settings.exists():
                (folder / FILE).write_bytes(settings.read_bytes())
        main.write_text(declared, "utf-8")
        (folder / _NAME).write_text(layout_text(draft), "utf-8")
        file = folder / "first.csv"
        file.write_bytes(_first_rows(sample, draft))
        report = import_files([file], main, [str(folder / _NAME)])
        texts = [
            written.path.read_text("utf-8")
            for written in report.written
            if written.path != main and written.transactions
        ]
    return _transactions("\n".join(texts))


def _first_rows(sample: Sample, draft: Draft) -> bytes:
    """Return a file of the same form with the first rows, or those of the first orders."""
    order = draft.table["columns"].get("order")
    rows = [row for row in sample.rows if not _is_left_out(row, sample, draft)]
    if draft.table["kind"] == "order-lines":
        at = sample.header.index(order)
        numbers = list(dict.fromkeys(row[at] for row in rows))[:SHOWN]
        rows = [row for row in rows if row[at] in numbers]
    else:
        rows = rows[:SHOWN]
    text = io.StringIO()
    text.write("\n" * sample.preamble)
    writer = csv.writer(text, delimiter=sample.delimiter)
    if sample.has_header:
        writer.writerow(sample.header)
    writer.writerows(rows)
    return text.getvalue().encode(sample.encodings[0].name)


def _is_left_out(row: tuple[str, ...], sample: Sample, draft: Draft) -> bool:
    cells = dict(zip(sample.header, row, strict=True))
    rules = list(draft.table.get("leave-out", ()))
    if "totals" in draft.table:  # they are of all rows, not of the first ones
        rules.append(draft.table["totals"])
    return any(cells[rule["column"]] == rule.get("equals") for rule in rules)


def _transactions(text: str) -> str:
    """Return the dated entries of a ledger's text, the accounts' openings left out."""
    blocks: list[str] = []
    for line in text.splitlines():
        if line[:4].isdigit():
            blocks.append("")
        if blocks and line.strip() and not line.startswith(";"):
            blocks[-1] += f"{line}\n"
    return "\n".join(block for block in blocks if block.split(maxsplit=2)[1] != "open")

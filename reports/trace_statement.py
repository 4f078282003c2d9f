"""State a trace: each step below the one that it explains, with its file and line."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from beancount.core.amount import Amount

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.figures import money, pieces
from offcut.reports.sources import place_from
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.trace.nodes import Node, walk

AS_ABOVE = "as above"
ONE = Decimal(1)
# The level of a month's orders, whose days differ.
ORDERS = 1
COLUMNS = (
    Column("What", "text", "narrow"),
    Column("What", "text", "wide"),
    Column("Date", "date", "wide"),
    Column("Quantity", "number", "wide"),
    Column("Item", "text", "wide"),
    Column("Amount"),
    Column("Line", "text", "narrow"),
    Column("File and line", "text", "wide"),
    Column("Note", "text", "wide"),
)
READING = (
    Note(
        "Each step explains the one above it that stands further left. The first amount is "
        "what the figure came to, costs taken off; the amounts of single postings have the "
        "ledger's own signs, where income is below zero. What the ledger's directives made "
        "stands at the directive's line."
    ),
    Note(
        "A terminal of 150 columns shows dates, notes and whole paths besides.",
        "narrow",
    ),
)


def trace_statement(root: Node, ledger: Path, depth: int | None = None) -> Statement:
    """Return the statement of a trace.

    Args:
      root: The figure.
      ledger: The main ledger; files are named from its folder.
      depth: How many steps to go down; None for all.
    """
    currency = root.money[0].currency if root.money else ""
    folder = ledger.resolve().parent
    steps = [step for step in walk(root) if depth is None or step[0] <= depth]
    table = Table(
        title=root.what,
        columns=COLUMNS,
        lines=tuple(
            _line(*step, is_cut=step[0] == depth, currency=currency, folder=folder)
            for step in steps
        ),
        slug="trace",
        currency=currency,
    )
    return Statement(
        title=root.what,
        period=f"{len(steps)} lines" if len(steps) > 1 else "1 line",
        tables=(table,),
        checks=tuple(_checks(root)),
        notes=READING,
    )


def _line(
    level: int, node: Node, again: bool, is_cut: bool, currency: str, folder: Path
) -> Line:
    """Return the line of a step."""
    notes = [node.note] if node.note else []
    amount = None
    for each in node.money:
        if each.currency == currency:
            amount = each.number
        else:
            notes.append(f"{money(_number(each), each.currency)} {each.currency}")
    if again or (is_cut and node.parts):
        notes.append(AS_ABOVE if again else "goes on below")
    units = node.units
    short = node.what
    if units is not None:
        quantity = f"{pieces(_number(units))} {units.currency}".strip()
        noun = "piece" if units.number == ONE else "pieces"
        short = (
            f"{quantity}, {node.what}"
            if units.currency
            else f"{node.what}, {quantity} {noun}"
        )
    if level == ORDERS:
        short = f"{node.date} {short}"
    if again:
        short = f"{short}, {AS_ABOVE}"
    path = Path(node.file)
    return Line(
        (
            short,
            node.what,
            node.date,
            units.number if units else None,
            units.currency if units else "",
            amount,
            f"{path.name}:{node.line}",
            place_from(folder, node.file, node.line),
            "; ".join(notes),
        ),
        depth=level,
    )


def _number(amount: Amount) -> Decimal:
    """Return an amount's number, which only unbooked text can lack."""
    return amount.number or ZERO


def _checks(root: Node) -> Iterator[Check]:
    """Yield whether what a figure is made of comes to the figure."""
    parts = [each for part in root.parts for each in part.money]
    if not root.parts or not all(
        part.note.startswith("contribution") for part in root.parts
    ):
        return
    for figure in root.money:
        amounts = [_number(each) for each in parts if each.currency == figure.currency]
        total = sum(amounts, start=ZERO)
        holds = EXACT.compare(total, _number(figure)) == ZERO
        code = figure.currency
        verb = "come" if holds else "DO NOT COME"
        yield Check(
            f"The {len(amounts)} orders and costs {verb} to the figure: "
            f"{money(total, code)} {code} of {money(_number(figure), code)} {code}.",
            holds,
        )

"""Random ledgers: the list does not depend on their order, and its lines settle it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.close.points import ClosePoint
from tests.reports.close.closing_desk import Desk

BLOCKS = (
    "2025-01-01 open Assets:Bank:Checking",
    "2025-01-01 open Assets:Clearing:Card",
    "2025-01-01 open Assets:Clearing:Payouts",
    "2025-01-01 open Assets:Clearing:Labels",
    "2025-01-01 open Assets:Held:Card",
    "2025-01-01 open Assets:Receivable:Web",
    "2025-01-01 open Equity:Suspense",
    "2025-01-01 open Expenses:Postage:Labels",
    "2025-01-01 open Income:Sales:Web",
    "2025-01-01 open Income:Suspense:Web",
    "2025-01-01 open Liabilities:Deposits",
    '2025-02-28 custom "no-rows" "market"',
)
AMOUNTS = ("1.00", "2.00", "2.00", "3.00", "-1.00", "-2.00")
SIDES = (
    ("Assets:Clearing:Card", "Assets:Clearing:Payouts", "^payout-A"),
    ("Assets:Clearing:Card", "Assets:Clearing:Payouts", "^payout-B"),
    ("Assets:Clearing:Payouts", "Assets:Bank:Checking", "^payout-A"),
    ("Assets:Clearing:Payouts", "Assets:Bank:Checking", ""),
    ("Assets:Clearing:Payouts", "Assets:Bank:Checking", "^bank-1"),
    ("Equity:Suspense", "Assets:Bank:Checking", "^bank-2"),
    ("Equity:Suspense", "Assets:Bank:Checking", ""),
    ("Income:Suspense:Web", "Assets:Clearing:Card", "^order-1"),
    ("Income:Suspense:Web", "Assets:Clearing:Card", ""),
    ("Income:Sales:Web", "Assets:Receivable:Web", "^order-1"),
    ("Income:Sales:Web", "Assets:Receivable:Web", "^order-1 ^order-2"),
    ("Income:Sales:Web", "Assets:Receivable:Web", "^order-3"),
    ("Income:Sales:Web", "Assets:Receivable:Web", ""),
    ("Assets:Clearing:Card", "Assets:Held:Card", ""),
    ("Liabilities:Deposits", "Assets:Bank:Checking", "^order-1"),
    ("Assets:Clearing:Labels", "Expenses:Postage:Labels", ""),
)
DAYS = ("2025-01-10", "2025-02-27", "2025-03-03", "2025-03-30", "2025-04-02")


@st.composite
def ledgers(draw: st.DrawFn) -> tuple[list[str], list[str]]:
    """Draw the directives of a ledger in two orders."""
    blocks = list(BLOCKS)
    for number in range(draw(st.integers(1, 12))):
        source, target, links = draw(st.sampled_from(SIDES))
        amount = draw(st.sampled_from(AMOUNTS))
        movement = '  movement: "postage"\n' if "Labels" in target else ""
        blocks.append(
            f'{draw(st.sampled_from(DAYS))} * "Row {number}" {links}\n'
            f'  source-id: "card/{number}"\n{movement}'
            f"  {source}\n  {target}  {amount} USD"
        )
    return blocks, draw(st.permutations(blocks))


def said(desk: Desk, blocks: list[str]) -> list[tuple[object, ...]]:
    """Return what a list says, lines of the ledger aside."""
    desk.ledger.write_text("\n".join(blocks) + "\n", "utf-8")
    assert desk.errors() == []
    closing = desk.close()
    points = sorted(map(sayings, closing.points), key=repr)
    return [*points, *sorted(closing.in_order)]


def sayings(point: ClosePoint) -> tuple[object, ...]:
    """Return what is the same whichever of equal postings is the first."""
    detail = re.sub(r"Row \d+", "Row", f"{point.detail} {point.settle}")
    return (point.severity, point.what, point.amount, point.currency, point.date, detail)


@given(ledgers())
def test_order_of_directives_does_not_matter(drawn: tuple[list[str], list[str]]) -> None:
    with TemporaryDirectory() as folder:
        desk = Desk(Path(folder), "")
        assert said(desk, drawn[0]) == said(desk, drawn[1])


@given(ledgers())
def test_no_point_stands_at_a_line_that_is_not_about_it(
    drawn: tuple[list[str], list[str]],
) -> None:
    with TemporaryDirectory() as folder:
        desk = Desk(Path(folder), "\n".join(drawn[0]))
        for point in desk.close().points:
            if point.file:
                assert re.match(
                    r"  (Assets|Equity|Income|Liabilities)|20", desk.line(point)
                )


@given(ledgers())
def test_each_point_is_settled_by_its_own_lines(
    drawn: tuple[list[str], list[str]],
) -> None:
    with TemporaryDirectory() as folder:
        desk = Desk(Path(folder), "\n".join(drawn[0]))
        before = desk.close().points
        text = desk.ledger.read_text("utf-8")
        for point in before:
            # Of what has no link it is not sure which of several is settled; what is
            # to be written in place of a label's line is tried by itself.
            is_clear = "^" in point.settle or " balance " in point.settle
            if not is_clear or "note:" in point.settle:
                continue
            desk.ledger.write_text(text, "utf-8")
            desk.settle(point)
            assert desk.errors() == []
            after = desk.close().points
            assert like(point, after) == like(point, before) - 1, point


def like(point: ClosePoint, among: Iterable[ClosePoint]) -> int:
    """Return how many points are about the same."""
    kind = point.what, point.amount, point.settle.count("^")
    return sum(kind == (one.what, one.amount, one.settle.count("^")) for one in among)

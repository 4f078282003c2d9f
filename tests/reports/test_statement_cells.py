"""Numbers of a column have their points below each other, and say what they are."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.figures import decimal_places
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import UNEVEN, Column, Kind, cell_text

D = Decimal
NUMBERS = st.decimals(
    min_value=-(10**9), max_value=10**9, places=6, allow_nan=False, allow_infinity=False
)


def texts(kind: Kind, cells: list[Decimal | None]) -> list[str]:
    lines = tuple(Line(("Name", cell)) for cell in cells)
    table = Table("Table", (Column("Name", "text"), Column("A", kind)), lines, "t", "USD")
    return [cell_text(line.cells[1], table.columns[1], "USD") for line in table.lines]


@given(st.sampled_from(UNEVEN), st.lists(st.none() | NUMBERS))
def test_points_stand_below_each_other(kind: Kind, cells: list[Decimal | None]) -> None:
    written = [text for text in texts(kind, cells) if text]
    assert len({decimal_places(text) for text in written}) <= 1
    step = D("0.0001") if kind == "price" else D("0.01")
    for text, cell in zip(
        written, (cell for cell in cells if cell is not None), strict=True
    ):
        assert abs(D(text.replace(",", "")) - cell) <= step / 2


@pytest.mark.parametrize(
    ("kind", "cells", "expected"),
    [
        ("number", ["27.1", "37", "101"], ["27.1", "37.0", "101.0"]),
        ("units", ["37", "1250"], ["37", "1,250"]),
        ("units", ["43.9998", "24.75"], ["44.00", "24.75"]),
        ("price", ["0.42", "0.0313"], ["0.4200", "0.0313"]),
        ("price", ["0.42", "1.5"], ["0.42", "1.50"]),
        # More digits than a Decimal of 28 has.
        ("units", ["1E+40", "0.5"], [f"{10**40:,}.0", "0.5"]),
    ],
)
def test_places_of_a_column(kind: Kind, cells: list[str], expected: list[str]) -> None:
    assert texts(kind, [D(cell) for cell in cells]) == expected

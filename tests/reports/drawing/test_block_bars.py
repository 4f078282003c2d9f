"""Bars of characters: nothing, a loss and the unknown are told apart without colour."""

from __future__ import annotations

from decimal import Decimal

import pytest

from offcut.reports.drawing.block_bars import block_bars

D = Decimal


@pytest.mark.parametrize(
    ("figures", "bars"),
    [
        ("1 2 3 4 5 6 7 8", "▁▂▃▄▅▆▇█"),
        ("800 0 -1 100", "█_-▁"),
        ("0.001 1000", "▁█"),
        ("-5 -1", "--"),
        ("0 0", "__"),
        ("99999999999999999999999999999 0.5", "█▁"),
    ],
)
def test_bars(figures: str, bars: str) -> None:
    assert block_bars(map(D, figures.split())) == bars


def test_unknown_is_a_gap() -> None:
    assert block_bars([D(1), None, D(1)]) == "█ █"
    assert block_bars([]) == ""

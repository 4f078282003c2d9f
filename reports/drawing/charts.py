"""Draw a report's lines as bars: what came in, and what of it was left."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from offcut.reports.drawing.svg_drawing import (
    CONTRIBUTION,
    FONT,
    INCOME,
    LOSS,
    QUIET,
    TEXT,
    WIDTH,
    Box,
    bars,
    drawn,
    shortened,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_BARS = 20

# In units of the drawing, which the page scales to about one pixel.
STEP = 34
BAR = 11
BELOW = 4
LONGEST_NAME = 44


class Bar(NamedTuple):
    """What one pair of bars shows.

    Attributes:
      name: The name to write above it.
      income: What came in, drawn pale.
      contribution: What was left of it, drawn over that.
      label: The contribution as text.
    """

    name: str
    income: Decimal
    contribution: Decimal
    label: str


def bar_chart(pairs: Sequence[Bar], title: str, description: str) -> str:
    """Return a chart as an SVG element to put into a page.

    Args:
      pairs: What to draw, from the top.
      title: The name of the chart for a screen reader.
      description: What it shows, in a sentence, likewise.
    """
    height = max(len(pairs), 1) * STEP

    def draw(axes: Axes) -> None:
        axes.set_xlim(*_reach(pairs))
        axes.set_ylim(height, 0)
        incomes = [_box(at, float(bar.income), BAR) for at, bar in enumerate(pairs)]
        results = [
            _box(at, float(bar.contribution), BAR * 0.6) for at, bar in enumerate(pairs)
        ]
        bars(axes, incomes, INCOME)
        bars(axes, (box for box in results if box.right >= 0), CONTRIBUTION)
        bars(axes, (box for box in results if box.right < 0), LOSS)
        for at, bar in enumerate(pairs):
            _draw(axes, bar, _middle(at))

    return drawn(WIDTH, height, draw, title, description)


def _middle(at: int) -> float:
    """Return how far down the middle of a pair of bars is."""
    return (at + 1) * STEP - BELOW - BAR / 2


def _box(at: int, amount: float, thick: float) -> Box:
    """Return where a bar is that begins at zero."""
    return Box(0, amount, _middle(at) - thick / 2, _middle(at) + thick / 2)


def _reach(pairs: Sequence[Bar]) -> tuple[float, float]:
    """Return the ends of the scale; from here on amounts are places on the page."""
    ends = [float(end) for bar in pairs for end in (bar.income, bar.contribution)]
    low, high = min([0.0, *ends]), max([0.0, *ends])
    # Room for half the width of the line at zero.
    room = (high - low or 1.0) / WIDTH
    return low - room, high + room


def _draw(axes: Axes, bar: Bar, middle: float) -> None:
    """Draw the line at zero, and the texts above the bars."""
    top, bottom = middle - BAR / 2, middle + BAR / 2
    axes.plot(
        (0, 0),
        (top, bottom),
        color=QUIET,
        linewidth=1,
        solid_capstyle="butt",
        clip_on=False,
    )
    name = shortened(bar.name, LONGEST_NAME)
    for x, side, text in ((0.0, "left", name), (1.0, "right", bar.label)):
        axes.text(
            x,
            top - BELOW,
            text,
            transform=axes.get_yaxis_transform(),
            horizontalalignment=side,
            fontsize=FONT,
            color=TEXT,
            parse_math=False,
        )


def largest(bars: Sequence[Bar]) -> list[Bar]:
    """Return the bars that matter most, gains and losses, in the order they came in.

    Args:
      bars: All bars.
    """
    by_size = sorted(
        range(len(bars)), key=lambda at: abs(bars[at].contribution), reverse=True
    )
    return [bars[at] for at in sorted(by_size[:MOST_BARS])]

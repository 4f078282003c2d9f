"""Draw figures that follow each other in time: upright bars, the earliest at the left.

One chart with a line over the bars for what they are compared with, or many small ones,
each to its own scale. From here on amounts are places on the page.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from offcut.reports.drawing.svg_drawing import (
    CONTRIBUTION,
    FONT,
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

# In units of the drawing, which the page scales to about one pixel.
MARGIN = 18
HEIGHT = 120
MOST_LABELS = 4
# Of each bar's step, for the bar itself.
BAR = 0.7

MOST_SMALL = 12
ABREAST = 2
GAP = 24
SMALL_STEP = 60
SMALL_HEIGHT = 28
LONGEST_SMALL_NAME = 18


class Step(NamedTuple):
    """A step in time.

    Attributes:
      label: Which one.
      value: Its figure; None where there is none.
      beside: What it is compared with; None where that is not known.
    """

    label: str
    value: Decimal | None
    beside: Decimal | None = None


class Small(NamedTuple):
    """A small chart among several.

    Attributes:
      name: What it is about.
      values: The figures of its steps.
      label: Its figure to write beside the name.
    """

    name: str
    values: tuple[Decimal | None, ...]
    label: str


class _Frame(NamedTuple):
    """Where on the drawing a chart's figures are.

    Attributes:
      left: Its left edge.
      top: The place of `high`.
      width: Its width.
      height: From `high` down to `low`.
      low: The least figure, zero at the most.
      high: The greatest figure, zero at the least.
    """

    left: float
    top: float
    width: float
    height: float
    low: float
    high: float

    def down(self, value: float) -> float:
        """Return the height on the drawing of a figure."""
        reach = self.high - self.low or 1.0
        return self.top + (self.high - value) / reach * self.height


def time_chart(
    steps: Sequence[Step], highest: str, lowest: str, title: str, description: str
) -> str:
    """Return a chart as an SVG element to put into a page.

    Args:
      steps: What to draw, the earliest first.
      highest: The greatest figure as text; it stands at the top.
      lowest: The least figure as text; empty where none is below zero.
      title: The name of the chart for a screen reader.
      description: What it shows, in a sentence, likewise.
    """
    figures = [
        float(figure)
        for step in steps
        for figure in (step.value, step.beside)
        if figure is not None
    ]
    frame = _Frame(0, MARGIN, WIDTH, HEIGHT, min([0.0, *figures]), max([0.0, *figures]))
    below = MARGIN * (2 if lowest else 1)

    def draw(axes: Axes) -> None:
        axes.set_xlim(0, WIDTH)
        axes.set_ylim(MARGIN + HEIGHT + below, 0)
        _bars(axes, [step.value for step in steps], frame)
        _line_beside(axes, [step.beside for step in steps], frame)
        _rule(axes, frame, frame.high)
        _text(axes, 0, frame.top - 4, highest, "left")
        if lowest:
            _rule(axes, frame, frame.low)
            _text(axes, 0, frame.top + HEIGHT + MARGIN - 4, lowest, "left")
        _labels(axes, [step.label for step in steps], MARGIN + HEIGHT + below - 4)

    return drawn(WIDTH, MARGIN + HEIGHT + below, draw, title, description)


def small_charts(smalls: Sequence[Small], title: str, description: str) -> str:
    """Return several small charts as one SVG element to put into a page.

    Args:
      smalls: What to draw.
      title: The name of the drawing for a screen reader.
      description: What it shows, in a sentence, likewise.
    """
    height = max(math.ceil(len(smalls) / ABREAST), 1) * SMALL_STEP
    width = (WIDTH - GAP * (ABREAST - 1)) / ABREAST

    def draw(axes: Axes) -> None:
        axes.set_xlim(0, WIDTH)
        axes.set_ylim(height, 0)
        for index, small in enumerate(smalls):
            row, column = divmod(index, ABREAST)
            left, top = column * (width + GAP), row * SMALL_STEP + MARGIN
            figures = [float(value) for value in small.values if value is not None]
            low, high = min([0.0, *figures]), max([0.0, *figures])
            frame = _Frame(left, top, width, SMALL_HEIGHT, low, high)
            name = shortened(small.name, LONGEST_SMALL_NAME)
            _text(axes, left, top - 4, name, "left")
            _text(axes, left + width, top - 4, small.label, "right")
            _bars(axes, small.values, frame)

    return drawn(WIDTH, height, draw, title, description)


def _bars(axes: Axes, values: Sequence[Decimal | None], frame: _Frame) -> None:
    """Draw upright bars, and the line at zero."""
    step = frame.width / max(len(values), 1)
    zero = frame.down(0)
    gains: list[Box] = []
    losses: list[Box] = []
    for at, value in enumerate(values):
        if value is None:
            continue
        middle = frame.left + (at + 0.5) * step
        some = losses if value < 0 else gains
        left, right = middle - step * BAR / 2, middle + step * BAR / 2
        some.append(Box(left, right, zero, frame.down(float(value))))
    bars(axes, gains, CONTRIBUTION)
    bars(axes, losses, LOSS)
    _rule(axes, frame, 0)


def _line_beside(axes: Axes, values: Sequence[Decimal | None], frame: _Frame) -> None:
    """Draw a step for each figure that is known, joined to those beside it."""
    if all(value is None for value in values):
        return
    step = frame.width / len(values)
    across: list[float] = []
    down: list[float] = []
    for at, value in enumerate(values):
        place = frame.down(float(value)) if value is not None else math.nan
        across += [frame.left + at * step, frame.left + (at + 1) * step]
        down += [place, place]
    axes.plot(across, down, color=TEXT, linewidth=1.5, clip_on=False)


def _rule(axes: Axes, frame: _Frame, value: float) -> None:
    """Draw a thin line across at a figure."""
    ends, place = (frame.left, frame.left + frame.width), frame.down(value)
    axes.plot(
        ends,
        (place, place),
        color=QUIET,
        linewidth=1 if not value else 0.5,
        solid_capstyle="butt",
        clip_on=False,
    )


def _labels(axes: Axes, labels: Sequence[str], down: float) -> None:
    """Write which steps these are: so many as there is room for."""
    every = math.ceil(len(labels) / MOST_LABELS)
    step = WIDTH / max(len(labels), 1)
    for at in range(0, len(labels), every or 1):
        middle = (at + 0.5) * step
        # The first and the last stay within the drawing.
        if middle < WIDTH / (2 * MOST_LABELS):
            _text(axes, 0, down, labels[at], "left")
        elif middle > WIDTH * (1 - 1 / (2 * MOST_LABELS)):
            _text(axes, WIDTH, down, labels[at], "right")
        else:
            _text(axes, middle, down, labels[at], "center")


def _text(axes: Axes, across: float, down: float, text: str, side: str) -> None:
    """Write a text that stays text."""
    axes.text(
        across,
        down,
        text,
        horizontalalignment=side,
        fontsize=FONT,
        color=TEXT,
        parse_math=False,
    )

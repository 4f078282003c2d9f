"""Draw a report's lines as bars: what came in, and what of it was left.

matplotlib draws; the text stays text and the colours become variables of the page's
style sheet, so that a chart follows its page into dark mode, print and any script.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple
from xml.etree import ElementTree

from rich.text import Text

from offcut.reports.figures import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SVG = "http://www.w3.org/2000/svg"
MOST_BARS = 20

# In units of the drawing, which the page scales to about one pixel.
WIDTH = 420
STEP = 34
BAR = 11
BELOW = 4
FONT = 12
LONGEST_NAME = 44

# Colours that matplotlib is given, and what stands for them in the page.
COLOURS = {
    "#000001": "var(--income)",
    "#000002": "var(--contribution)",
    "#000003": "var(--loss)",
    "#000004": "var(--quiet)",
    "#000005": "currentColor",
}
INCOME, CONTRIBUTION, LOSS, ZERO_LINE, TEXT = COLOURS


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


def bar_chart(bars: Sequence[Bar], title: str, description: str) -> str:
    """Return a chart as an SVG element to put into a page.

    Args:
      bars: What to draw, from the top.
      title: The name of the chart for a screen reader.
      description: What it shows, in a sentence, likewise.
    """
    # Loaded only here: it takes longer than all the rest of a report.
    import matplotlib
    from matplotlib.figure import Figure

    height = max(len(bars), 1) * STEP
    drawn = io.BytesIO()
    with matplotlib.rc_context(), warnings.catch_warnings():
        # Not as the reader's own settings would have it.
        matplotlib.rcdefaults()
        matplotlib.rcParams["svg.fonttype"] = "none"
        # The reader's fonts draw the text: no matter which letters matplotlib's lacks.
        warnings.filterwarnings("ignore", "Glyph .* missing from font", UserWarning)
        figure = Figure(figsize=(WIDTH / 72, height / 72), dpi=72)
        figure.patch.set_visible(False)
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        axes.set_xlim(*_reach(bars))
        axes.set_ylim(height, 0)
        for index, bar in enumerate(bars):
            _draw(axes, bar, (index + 1) * STEP - BELOW - BAR / 2)
        figure.savefig(drawn, format="svg")
    return _for_page(drawn.getvalue(), title, description)


def _reach(bars: Sequence[Bar]) -> tuple[float, float]:
    """Return the ends of the scale; from here on amounts are places on the page."""
    ends = [float(end) for bar in bars for end in (bar.income, bar.contribution)]
    low, high = min([0.0, *ends]), max([0.0, *ends])
    # Room for half the width of the line at zero.
    room = (high - low or 1.0) / WIDTH
    return low - room, high + room


def _draw(axes: Axes, bar: Bar, middle: float) -> None:
    """Draw a pair of bars, the line at zero, and the texts above them."""
    colour = LOSS if bar.contribution < 0 else CONTRIBUTION
    axes.barh(middle, float(bar.income), BAR, color=INCOME, clip_on=False)
    axes.barh(middle, float(bar.contribution), BAR * 0.6, color=colour, clip_on=False)
    top, bottom = middle - BAR / 2, middle + BAR / 2
    axes.plot(
        (0, 0),
        (top, bottom),
        color=ZERO_LINE,
        linewidth=1,
        solid_capstyle="butt",
        clip_on=False,
    )
    for x, side, text in ((0.0, "left", _short(bar.name)), (1.0, "right", bar.label)):
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


def _short(name: str) -> str:
    """Return a name cut to the room above its bar."""
    text = Text(plain(name))
    text.truncate(LONGEST_NAME, overflow="ellipsis")
    return text.plain


def _for_page(drawn: bytes, title: str, description: str) -> str:
    """Return matplotlib's drawing with the page's colours and font, and with its names.

    Its own style sheet, ids and metadata go: in a page they would reach beyond it.
    """
    ElementTree.register_namespace("", SVG)
    drawing = ElementTree.fromstring(drawn)
    _, _, width, height = drawing.attrib["viewBox"].split()
    root = ElementTree.Element(
        f"{{{SVG}}}svg",
        {"viewBox": f"0 0 {width} {height}", "role": "img"},
    )
    ElementTree.SubElement(root, f"{{{SVG}}}title").text = title
    ElementTree.SubElement(root, f"{{{SVG}}}desc").text = description
    for element in drawing.iter():
        kind = element.tag.rpartition("}")[2]
        if kind not in ("path", "text"):
            continue
        style = element.attrib["style"]
        style = re.sub(r"font-family: [^;]*; ", "", style)
        style = re.sub("|".join(COLOURS), lambda match: COLOURS[match[0]], style)
        wanted = ("d",) if kind == "path" else ("x", "y")
        shape = {name: " ".join(element.attrib[name].split()) for name in wanted}
        copy = ElementTree.SubElement(root, element.tag, {**shape, "style": style})
        copy.text = element.text if kind == "text" else None
    return ElementTree.tostring(root, encoding="unicode")

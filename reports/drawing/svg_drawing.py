"""Draw for a page: SVG that belongs to the page, follows its colours, and can do nothing.

matplotlib draws; the text stays text and the colours become variables of the page's
style sheet, so that a chart follows its page into dark mode, print and any script.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, NamedTuple
from xml.etree import ElementTree

from rich.text import Text

from offcut.reports.figures import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SVG = "http://www.w3.org/2000/svg"
# In units of the drawing, which the page scales to about one pixel.
WIDTH = 420
FONT = 12

# Colours that matplotlib is given, and what stands for them in the page.
COLOURS = {
    "#000001": "var(--income)",
    "#000002": "var(--contribution)",
    "#000003": "var(--loss)",
    "#000004": "var(--quiet)",
    "#000005": "currentColor",
}
INCOME, CONTRIBUTION, LOSS, QUIET, TEXT = COLOURS


class Box(NamedTuple):
    """A bar, by the places of its edges.

    Attributes:
      left: Where it begins across.
      right: Where it ends.
      top: Where it begins down.
      bottom: Where it ends.
    """

    left: float
    right: float
    top: float
    bottom: float


def drawn(
    width: int, height: int, draw: Callable[[Axes], None], title: str, description: str
) -> str:
    """Return a drawing as an SVG element to put into a page.

    Args:
      width: Its width, in units of the drawing.
      height: Its height.
      draw: What draws it, on axes that fill it and are not shown.
      title: Its name for a screen reader.
      description: What it shows, in a sentence, likewise.
    """
    # Loaded only here: it takes longer than all the rest of a report.
    import matplotlib
    from matplotlib.figure import Figure

    written = io.BytesIO()
    with matplotlib.rc_context(), warnings.catch_warnings():
        # Not as the reader's own settings would have it.
        matplotlib.rcdefaults()
        matplotlib.rcParams["svg.fonttype"] = "none"
        # The reader's fonts draw the text: no matter which letters matplotlib's lacks.
        warnings.filterwarnings("ignore", "Glyph .* missing from font", UserWarning)
        figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        figure.patch.set_visible(False)
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        draw(axes)
        figure.savefig(written, format="svg")
    return _for_page(written.getvalue(), title, description)


def bars(axes: Axes, boxes: Iterable[Box], colour: str) -> None:
    """Draw bars of one colour as one shape, which is much quicker than each by itself.

    Args:
      axes: Where to draw them.
      boxes: Where they are.
      colour: Their colour.
    """
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    corners, codes = [], []
    for left, right, top, bottom in boxes:
        corners += [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
        codes += [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
    if corners:
        shape = Path(corners, codes)
        axes.add_artist(PathPatch(shape, facecolor=colour, linewidth=0, clip_on=False))


def shortened(name: str, cells: int) -> str:
    """Return a name cut to the room there is for it.

    Args:
      name: A name.
      cells: Its room, as a terminal counts: two for a letter of Chinese.
    """
    text = Text(plain(name))
    text.truncate(cells, overflow="ellipsis")
    return text.plain


def _for_page(written: bytes, title: str, description: str) -> str:
    """Return matplotlib's drawing with the page's colours and font, and with its names.

    Its own style sheet, ids and metadata go: in a page they would reach beyond it.
    """
    ElementTree.register_namespace("", SVG)
    drawing = ElementTree.fromstring(written)
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

"""Charts over time: shapes in their places, text that stays text, colours of the page."""

from __future__ import annotations

import itertools
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from offcut.reports.drawing.time_charts import (
    HEIGHT,
    MARGIN,
    Small,
    Step,
    small_charts,
    time_chart,
)

D = Decimal
SVG = "{http://www.w3.org/2000/svg}"
NAMES = ["فراشة الليل", "夜の灯台", "Owl 🦉", "$x_1$", "<script>alert(1)</script> &"]


def drawn(*steps: Step, lowest: str = "") -> ElementTree.Element:
    return ElementTree.fromstring(time_chart(steps, "high", lowest, "Title", "Words"))


def upright(root: ElementTree.Element, colour: str) -> list[tuple[float, float]]:
    """Return the ends of the bars of a colour, the upper first."""
    found = []
    for path in root.iter(f"{SVG}path"):
        if f"fill: var(--{colour})" not in path.attrib["style"]:
            continue
        for bar in path.attrib["d"].split("M")[1:]:
            numbers = [word for word in bar.split() if word not in "Lz"]
            down = sorted(map(float, numbers[1::2]))
            found.append((down[0], down[-1]))
    return found


def test_bars_are_as_high_as_their_figures() -> None:
    root = drawn(Step("a", D(10)), Step("b", D(5)), Step("c", D(-10)), lowest="low")
    (ten, five), (loss,) = upright(root, "contribution"), upright(root, "loss")
    zero = MARGIN + HEIGHT / 2
    assert ten == pytest.approx((MARGIN, zero), abs=0.01)
    assert five == pytest.approx((zero - HEIGHT / 4, zero), abs=0.01)
    assert loss == pytest.approx((zero, MARGIN + HEIGHT), abs=0.01)


def test_line_beside_is_broken_where_nothing_is_known() -> None:
    steps = [Step("a", D(1)), Step("b", D(1), D(2)), Step("c", D(1)), Step("d", D(1), D(1))]
    (line,) = [
        path.attrib["d"]
        for path in drawn(*steps).iter(f"{SVG}path")
        if "stroke: currentColor" in path.attrib["style"]
    ]
    assert line.count("M") == 2
    none = drawn(Step("a", D(1)), Step("b", D(1)))
    assert not [
        path
        for path in none.iter(f"{SVG}path")
        if "stroke: currentColor" in path.attrib["style"]
    ]


@pytest.mark.parametrize("name", NAMES)
def test_texts_stay_text(name: str) -> None:
    texts = {text.text for text in drawn(Step(name, D(1))).iter(f"{SVG}text")}
    assert texts == {name, "high"}
    small = ElementTree.fromstring(small_charts([Small(name[:18], (D(1),), "1")], "T", "W"))
    assert {text.text for text in small.iter(f"{SVG}text")} >= {"1"}


def test_only_shapes_and_text_in_the_colours_of_the_page() -> None:
    small = small_charts([Small("a", (D(1), D(-1), None), "1.00")], "T", "W")
    for text in (time_chart([Step("a", D(1), D(2))], "h", "", "T", "W"), small):
        root = ElementTree.fromstring(text)
        assert {element.tag.removeprefix(SVG) for element in root.iter()} == {
            *("svg", "title", "desc", "path", "text"),
        }
        assert root.attrib["role"] == "img"
        assert [element.text for element in list(root)[:2]] == ["T", "W"]
        for element in root.iter():
            style = element.attrib.get("style", "")
            assert "#" not in style and "url(" not in style and "font-family" not in style


@pytest.mark.parametrize("count", [1, 2, 12, 24, 144])
def test_labels_do_not_run_into_each_other(count: int) -> None:
    labels = [f"{2014 + at // 12}-{at % 12 + 1:02}" for at in range(count)]
    root = drawn(*(Step(label, D(1)) for label in labels))
    written = [
        (float(text.attrib["x"]) if "x" in text.attrib else 0.0, text.text)
        for text in root.iter(f"{SVG}text")
        if text.text in labels
    ]
    assert written and written[0][1] == labels[0]
    assert len(written) <= 4
    # A label of seven letters is some fifty units wide.
    across = sorted(place for place, _ in written)
    assert all(b - a >= 50 for a, b in itertools.pairwise(across))


@pytest.mark.parametrize("figure", ["0", "0.01", "99999999999999999999"])
def test_any_figure_can_be_drawn(figure: str) -> None:
    drawn(Step("a", D(figure)), Step("b", None))
    small_charts([Small("a", (D(figure), None), figure)], "T", "W")
    small_charts([], "T", "W")


def test_same_figures_give_the_same_chart() -> None:
    steps = [Step("a", D(1), D(2)), Step("b", D(3))]
    assert time_chart(steps, "3", "", "T", "W") == time_chart(steps, "3", "", "T", "W")

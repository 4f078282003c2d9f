"""Charts: SVG that belongs to its page and can do nothing else."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from rich.cells import cell_len

from offcut.reports.drawing.charts import LONGEST_NAME, MOST_BARS, Bar, bar_chart, largest

D = Decimal
SVG = "{http://www.w3.org/2000/svg}"


def drawn(*bars: Bar) -> ElementTree.Element:
    return ElementTree.fromstring(bar_chart(bars, "A title", "A description"))


def bar(name: str = "Heron", income: str = "10", contribution: str = "4") -> Bar:
    return Bar(name, D(income), D(contribution), contribution)


def horizontal(path: ElementTree.Element) -> list[tuple[float, float]]:
    """Return the ends of each bar of a shape."""
    ends = []
    for bar in path.attrib["d"].split("M")[1:]:
        numbers = [word for word in bar.split() if word not in "Lz"]
        across = sorted(map(float, numbers[::2]))
        ends.append((across[0], across[-1]))
    return ends


@pytest.mark.parametrize(
    "name",
    [
        "Heron at Dusk",
        "فراشة الليل",
        "夜の灯台",
        "Owl 🦉",
        "$x_1$ and $\\frac{a}{b}$",
        "<script>alert(1)</script> & 'quotes\"",
    ],
)
def test_names_stay_text(name: str) -> None:
    texts = [text.text for text in drawn(bar(name)).iter(f"{SVG}text")]
    assert texts == [name, "4"]


@pytest.mark.filterwarnings("error")
def test_letters_that_the_drawing_font_lacks_are_no_warning() -> None:
    drawn(bar("夜の灯台 🦉"))


def test_long_name_is_cut_to_its_room() -> None:
    texts = [text.text or "" for text in drawn(bar("夜" * 99)).iter(f"{SVG}text")]
    assert texts[0].startswith("夜" * 21) and texts[0].endswith("…")
    assert cell_len(texts[0]) == LONGEST_NAME


def test_only_shapes_and_text_in_the_colours_of_the_page() -> None:
    root = drawn(bar(), bar("Loss", "2", "-3"))
    kinds = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert kinds == {"svg", "title", "desc", "path", "text"}
    allowed = {"viewBox", "role", "d", "style", "x", "y"}
    for element in root.iter():
        assert set(element.attrib) <= allowed
        style = element.attrib.get("style", "")
        assert "#" not in style and "url(" not in style and "font-family" not in style
    styles = " ".join(element.attrib.get("style", "") for element in root.iter())
    for colour in ("--income", "--contribution", "--loss", "--quiet", "currentColor"):
        assert colour in styles


def test_name_and_description_for_a_screen_reader() -> None:
    root = drawn(bar())
    assert root.attrib["role"] == "img"
    title, description = list(root)[:2]
    assert (title.tag, title.text) == (f"{SVG}title", "A title")
    assert (description.tag, description.text) == (f"{SVG}desc", "A description")


def test_bars_are_as_long_as_their_amounts() -> None:
    root = drawn(bar("Gain", "10", "5"), bar("Loss", "5", "-10"))
    incomes, gains, losses, *_ = map(horizontal, root.iter(f"{SVG}path"))
    (income, small), (gain,), (loss,) = incomes, gains, losses
    zero = income[0]
    unit = (income[1] - zero) / 10
    assert gain == pytest.approx((zero, zero + 5 * unit), abs=0.01)
    assert small == pytest.approx((zero, zero + 5 * unit), abs=0.01)
    assert loss == pytest.approx((zero - 10 * unit, zero), abs=0.01)


@pytest.mark.parametrize("amount", ["0", "0.01", "99999999999999999999"])
def test_any_amount_can_be_drawn(amount: str) -> None:
    root = drawn(bar("One", amount, amount))
    assert all(
        0 <= end <= 420
        for path in root.iter(f"{SVG}path")
        for ends in horizontal(path)
        for end in ends
    )


def test_same_figures_give_the_same_chart() -> None:
    assert bar_chart([bar()], "A", "B") == bar_chart([bar()], "A", "B")


def test_largest_keeps_gains_and_losses_in_order() -> None:
    bars = [bar(str(size), "0", str(size)) for size in range(20, -20, -1)]
    kept = [int(one.name) for one in largest(bars)]
    assert len(kept) == MOST_BARS
    assert kept == [*range(20, 9, -1), *range(-11, -20, -1)]


def test_drawing_library_is_loaded_only_to_draw() -> None:
    code = (
        "import sys, offcut.reports.command, offcut.reports.drawing.page\n"
        "assert 'matplotlib' not in sys.modules\n"
        "from offcut.reports.drawing.charts import bar_chart\n"
        "bar_chart([], 'A', 'B')\n"
        "assert 'matplotlib' in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)

"""Charts over time in a browser: within the page, large enough, in its colours."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from offcut.reports.drawing.report_files import write_page
from tests.reports.drawing.test_report_in_browser import browser, pytestmark, show, style
from tests.reports.test_odd_ledgers import HEAD, item, sale, statements_of

__all__ = ["browser", "pytestmark"]

YEARS = HEAD + "".join(
    item(code, name)
    for code, name in (
        ("HERON", "Heron at Dusk, vinyl sticker"),
        ("OWL", "Owl 🦉 夜の灯台"),
    )
)
YEARS += "".join(
    sale(f"{year}-{month:02}-05", code, f"{month * 1234}.50")
    for year in (2023, 2024, 2025)
    for month in range(1, 13)
    for code in ("HERON", "OWL")
)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    target = tmp_path_factory.mktemp("page") / "reports.html"
    write_page(statements_of(YEARS), "Reports", "Books", target)
    assert Path(target).exists()
    return target.as_uri()


@pytest.mark.parametrize("width", [320, 390, 768, 1000, 1200])
def test_page_does_not_scroll_sideways(browser: Any, address: str, width: int) -> None:
    show(browser, address, width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [390, 1200])
def test_chart_text_is_large_enough_to_read(browser: Any, address: str, width: int) -> None:
    show(browser, address, width)
    heights = browser.execute_script(
        "return [...document.querySelectorAll('svg text')]"
        ".map(text => text.getBoundingClientRect().height)"
    )
    assert len(heights) > 20 and min(heights) >= 11


def test_charts_have_the_colours_of_their_mode(browser: Any, address: str) -> None:
    fills = {}
    for scheme in ("light", "dark"):
        show(browser, address, scheme=scheme)
        fills[scheme] = [
            style(browser, ".plots svg path", "fill"),
            style(browser, ".plots svg text", "fill"),
            style(browser, ".key.step", "backgroundColor"),
        ]
    assert all(a != b for a, b in zip(fills["light"], fills["dark"], strict=True))


def test_a_frame_that_scrolls_can_be_reached_by_key(browser: Any, address: str) -> None:
    show(browser, address, 1000)
    reachable = browser.execute_script(
        "return [...document.querySelectorAll('*')]"
        ".filter(part => getComputedStyle(part).overflowX === 'auto'"
        " && part.scrollWidth > part.clientWidth)"
        ".map(part => [part.tabIndex, part.getAttribute('role'), part.ariaLabel])"
    )
    assert reachable
    assert all(index == 0 and role == "region" and name for index, role, name in reachable)

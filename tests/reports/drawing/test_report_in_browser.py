"""The page in a browser: it opens by itself, fits a phone, and has a dark mode."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from offcut.reports.drawing.report_files import write_page
from offcut.reports.profit import GROUPINGS, ProfitReports
from offcut.reports.profit_statement import profit_statement

selenium = pytest.importorskip("selenium", reason="selenium is not installed")
webdriver = pytest.importorskip("selenium.webdriver")

CHROMIUM = shutil.which("chromium")
DRIVER = shutil.which("chromedriver")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(
        not (CHROMIUM and DRIVER), reason="chromium and chromedriver are not installed"
    ),
]
ARGUMENTS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Chromium, with a record of what it asks the network for."""
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for argument in (*ARGUMENTS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    yield driver
    driver.quit()


@pytest.fixture
def address(shop_reports: ProfitReports, tmp_path: Path) -> str:
    """The address of a written page."""
    target = tmp_path / "report.html"
    statements = [profit_statement(shop_reports, grouping) for grouping in GROUPINGS]
    write_page(statements, "Profit, all dates", shop_reports.title, target)
    return target.as_uri()


def show(browser: Any, address: str, width: int = 1200, scheme: str = "light") -> None:
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 844, "deviceScaleFactor": 1, "mobile": width < 500},
    )
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {"features": [{"name": "prefers-color-scheme", "value": scheme}]},
    )
    browser.get(address)


def style(browser: Any, selector: str, name: str) -> str:
    return str(
        browser.execute_script(
            "return getComputedStyle(document.querySelector(arguments[0]))[arguments[1]]",
            selector,
            name,
        )
    )


def test_opens_without_errors_and_without_a_network(browser: Any, address: str) -> None:
    browser.get_log("browser")  # What was there before is taken out.
    show(browser, address)
    assert browser.title.startswith("Profit, all dates")
    assert browser.get_log("browser") == []
    events = [
        json.loads(entry["message"])["message"] for entry in browser.get_log("performance")
    ]
    requests = [
        event["params"]
        for event in events
        if event["method"] == "Network.requestWillBeSent"
    ]
    # By this page, not by the browser's own first one, which may still be loading.
    assert [
        request["request"]["url"]
        for request in requests
        if request["documentURL"] == address
    ] == [address]


def test_script_in_a_name_does_not_run(browser: Any, address: str) -> None:
    show(browser, address)
    assert browser.execute_script("return document.scripts.length") == 0
    names = browser.execute_script(
        "return [...document.querySelectorAll('th')].map(cell => cell.textContent)"
    )
    assert any(name.startswith("<script>alert('ink')</script>") for name in names)


@pytest.mark.parametrize("width", [320, 390, 768, 1200])
def test_page_does_not_scroll_sideways(browser: Any, address: str, width: int) -> None:
    show(browser, address, width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    # Nor is anything of a table or a chart beyond the edge.
    beyond = browser.execute_script(
        "return [...document.querySelectorAll('td, tbody th, svg text')].filter("
        "cell => cell.getBoundingClientRect().right > arguments[0] + 1"
        ").map(cell => cell.textContent)",
        width,
    )
    assert beyond == []


def test_phone_names_every_figure(browser: Any, address: str) -> None:
    show(browser, address, 390)
    heading = browser.execute_script(
        "const cell = document.querySelector('td[data-heading=Sales]');"
        "return getComputedStyle(cell, '::before').content"
    )
    assert heading == '"Sales"'
    # Rows are no table to the layout any more, but still one to a screen reader.
    assert style(browser, ".long tbody tr", "display") == "grid"
    roles = browser.execute_script(
        "return [...document.querySelectorAll('.long, .long *')]"
        ".filter(part => /^(table|thead|tbody|tfoot|tr|td|th)$/i.test(part.tagName))"
        ".every(part => part.hasAttribute('role'))"
    )
    assert roles is True


def test_dark_mode_has_colours_of_its_own(browser: Any, address: str) -> None:
    show(browser, address, scheme="light")
    light = [style(browser, *what) for what in COLOURED]
    show(browser, address, scheme="dark")
    dark = [style(browser, *what) for what in COLOURED]
    assert all(one != other for one, other in zip(light, dark, strict=True))


COLOURED = (
    ("body", "backgroundColor"),
    ("body", "color"),
    ("svg path", "fill"),
    ("svg text", "fill"),
)


def test_chart_text_is_large_enough_to_read(browser: Any, address: str) -> None:
    show(browser, address, 390)
    heights = browser.execute_script(
        "return [...document.querySelectorAll('svg text')]"
        ".map(text => text.getBoundingClientRect().height)"
    )
    assert heights and min(heights) >= 11


def test_print_is_light_whatever_the_screen_is(browser: Any, address: str) -> None:
    show(browser, address, scheme="dark")
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {
            "media": "print",
            "features": [{"name": "prefers-color-scheme", "value": "dark"}],
        },
    )
    # Dark ink: the sum of red, green and blue is small.
    ink = style(browser, "body", "color").removeprefix("rgb(").removesuffix(")")
    assert sum(map(int, ink.split(","))) < 150
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})

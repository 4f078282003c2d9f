"""The pages in a browser: no errors in light and dark, links and filters, no script."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from cheroot.wsgi import Server

from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.server import LOOPBACK, address

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
    """Chromium, with a record of what it complains of."""
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for argument in (*ARGUMENTS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    driver.set_page_load_timeout(120)
    yield driver
    driver.quit()


class Served(NamedTuple):
    """A ledger at an address."""

    url: str
    desk: Any


def served(desk: Any) -> Iterator[Served]:
    server = Server((LOOPBACK, 0), desk.app)
    server.prepare()
    thread = threading.Thread(target=server.serve)
    thread.start()
    yield Served(address(desk.app, server.bind_addr[1]), desk)
    server.stop()
    thread.join()


@pytest.fixture(scope="module")
def site(example: Any) -> Iterator[Served]:
    """The example ledger, served as `offcut view` does."""
    yield from served(example)


@pytest.fixture
def open_site(open_shop: Any) -> Iterator[Served]:
    """The small ledger, served as `offcut view --edit` does."""
    yield from served(open_shop)


def wait(browser: Any, condition: Any) -> Any:
    from selenium.webdriver.support.ui import WebDriverWait

    return WebDriverWait(browser, 60).until(condition)


def show(browser: Any, url: str, scheme: str = "light", width: int = 1200) -> None:
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 844, "deviceScaleFactor": 1, "mobile": width < 500},
    )
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {"features": [{"name": "prefers-color-scheme", "value": scheme}]},
    )
    browser.get(url)
    # fava's own frame stands once its script has run.
    wait(browser, lambda each: each.find_elements("css selector", "header"))


def heading(browser: Any) -> str:
    return str(
        browser.execute_script(
            "const heading = document.querySelector('.offcut h2');"
            "return heading ? heading.textContent : ''"
        )
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_opens_without_errors(browser: Any, site: Served, scheme: str) -> None:
    browser.get_log("browser")  # What was there before is taken out.
    for report in CONTENTS:
        show(browser, f"{site.url}?report={report}", scheme)
        assert heading(browser)
        assert browser.get_log("browser") == [], report
        colour = browser.execute_script(
            "return getComputedStyle(document.body)"
            ".backgroundColor.match(/\\d+/g).slice(0, 3).map(Number)"
        )
        assert (sum(colour) < 200) == (scheme == "dark")


def test_phone_has_no_page_wider_than_itself(browser: Any, site: Served) -> None:
    for report in CONTENTS:
        show(browser, f"{site.url}?report={report}", width=390)
        wide = browser.execute_script(
            "const article = document.querySelector('article');"
            "return [article.scrollWidth, document.documentElement.scrollWidth]"
        )
        assert max(wide) <= 390, report


def test_time_filter_of_fava_changes_the_same_report(browser: Any, site: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    show(browser, f"{site.url}?report=product")
    assert heading(browser) == "Profit per product, all dates"
    field = browser.find_elements("css selector", "header input")[0]
    field.send_keys("2026-03", Keys.ENTER)
    wait(browser, lambda each: heading(each) == "Profit per product, March 2026")
    # Sorting keeps the filter, and the journal has it too.
    browser.find_element("link text", "Sales").click()
    wait(browser, lambda each: "sort=" in each.current_url)
    wait(browser, lambda each: heading(each) == "Profit per product, March 2026")
    first = browser.find_element("css selector", ".offcut tbody th a")
    first.click()
    wait(browser, lambda each: "/journal/" in each.current_url)
    assert "time=2026-03" in browser.current_url
    wait(browser, lambda each: each.find_elements("css selector", ".journal .transaction"))


def test_figures_are_read_without_a_script(browser: Any, site: Served) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser.get(f"{site.url}?report=design&time=2025")
        text = browser.find_element("css selector", ".offcut").text
        assert "Profit per design, 2025" in text
        browser.find_element("link text", "Shelf").click()
        wait(browser, lambda each: "On the shelf" in each.page_source)
        assert "at the close of 31 December 2025" in browser.page_source
        field = browser.find_element("css selector", "form input[name=time]")
        field.clear()
        field.send_keys("2025-06")
        browser.find_element("css selector", "form button").click()
        wait(browser, lambda each: "at the close of 30 June 2025" in each.page_source)
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_saved_line_changes_the_figure_and_no_name_runs(
    browser: Any, open_site: Served
) -> None:
    show(browser, f"{open_site.url}?report=design")
    assert "732.62" in browser.find_element("css selector", ".offcut dl").text
    assert (
        browser.execute_script("return document.querySelectorAll('.offcut script').length")
        == 0
    )
    status = browser.execute_async_script(
        "const [path, before, after, done] = arguments;"
        "const url = location.pathname.replace(/extension.*/, 'api/source');"
        "fetch(url + '?filename=' + encodeURIComponent(path))"
        ".then(answer => answer.json()).then(({ data }) => fetch(url, {"
        "method: 'PUT', headers: { 'Content-Type': 'application/json' },"
        "body: JSON.stringify({ file_path: path,"
        "source: data.source.replace(before, after), sha256sum: data.sha256sum })"
        "})).then(answer => done(answer.status))",
        str(open_site.desk.path),
        "Expenses:Software  9.00 USD",
        "Expenses:Software  10.00 USD",
    )
    assert status == 200
    assert "10.00 USD" in Path(open_site.desk.path).read_text(encoding="utf-8")
    show(browser, f"{open_site.url}?report=design")
    assert "731.62" in browser.find_element("css selector", ".offcut dl").text

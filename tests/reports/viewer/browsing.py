"""Drive Chromium over the viewer; the tests and the pictures of the documents need it."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from cheroot.wsgi import Server

from offcut.reports.viewer.server import LOOPBACK, address

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


def chromium(profile: Path) -> Any:
    """Return Chromium, with a record of what it complains of.

    Args:
      profile: A folder for what it keeps.
    """
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM or ""
    for argument in (*ARGUMENTS, f"--user-data-dir={profile}"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    driver.set_page_load_timeout(120)
    return driver


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Chromium."""
    pytest.importorskip("selenium", reason="selenium is not installed")
    driver = chromium(tmp_path_factory.mktemp("profile"))
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

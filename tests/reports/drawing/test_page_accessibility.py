"""The page for those who use a keyboard, a screen reader, large letters or little light.

Checked by axe-core, whose file OFFCUT_AXE names: `npm pack axe-core@4` has it as
`package/axe.min.js`.
"""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest
from beancount import loader

from offcut.reports.books import Books
from offcut.reports.drawing.report_files import write_page
from offcut.reports.ledger_file import load_ledger
from offcut.reports.period import Period, choose_period
from offcut.reports.whole_report import whole_report
from tests.reports.axe import needs_axe, violations
from tests.reports.conftest import LEDGER
from tests.reports.drawing.test_report_in_browser import browser, pytestmark, show, style

__all__ = ["browser", "pytestmark"]

EXAMPLE = Path(__file__).parents[3] / "example_ledger" / "main.beancount"
TODAY = datetime.date(2026, 10, 31)
VIEWS = {"light": (1200, "light"), "dark": (1200, "dark"), "phone": (390, "light")}


def write(books: Books, period: Period, target: Path) -> str:
    statements = list(whole_report(books, period, "USD", "value", TODAY))
    write_page(statements, "Reports", str(books.options["title"]), target)
    return target.as_uri()


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The page of a month of the example ledger."""
    ledger = load_ledger(EXAMPLE)
    books = Books(ledger.entries, ledger.options, ledger.errors, EXAMPLE)
    target = tmp_path_factory.mktemp("example") / "report.html"
    return write(books, choose_period(month="2026-08"), target)


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The page of a ledger whose names are scripts, long, and of other scripts."""
    entries, errors, options = loader.load_string(LEDGER)
    assert not errors
    target = tmp_path_factory.mktemp("hostile") / "report.html"
    return write(Books(entries, options), Period(), target)


def unfold(browser: Any) -> None:
    """Open the tables that a page shows only where they are asked for."""
    browser.execute_script(
        "document.querySelectorAll('.fold').forEach(table => { table.open = true })"
    )


@needs_axe
@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("which", ["example", "hostile"])
def test_axe_finds_nothing_serious(
    browser: Any, request: pytest.FixtureRequest, which: str, view: str
) -> None:
    show(browser, request.getfixturevalue(which), *VIEWS[view])
    # As a reader has it who opened all tables, and looked at where a figure comes from.
    unfold(browser)
    browser.execute_script(
        "location.hash = document.querySelector('tbody th a').getAttribute('href');"
    )
    assert violations(browser) == []


@needs_axe
def test_axe_finds_what_is_wrong(browser: Any, hostile: str) -> None:
    show(browser, hostile)
    browser.execute_script(
        "document.querySelector('main').style.color = '#ddd';"
        "document.querySelector('main').style.background = '#fff';"
        "document.documentElement.removeAttribute('lang');"
    )
    assert {"color-contrast", "html-has-lang"} <= {one[0] for one in violations(browser)}


@pytest.mark.parametrize("width", [320, 390, 768, 1200])
def test_page_does_not_scroll_sideways(browser: Any, example: str, width: int) -> None:
    show(browser, example, width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


def test_link_of_a_line_opens_its_sources_by_key(browser: Any, example: str) -> None:
    from selenium.webdriver.common.keys import Keys

    show(browser, example)
    link = browser.find_element("css selector", "#profit-per-design-1 a")
    sources = browser.find_element("css selector", "#profit-per-design-1-from")
    assert not sources.is_displayed()
    link.send_keys(Keys.ENTER)
    assert sources.is_displayed()
    assert "imports/" in sources.text and ".beancount:" in sources.text
    # The next link from there leads back.
    back = sources.find_element("css selector", "caption a")
    back.send_keys(Keys.ENTER)
    line = browser.execute_script("return document.querySelector(':target').textContent")
    assert line.startswith(link.text)


def test_folded_table_opens_by_key_and_is_named_on_paper(
    browser: Any, example: str
) -> None:
    from selenium.webdriver.common.keys import Keys

    show(browser, example)
    fold = browser.find_element("css selector", ".fold")
    assert not fold.find_element("css selector", "table").is_displayed()
    summary = fold.find_element("css selector", "summary")
    assert summary.text.startswith("Profit per design in detail, August 2026, in USD: ")
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    said = browser.execute_script(
        "const summary = document.querySelector('.fold summary');"
        "return getComputedStyle(summary, '::after').content"
    )
    assert said == '", on the page only"'
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    summary.send_keys(Keys.ENTER)
    assert fold.find_element("css selector", "table").is_displayed()


def test_what_to_look_at_leads_to_its_figures(browser: Any, example: str) -> None:
    show(browser, example)
    links = browser.find_elements("css selector", ".look a")
    assert links
    for link in links:
        name = str(link.get_attribute("href")).partition("#")[2]
        assert browser.find_element("id", name).text == link.text


def test_skip_link_is_first_and_shows_when_it_is_reached(
    browser: Any, example: str
) -> None:
    from selenium.webdriver.common.keys import Keys

    show(browser, example)
    browser.find_element("css selector", "body").send_keys(Keys.TAB)
    focused = browser.switch_to.active_element
    assert focused.get_attribute("class") == "skip"
    assert focused.rect["x"] >= 0
    assert style(browser, ".skip", "outlineStyle") == "solid"


def test_names_stay_where_figures_move(browser: Any, example: str) -> None:
    show(browser, example, 390)
    unfold(browser)
    moved = browser.execute_script(
        "const frame = document.querySelector('[aria-label^=\"Profit per design in\"]');"
        "const name = frame.querySelector('tbody th');"
        "const before = name.getBoundingClientRect().left;"
        "frame.scrollLeft = 200;"
        "return [frame.scrollLeft, name.getBoundingClientRect().left - before]"
    )
    assert moved[0] == 200 and abs(moved[1]) < 1


def test_paper_has_no_links_and_repeats_headings(browser: Any, example: str) -> None:
    show(browser, example)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    for hidden in ("nav", ".skip", ".up", ".sources"):
        assert style(browser, hidden, "display") == "none"
    assert style(browser, "table.dense thead", "display") == "table-header-group"
    assert style(browser, "tbody tr", "breakInside") == "avoid"
    browser.execute_script("document.querySelector('.sources').open = true")
    assert style(browser, ".sources", "display") == "block"
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})

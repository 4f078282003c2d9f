"""The pages without a script, by keyboard, for axe-core, and as what is edited changes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from offcut.reports.viewer.contents import CONTENTS
from tests.reports.axe import needs_axe, violations
from tests.reports.viewer.browsing import (
    Served,
    browser,
    heading,
    open_site,
    pytestmark,
    show,
    site,
    wait,
)
from tests.reports.viewer.test_in_browser import PAGES

__all__ = ["browser", "open_site", "pytestmark", "site"]


@pytest.fixture
def scriptless(browser: Any) -> Any:
    """Chromium without JavaScript."""
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    yield browser
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def text_of(browser: Any) -> str:
    return str(browser.find_element("css selector", ".offcut").text)


def test_every_page_is_read_without_a_script(scriptless: Any, site: Served) -> None:
    for page in PAGES:
        scriptless.get(f"{site.url}{page}")
        title = scriptless.find_element("css selector", ".offcut h2")
        assert title.is_displayed(), page
        assert scriptless.find_elements("css selector", ".offcut tbody tr"), page


def test_filter_drill_and_sort_without_a_script(scriptless: Any, site: Served) -> None:
    scriptless.get(f"{site.url}?report=design&time=2025")
    assert "Profit per design, 2025" in text_of(scriptless)
    scriptless.find_element("link text", "Shelf").click()
    wait(scriptless, lambda each: "On the shelf" in each.page_source)
    assert "at the close of 31 December 2025" in text_of(scriptless)
    field = scriptless.find_element("css selector", "form input[name=time]")
    field.clear()
    field.send_keys("2025-06")
    scriptless.find_element("css selector", "form button").click()
    wait(scriptless, lambda each: "at the close of 30 June 2025" in each.page_source)
    scriptless.find_element("link text", "Designs").click()
    wait(scriptless, lambda each: "Profit per design, June 2025" in each.page_source)
    scriptless.find_element("link text", "Units").click()
    wait(scriptless, lambda each: 'aria-sort="descending"' in each.page_source)
    scriptless.find_element("link text", "Heron at Dusk").click()
    wait(scriptless, lambda each: "Heron at Dusk, June 2025" in each.page_source)


def focused(browser: Any) -> str:
    """Return what the element with the focus is called."""
    return str(
        browser.execute_script(
            "const one = document.activeElement;"
            "return one.getAttribute('aria-label') || one.textContent.trim()"
        )
    )


def tab_to(browser: Any, name: str, most: int = 120) -> None:
    """Press Tab until an element has the focus."""
    from selenium.webdriver.common.keys import Keys

    for _ in range(most):
        if focused(browser) == name:
            return
        browser.switch_to.active_element.send_keys(Keys.TAB)
    raise AssertionError(f"{name}: not reached by {most} steps")


def test_sorted_opened_and_filtered_by_keyboard(browser: Any, site: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    show(browser, f"{site.url}?report=design")
    browser.execute_script("document.querySelector('.offcut nav a').focus()")
    tab_to(browser, "Units")
    browser.switch_to.active_element.send_keys(Keys.ENTER)
    wait(browser, lambda each: "sort=" in each.current_url)
    wait(browser, lambda each: each.find_elements("css selector", "[aria-sort=descending]"))
    # What has the focus can be seen.
    browser.execute_script("document.querySelector('.offcut nav a').focus()")
    tab_to(browser, "Harbour Cat")
    ring = browser.execute_script(
        "const style = getComputedStyle(document.activeElement);"
        "return [style.outlineStyle, style.outlineWidth]"
    )
    assert ring[0] != "none" and ring[1] != "0px"
    browser.switch_to.active_element.send_keys(Keys.ENTER)
    wait(browser, lambda each: heading(each) == "Harbour Cat, all dates")
    # fava's own key for the filters.
    browser.find_element("css selector", "body").send_keys("ft")
    browser.switch_to.active_element.send_keys("2026-03", Keys.ENTER)
    wait(browser, lambda each: heading(each) == "Harbour Cat, March 2026")
    tab_to(browser, "show 2026-03 in the journal")
    browser.switch_to.active_element.send_keys(Keys.ENTER)
    wait(browser, lambda each: "/journal/" in each.current_url)


@needs_axe
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("page", PAGES)
def test_axe_finds_nothing_serious(
    browser: Any, site: Served, page: str, scheme: str
) -> None:
    # A month, so that the longest pages are as long as a maker reads them.
    month = "" if "time=" in page or "close" in page else "&time=2026-08"
    show(browser, f"{site.url}{page}{month}", scheme)
    assert violations(browser, ".offcut") == []


@needs_axe
def test_axe_finds_nothing_serious_on_a_phone_and_in_awkward_names(
    browser: Any, site: Served, open_site: Served
) -> None:
    for url in (site.url, open_site.url):
        show(browser, f"{url}?report=design", width=390)
        assert violations(browser, ".offcut") == []


@needs_axe
def test_axe_finds_what_is_wrong(browser: Any, site: Served) -> None:
    show(browser, f"{site.url}?report=channel")
    browser.execute_script(
        "document.querySelector('.offcut').style.color = '#ddd';"
        "document.querySelector('.offcut dd').style.color = '#ddd';"
    )
    assert "color-contrast" in {one[0] for one in violations(browser, ".offcut")}


def test_no_name_runs_as_a_script(browser: Any, open_site: Served) -> None:
    browser.get_log("browser")
    for report in CONTENTS:
        show(browser, f"{open_site.url}?report={report}")
        # An alert that had come up would stop this.
        scripts = browser.execute_script(
            "return document.querySelectorAll('.offcut script, .offcut i').length"
        )
        assert scripts == 0
    name = "%3Cscript%3Ealert(1)%3C%2Fscript%3E"
    for report in ("design", "trace", "plan"):
        show(browser, f"{open_site.url}?report={report}&name={name}")
        assert "<script>alert(1)</script>" in text_of(browser)
    assert browser.get_log("browser") == []


def test_line_edited_in_the_editor_changes_the_figure(
    browser: Any, open_site: Served
) -> None:
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    path = Path(open_site.desk.path)
    show(browser, f"{open_site.url}?report=design")
    assert "732.62" in browser.find_element("css selector", ".offcut dl").text
    lines = path.read_text(encoding="utf-8").splitlines()
    (number,) = [at for at, line in enumerate(lines, 1) if "Expenses:Software  9" in line]
    editor = open_site.url.replace("extension/Offcut/", "editor/")
    show(browser, f"{editor}?file_path={path}&line={number}")
    line = "//div[contains(@class, 'cm-line')][contains(., 'Expenses:Software  9')]"
    wait(browser, lambda each: each.find_elements("xpath", line))
    browser.find_element("xpath", line).click()
    keys = ActionChains(browser).send_keys(Keys.END, *[Keys.BACKSPACE] * len("9.00 USD"))
    keys.send_keys("10.00 USD").key_down(Keys.CONTROL).send_keys("s")
    keys.key_up(Keys.CONTROL).perform()
    wait(browser, lambda _: "10.00 USD" in path.read_text(encoding="utf-8"))
    show(browser, f"{open_site.url}?report=design")
    assert "731.62" in browser.find_element("css selector", ".offcut dl").text


def test_nothing_can_be_saved_without_edit(browser: Any, site: Served) -> None:
    path = Path(site.desk.path)
    before = path.read_bytes()
    show(browser, f"{site.url}?report=design")
    status = browser.execute_async_script(
        "const [path, done] = arguments;"
        "const url = location.pathname.replace(/extension.*/, 'api/source');"
        "fetch(url, { method: 'PUT', headers: { 'Content-Type': 'application/json' },"
        "body: JSON.stringify({ file_path: path, source: '', sha256sum: '' })})"
        ".then(answer => done(answer.status))",
        str(path),
    )
    assert status == 401
    assert path.read_bytes() == before

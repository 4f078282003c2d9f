"""The pages in a browser: no errors in light and dark, links and filters, no script."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from offcut.reports.viewer.contents import CONTENTS
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

__all__ = ["browser", "open_site", "pytestmark", "site"]

# Every report, and the pages of one thing that their lines lead to.
PAGES = (
    *(f"?report={report}" for report in CONTENTS if report != "trace"),
    "?report=design&name=Heron%20at%20Dusk",
    "?report=product&name=HERON-STK",
    "?report=event&name=harbour-fair-2026",
    "?report=trace&name=order%20W1458",
    "?report=plan&name=wholesale",
    "?report=time&interval=quarter",
)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_opens_without_errors(browser: Any, site: Served, scheme: str) -> None:
    browser.get_log("browser")  # What was there before is taken out.
    for page in PAGES:
        show(browser, f"{site.url}{page}", scheme)
        assert heading(browser)
        assert browser.get_log("browser") == [], page
        colour = browser.execute_script(
            "return getComputedStyle(document.body)"
            ".backgroundColor.match(/\\d+/g).slice(0, 3).map(Number)"
        )
        assert (sum(colour) < 200) == (scheme == "dark")


def test_pictures_follow_light_and_dark(browser: Any, site: Served) -> None:
    pictures = []
    for scheme in ("light", "dark"):
        show(browser, f"{site.url}?report=design", scheme)
        pictures.append(browser.find_element("css selector", ".offcut").screenshot_as_png)
        colours = browser.execute_script(
            "const bar = document.querySelector('.offcut .key.share');"
            "return [getComputedStyle(bar).backgroundColor,"
            " getComputedStyle(document.querySelector('.offcut nav a:not([aria-current])'))"
            ".color]"
        )
        # The bars have the colour of fava's links.
        assert colours[0] == colours[1]
    assert all(each.startswith(b"\x89PNG") for each in pictures)
    assert pictures[0] != pictures[1]


def test_phone_has_no_page_wider_than_itself(browser: Any, site: Served) -> None:
    for page in PAGES:
        show(browser, f"{site.url}{page}", width=390)
        wide = browser.execute_script(
            "const article = document.querySelector('article');"
            "return [article.scrollWidth, document.documentElement.scrollWidth]"
        )
        assert max(wide) <= 390, page


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
    first = browser.find_element("css selector", ".offcut tbody .shown-in a")
    first.click()
    wait(browser, lambda each: "/journal/" in each.current_url)
    assert "time=2026-03" in browser.current_url
    wait(browser, lambda each: each.find_elements("css selector", ".journal .transaction"))


def test_account_and_tag_filters_of_fava(browser: Any, site: Served) -> None:
    from selenium.webdriver.common.keys import Keys

    show(browser, f"{site.url}?report=channel")
    field = browser.find_elements("css selector", "header input")[2]
    field.send_keys("#event-harbour-fair-2026", Keys.ENTER)
    wait(browser, lambda each: "Only the transactions" in each.page_source)
    channels = browser.find_elements("css selector", ".offcut tbody tr.line th")
    assert [each.text for each in channels][:1] == ["Fair"]
    show(browser, f"{site.url}?report=channel")
    field = browser.find_elements("css selector", "header input")[1]
    field.send_keys("Income:Sales:Wholesale", Keys.ENTER)
    wait(browser, lambda each: "Only the transactions" in each.page_source)
    lines = browser.find_elements("css selector", ".offcut tbody tr.line th")
    assert "Wholesale" in [each.text for each in lines]


def test_drill_from_design_to_order_to_editor(browser: Any, site: Served) -> None:
    show(browser, f"{site.url}?report=design")
    for text, then in (
        ("Heron at Dusk", "Heron at Dusk, all dates"),
        ("Heron at Dusk, vinyl sticker, 3 in", "Heron at Dusk, vinyl sticker, 3 in, all"),
    ):
        browser.find_element("link text", text).click()
        wait(browser, lambda each, then=then: heading(each).startswith(then))
    order = browser.find_element("css selector", "#earned-by-order ~ .frame tbody th a")
    number = order.text
    order.click()
    wait(browser, lambda each: heading(each).startswith(f"Order {number},"))
    browser.find_element("partial link text", "imports/").click()
    wait(browser, lambda each: "/editor/" in each.current_url)
    assert "line=" in browser.current_url
    wait(browser, lambda each: f"order-{number}" in each.page_source)


def test_month_end_leads_to_the_import_page(browser: Any, site: Served) -> None:
    show(browser, f"{site.url}?report=close&time=2026-10")
    browser.find_element("link text", "inbox/card-payments-2026-10.csv").click()
    wait(browser, lambda each: "/import/" in each.current_url)
    # Though the ledger names no configuration, it has a layout for the file.
    wait(browser, lambda each: "offcut.card-payments" in each.page_source)
    assert browser.find_element("xpath", "//button[text()='Extract']").is_displayed()


def test_error_leads_to_its_line(browser: Any, tmp_path: Path) -> None:
    from tests.reports.viewer.browsing import served
    from tests.reports.viewer.conftest import desk_of

    path = tmp_path / "main.beancount"
    path.write_text(
        'option "operating_currency" "USD"\n'
        'plugin "offcut.plugins"\n'
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Income:Sales:Web\n"
        "2025-01-01 commodity MOTH\n"
        '  stock: "product"\n'
        '2025-03-01 * "Sold before it was made"\n'
        "  Assets:Cash  4 USD\n"
        "  Income:Sales:Web  -4 USD\n"
        '    item: "MOTH"\n'
        "    quantity: 1\n",
        encoding="utf-8",
    )
    serving = served(desk_of(path))
    wrong = next(serving)
    try:
        show(browser, wrong.url)
        page = browser.find_element("css selector", ".offcut")
        assert "The ledger has 1 error" in page.text
        page.find_element("link text", "Errors").click()
        wait(
            browser,
            lambda each: "MOTH" in each.find_element("css selector", "article").text,
        )
        browser.find_element("css selector", "article a.source").click()
        wait(browser, lambda each: "/editor/" in each.current_url)
        assert "line=" in browser.current_url
    finally:
        next(serving, None)

"""fava's filters change the flows, not the levels; links keep to them."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from offcut.reports.viewer import drawing


def net_income(page: str) -> str:
    """Return the net income at the head of a page."""
    found = re.search(r"<dt>Net income</dt><dd>([^<]*)</dd>", page)
    assert found
    return found[1]


def test_time_is_of_the_whole_days(shop: Any) -> None:
    # The fair of 8 March: 4.00 sold; what it sold of no item 5.00 less.
    assert net_income(shop.get("design", time="2025-03-08")) != net_income(
        shop.get("design")
    )
    assert "Profit per design, 2024" in shop.get("design", time="2024")
    assert "No income and no costs on these days." in shop.get("design", time="2024")


def test_account_and_link_leave_transactions_out(shop: Any) -> None:
    page = shop.get("channel", filter="^order-1")
    assert "Only the transactions that match" in page
    assert "Web" in page
    # 1,254.00 sold and 4.00 shipping, less 36.71, 490.123 and its postage, 4.55.
    assert net_income(page) == "726.62"
    # The postage is in a transaction of its own.
    by_account = shop.get("channel", account="Income:Sales:Web")
    assert net_income(by_account) == "731.17"


def test_filters_do_not_touch_levels(example: Any) -> None:
    plain = example.get("shelf")
    filtered = example.get("shelf", filter="^order-W1042")
    value = re.search(r"<dt>All, at cost</dt><dd>([^<]*)</dd>", plain)
    assert value and value[0] in filtered
    assert "do not apply here" in filtered
    owed = re.compile(r"What is owed adds up to [\d,.]+ USD")
    whole, part = example.get("channels"), example.get("channels", filter="#event-none")
    assert owed.search(whole)[0] == owed.search(part)[0]
    assert "All rows add up to 0.00 USD" in part


def test_time_of_levels_is_the_close_of_the_day(example: Any) -> None:
    pages = [example.get("shelf", time=time) for time in ("2025-03", "2025-06")]
    assert "at the close of 31 March 2025" in pages[0]
    values = [re.search(r"<dt>All, at cost</dt><dd>([^<]*)</dd>", page) for page in pages]
    assert values[0] and values[1] and values[0][1] != values[1][1]


def test_currency_is_favas_choice_where_there_is_any(shop: Any) -> None:
    assert net_income(shop.get("design", conversion="EUR")) == "1.25"
    other = shop.get("design", conversion="CHF")
    assert "Nothing was sold or spent in CHF: the figures are in USD." in other
    assert net_income(other) == net_income(shop.get("design", conversion="at_value"))


@pytest.mark.parametrize("filter", ["(", "any(", "^"])
def test_filter_that_is_none_is_said_by_fava(shop: Any, filter: str) -> None:
    address = f"/{shop.slug}/extension/Offcut/"
    response = shop.app.test_client().get(address, query_string={"filter": filter})
    assert response.status_code == 500
    assert "filter" in response.text


LINKS = [
    ("design", "Heron at Dusk", 'any(item:"^(HERON\\-STK|HERON\\-PRT)$")'),
    ("product", "Heron print", 'any(item:"^(HERON\\-PRT)$")'),
    ("order", "1", "^order-1"),
    ("design", "Expenses:Software", 'any(account:"^Expenses:Software$")'),
]


@pytest.mark.parametrize(("report", "name", "filter"), LINKS)
def test_line_leads_to_its_journal(
    report: str, name: str, filter: str, shop: Any, reading: Any
) -> None:
    page = reading(shop.get(report, time="2025-03"))
    address = urlsplit((page.links | page.journals)[name])
    assert address.path == f"/{shop.slug}/journal/"
    assert parse_qs(address.query) == {"filter": [filter], "time": ["2025-03"]}
    # fava understands it, and it finds something.
    found = shop.ledger.get_filtered(filter=filter, time="2025-03")
    assert [entry.date.month for entry in found.entries if hasattr(entry, "postings")]


def test_link_keeps_the_filter_of_the_page(shop: Any, reading: Any) -> None:
    links = reading(shop.get("product", filter="^order-1, ^order-2")).journals
    (filter,) = parse_qs(urlsplit(links["Heron print"]).query)["filter"]
    assert filter == '(^order-1, ^order-2) (any(item:"^(HERON\\-PRT)$"))'
    found = shop.ledger.get_filtered(filter=filter)
    assert [entry.links for entry in found.entries] == [{"order-1"}]


def test_all_links_of_the_example_find_transactions(example: Any, reading: Any) -> None:
    for report in ("design", "product", "channel", "event", "order", "channels", "time"):
        page = reading(example.get(report))
        addresses = (page.links | page.journals).items()
        journals = [(text, each) for text, each in addresses if "/journal/" in each]
        assert journals, report
        for text, address in journals[:40]:
            values = {
                key: value[0] for key, value in parse_qs(urlsplit(address).query).items()
            }
            found = example.ledger.get_filtered(**values)
            assert any(hasattr(each, "postings") for each in found.entries), (report, text)


def test_shelf_links_come_to_what_is_on_hand(example: Any, reading: Any) -> None:
    page = reading(example.get("shelf", filter="^order-W1042"))
    values = parse_qs(urlsplit(page.journals["Tide Table, postcard"]).query)
    # The shelf has no filter but by time, so its links have none of the page's.
    assert list(values) == ["filter"]
    found = example.ledger.get_filtered(filter=values["filter"][0])
    commodity = re.search(r" ([A-Z\\-]+)\$", values["filter"][0])
    assert commodity
    item = commodity[1].replace("\\", "")
    on_hand = sum(
        posting.units.number
        for entry in found.entries
        for posting in entry.postings
        if posting.units.currency == item
    )
    (row,) = [row for row in page.tables[0] if row[0].startswith("Tide Table, postcard")]
    assert row[1] == str(on_hand)


def test_sorted_by_a_column(example: Any, reading: Any) -> None:
    page = example.get("product", sort="profit-per-product.4.down")
    rows = [row for row in reading(page).tables[0][1:] if row[0] not in ("Total",)]
    assert 'aria-sort="descending"' in page
    shipping = [
        float(row[3].replace(",", "").replace("\N{MINUS SIGN}", "-")) for row in rows[:-2]
    ]
    assert shipping == sorted(shipping, reverse=True)
    assert rows != reading(example.get("product")).tables[0][1:]
    assert reading(page).tables[0][-1][0] == "Total"
    # A second look at the same heading goes the other way.
    assert "profit-per-product.4.up" in page


@pytest.mark.parametrize("sort", ["profit-per-product.99.down", "shelf.1.down", "..", "x"])
def test_sorting_of_nothing_changes_nothing(sort: str, shop: Any, reading: Any) -> None:
    sorted_page, plain = shop.get("product", sort=sort), shop.get("product")
    assert reading(sorted_page).tables == reading(plain).tables


def test_long_table_says_what_it_leaves_out(
    shop: Any, reading: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = reading(shop.get("product")).tables[0]
    monkeypatch.setattr(drawing, "MOST_LINES", 2)
    shop.ledger.load_file()
    page = shop.get("product", sort="profit-per-product.5.up")
    rows = reading(page).tables[0]
    assert [row[0] for row in rows[3:]] == ["All products", "Unallocated", "Total"]
    assert f"{len(whole) - len(rows)} more lines are in the totals" in page
    assert rows[-1] == whole[-1]

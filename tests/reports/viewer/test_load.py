"""Nothing is worked out twice from one load of a ledger, and nothing outlives it."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from offcut.reports import books
from offcut.reports.viewer import load
from offcut.reports.viewer.contents import CONTENTS


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> dict[str, int]:
    """How often an order table was made, and a page drawn."""
    counts = {"tables": 0, "pages": 0}
    make_table, draw = books.order_table, load.drawn

    def order_table(*arguments: Any) -> Any:
        counts["tables"] += 1
        return make_table(*arguments)

    def drawn(*arguments: Any) -> Any:
        counts["pages"] += 1
        return draw(*arguments)

    monkeypatch.setattr(books, "order_table", order_table)
    monkeypatch.setattr(load, "drawn", drawn)
    return counts


def test_unchanged_ledger_is_worked_out_once(shop: Any, counted: dict[str, int]) -> None:
    # The table of the whole ledger was made with the load.
    first = [shop.get(report) for report in CONTENTS]
    assert counted == {"tables": 0, "pages": len(CONTENTS)}
    assert [shop.get(report) for report in CONTENTS] == first
    assert counted == {"tables": 0, "pages": len(CONTENTS)}
    # A time filter takes from the same table; another filter has one of its own.
    shop.get("design", time="2025-03")
    assert counted["tables"] == 0
    shop.get("design", filter="^order-1")
    shop.get("channel", filter="^order-1")
    shop.get("design", filter="^order-1", time="2025-03")
    assert counted["tables"] == 1


def test_new_load_is_worked_out_anew(shop: Any, counted: dict[str, int]) -> None:
    assert "Night market" not in shop.get("design")
    with shop.path.open("a", encoding="utf-8") as file:
        file.write(
            "2025-03-20 open Income:Sales:Market\n2025-03-20 commodity NEW\n"
            '  name: "Night market"\n  stock: "product"\n2025-03-20 * "New"\n'
            "  Assets:Cash  9 USD\n  Income:Sales:Market  -9 USD\n"
            '    item: "NEW"\n    quantity: 1\n'
        )
    shop.ledger.load_file()
    assert "Night market" in shop.get("design")
    assert counted == {"tables": 1, "pages": 2}


def test_months_end_sees_what_is_put_into_the_inbox(
    shop: Any, counted: dict[str, int]
) -> None:
    shop.get("close")
    shop.get("close")
    assert counted["pages"] == 1
    inbox = shop.path.parent / "inbox"
    inbox.mkdir()
    (inbox / "odd.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    assert "odd.csv" in shop.get("close")
    assert counted["pages"] == 2


def test_same_page_asked_for_at_once_is_made_once(
    shop: Any, counted: dict[str, int]
) -> None:
    threads = [threading.Thread(target=shop.get, args=("design",)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert counted == {"tables": 0, "pages": 1}


def test_only_so_many_pages_are_kept(
    shop: Any, counted: dict[str, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(load, "MOST_PAGES", 2)
    for report in ("design", "product", "channel", "product"):
        shop.get(report)
    assert counted["pages"] == 3
    shop.get("design")
    assert counted["pages"] == 4


def test_failure_of_the_reports_leaves_fava_usable(
    shop: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*arguments: Any) -> Any:
        raise ZeroDivisionError("a fault")

    monkeypatch.setattr(books, "order_table", fails)
    shop.ledger.load_file()
    client = shop.app.test_client()
    listed = client.get(f"/{shop.slug}/api/errors").get_json()["data"]
    assert any(
        each["message"] == "offcut's reports cannot be made: ZeroDivisionError: a fault"
        for each in listed
    )
    assert client.get(f"/{shop.slug}/editor/").status_code == 200


def test_files_beside_the_ledger_count_at_once(shop: Any, counted: dict[str, int]) -> None:
    assert "It is not known whose rules hold" in shop.get("tax")
    settings = shop.path.parent / "offcut.toml"
    settings.write_text("[plan]\nhour = 18.00\n", encoding="utf-8")
    assert "18" in shop.get("plan")
    settings.write_text("[plan]\nhours = 18.00\n", encoding="utf-8")
    assert "unknown key" in shop.get("plan")
    assert counted["pages"] == 3

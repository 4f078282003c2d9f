"""What parcels use up."""

from __future__ import annotations

from decimal import Decimal

from beancount.core import data

from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints, costs, total

D = Decimal

PACKING = """\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity MAILER
  stock: "material"
2025-01-01 commodity CARD
  stock: "product"
2025-01-01 commodity STAMP
  stock: "stamp"
2025-01-01 * "Bought"
  Assets:Stock:HERON       9 HERON {1.00 USD}
  Assets:Stock:CARD        9 CARD {0.30 USD}
  Assets:Materials:MAILER  9 MAILER {0.20 USD}
  Assets:Stamps:STAMP      2 STAMP {0.73 USD}
  Assets:Stamps:STAMP      9 STAMP {0.78 USD}
  Assets:Bank
2025-01-01 custom "packing" "letter" 1 MAILER 2 STAMP
2025-01-01 custom "packing" "thanks" 1 CARD
"""
AFTER_PACKING = PACKING.count("\n") + 1


def packed(date: str, packing: str) -> str:
    """Return an order that was packed by lists."""
    return (
        f'{date} * "Order" ^order-1\n'
        f"  packing: {packing}\n"
        "  Assets:Bank         8.00 USD\n"
        "  Income:Sales:Web   -8.00 USD\n"
        '    item: "HERON"\n    quantity: 1\n'
    )


def parcels(loaded: Loaded) -> list[data.Transaction]:
    """Return the transactions that the plugin made for parcels."""
    entries, _, _ = loaded
    return [
        entry
        for entry in data.filter_txns(entries)
        if entry.meta.get("directive") == "packing"
    ]


def test_a_packing_list_uses_up_its_parts() -> None:
    loaded = load_text(PACKING + packed("2025-02-01", '"letter"'))
    assert complaints(loaded) == []
    name = "Packing: letter, 1 parcel"
    assert costs(loaded, "Expenses:Packaging:MAILER") == {name: D("0.20")}
    assert costs(loaded, "Expenses:Postage:STAMP") == {name: D("1.46")}


def test_a_days_parcels_of_one_list_are_one_transaction() -> None:
    loaded = load_text(
        PACKING
        + packed("2025-02-01", '"letter"')
        + packed("2025-02-01", '"letter, thanks"').replace("order-1", "order-2")
        + packed("2025-02-02", '"letter"').replace("order-1", "order-3")
    )
    assert complaints(loaded) == []
    assert [
        (entry.date.day, entry.narration, sorted(entry.links))
        for entry in sorted(
            parcels(loaded), key=lambda entry: (entry.date, entry.narration)
        )
    ] == [
        (1, "Packing: letter, 2 parcels", ["order-1", "order-2"]),
        (1, "Packing: thanks, 1 parcel", ["order-2"]),
        (2, "Packing: letter, 1 parcel", ["order-3"]),
    ]
    assert costs(loaded, "Expenses:Packaging:MAILER") == {
        "Packing: letter, 2 parcels": D("0.40"),
        "Packing: letter, 1 parcel": D("0.20"),
    }


def test_parcels_are_shown_at_the_line_of_their_first_order() -> None:
    loaded = load_text(PACKING + packed("2025-02-01", '"letter"'))
    (entry,) = parcels(loaded)
    assert entry.meta["lineno"] == AFTER_PACKING


def test_what_was_sold_that_day_leaves_before_the_parcels_are_packed() -> None:
    """A card goes into each parcel, and the last of them is sold the same day."""
    loaded = load_text(
        PACKING.replace("9 CARD", "1 CARD")
        + packed("2025-02-01", '"thanks"')
        + packed("2025-02-01", '"letter"').replace("HERON", "CARD")
    )
    ((line, message),) = complaints(loaded)
    assert line == AFTER_PACKING
    assert "CARD: 1 went out on 2025-02-01 but the shelf had only 0" in message


def test_a_changed_price_of_stamps_is_a_new_lot() -> None:
    loaded = load_text(
        PACKING
        + packed("2025-02-01", '"letter"')
        + packed("2025-02-02", '"letter"').replace("Order", "Later", 1)
    )
    assert [
        -posting.units.number * posting.cost.number
        for entry in parcels(loaded)
        for posting in entry.postings
        if posting.account == "Assets:Stamps:STAMP"
    ] == [D("1.46"), D("1.56")]


def test_an_order_may_name_several_packing_lists() -> None:
    loaded = load_text(PACKING + packed("2025-02-01", '"letter, thanks"'))
    assert complaints(loaded) == []
    assert costs(loaded, "Expenses:Packaging") == {
        "Packing: letter, 1 parcel": D("0.20"),
        "Packing: thanks, 1 parcel": D("0.30"),
    }


def test_a_packing_list_named_twice_is_used_twice() -> None:
    loaded = load_text(PACKING + packed("2025-02-01", '"letter,letter"'))
    assert costs(loaded, "Expenses:Postage:STAMP") == {
        "Packing: letter, 2 parcels": 2 * D("0.73") + 2 * D("0.78")
    }


def test_a_packing_list_is_the_newest_up_to_the_orders_day() -> None:
    loaded = load_text(
        PACKING
        + '2025-02-01 custom "packing" "letter" 3 MAILER\n'
        + packed("2025-01-31", '"letter"').replace("Order", "Before", 1)
        + packed("2025-02-01", '"letter"')
    )
    assert [entry.postings[1].units.number for entry in parcels(loaded)] == [
        D("0.20"),
        D("0.60"),
    ]


def test_packing_without_a_sale_is_used_up_too() -> None:
    loaded = load_text(
        PACKING
        + '2025-02-01 * "Replacement"\n  packing: "letter"\n'
        + "  Expenses:Other  1.00 USD\n  Assets:Bank\n"
    )
    assert costs(loaded, "Expenses:Packaging") == {"Packing: letter, 1 parcel": D("0.20")}


def test_a_packing_list_that_is_not_there_is_an_error_on_the_order() -> None:
    loaded = load_text(PACKING + packed("2025-02-01", '"leter"'))
    ((line, message),) = complaints(loaded)
    assert line == AFTER_PACKING
    assert 'no packing list "leter" on 2025-02-01' in message
    assert costs(loaded) == {"Order": D("1.00")}


def test_a_packing_list_of_a_later_day_is_not_there_yet() -> None:
    loaded = load_text(PACKING + packed("2024-12-31", '"letter"').replace("HERON", "CARD"))
    assert any("no packing list" in message for _, message in complaints(loaded))


def test_an_order_that_names_an_unknown_list_twice_is_told_once() -> None:
    loaded = load_text(PACKING + packed("2025-02-01", '"leter, leter"'))
    assert len(complaints(loaded)) == 1


def test_packing_that_is_no_text_is_an_error_on_the_order() -> None:
    loaded = load_text(PACKING + packed("2025-02-01", "5"))
    ((line, message),) = complaints(loaded)
    assert line == AFTER_PACKING
    assert "packing must name a packing list" in message


def test_an_unknown_part_of_a_packing_list_is_one_error_on_the_list() -> None:
    loaded = load_text(
        PACKING
        + '2025-01-05 custom "packing" "box" 1 MAILR 1 STAMP\n'
        + packed("2025-02-01", '"box"')
        + packed("2025-02-02", '"box"')
    )
    ((line, message),) = complaints(loaded)
    assert line == AFTER_PACKING
    assert "MAILR" in message
    assert "did you mean MAILER?" in message
    assert total(loaded, "Expenses:Postage") == 2 * D("0.73")


def test_packing_that_is_short_is_an_error_and_costed_when_it_comes() -> None:
    loaded = load_text(
        PACKING.replace("9 MAILER", "1 MAILER")
        + '2025-01-05 custom "packing" "box" 3 MAILER\n'
        + packed("2025-02-01", '"box"')
        + '2025-02-05 * "Bought"\n  Assets:Materials:MAILER  9 MAILER {0.50 USD}\n'
        + "  Assets:Bank\n"
    )
    ((line, message),) = complaints(loaded)
    assert line == AFTER_PACKING + 1
    assert "MAILER: 3 went out on 2025-02-01 but the shelf had only 1, 2 short" in message
    assert costs(loaded, "Expenses:Packaging:MAILER") == {
        "Packing: box, 1 parcel": D("0.20"),
        "Cost of 2 MAILER that went out early": D("1.00"),
    }

"""What a piece costs now, worked out by hand."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest

from offcut.plugins.catalogue import read_catalogue
from offcut.reports.period import Period, choose_period
from offcut.reports.plan.minutes import minutes_for_pieces
from offcut.reports.plan.newest_costs import LotCost, newest_lot_costs
from offcut.reports.plan.piece_cost import (
    PieceCost,
    bills_on,
    cost_by_bill,
    cost_by_lots,
    piece_costs,
)

D = Decimal


def day(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def by_bill(ledger: Any, product: str, last: str | None = None) -> PieceCost:
    date = day(last) if last else None
    return cost_by_bill(
        product,
        bills_on(ledger.entries, date),
        newest_lot_costs(ledger.entries, ledger.options, date),
        read_catalogue(ledger.entries),
    )


def test_sticker_by_its_bill_and_by_its_lots(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON-STK
      stock: "product"
      normal-spoilage: 0.05
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 commodity INK-ML
      stock: "material"
    2025-01-01 open Assets:Cash
    2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL 5.4 INK-ML
    2025-01-02 * "Vinyl and ink"
      Assets:Materials:VINYL  50 VINYL {0.45 USD}
      Assets:Materials:INK-ML  500 INK-ML {0.10 USD}
      Assets:Cash
    2025-02-01 custom "print-run" 60 HERON-STK
      minutes: 90
    2025-03-01 * "Dearer vinyl"
      Assets:Materials:VINYL  50 VINYL {0.60 USD}
      Assets:Cash
    2025-03-02 custom "bill-of-materials" 4 HERON-STK 1 VINYL 5.4 INK-ML
    """
    # Each: (0.45 + 5.4 * 0.10) / 6 = 0.165, and 0.05 of that for the spoiled ones.
    before = by_bill(sound_ledger, "HERON-STK", "2025-02-01")
    assert [(part.item, part.unit_cost) for part in before.parts] == [
        ("VINYL", D("0.45")),
        ("INK-ML", D("0.10")),
    ]
    assert [part.cost.quantize(D("1.000000")) for part in before.parts] == [
        D("0.075000"),
        D("0.090000"),
    ]
    assert (before.printed, before.normal_spoilage) == (D("0.165"), D("0.05"))
    assert (before.unit_cost, before.currency) == (D("0.17325"), "USD")
    # The newest vinyl, and the newest bill: (0.60 + 0.54) / 4.
    after = by_bill(sound_ledger, "HERON-STK")
    assert (after.printed, after.unit_cost) == (D("0.285"), D("0.29925"))
    assert after.date == day("2025-03-01")
    # On the day of the purchase the vinyl is dearer, but the bill still the old one.
    assert by_bill(sound_ledger, "HERON-STK", "2025-03-01").printed == D("0.19")
    # The run of February took ten sheets of the first vinyl.
    costs = newest_lot_costs(sound_ledger.entries, sound_ledger.options)
    lots = cost_by_lots("HERON-STK", costs)
    assert lots == PieceCost(
        *("HERON-STK", "USD", "lots", (), D("0.165"), D(0), D("0.165")), day("2025-02-01")
    )
    catalogue = read_catalogue(sound_ledger.entries)
    bills = bills_on(sound_ledger.entries)
    assert piece_costs(catalogue, bills, costs, "bill") == ({"HERON-STK": after}, {})
    assert piece_costs(catalogue, bills, costs, "lots") == ({"HERON-STK": lots}, {})
    # Without a bill, lots in any case; without either, the reason.
    assert piece_costs(catalogue, {}, costs, "bill") == ({"HERON-STK": lots}, {})
    assert piece_costs(catalogue, {}, {}, "bill").reasons == {
        "HERON-STK": "HERON-STK has no cost yet; record its print run or its purchase"
    }
    minutes = minutes_for_pieces(sound_ledger.entries, Period()).get("HERON-STK")
    assert minutes == D("1.5")
    march = choose_period(month="2025-03")
    assert "HERON-STK" not in minutes_for_pieces(sound_ledger.entries, march)


def test_lots_sold_out_restated_and_of_one_day(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity MOTH
      stock: "product"
    2025-01-01 commodity FERN
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Savings
    2025-01-01 open Expenses:Freight
    2025-01-01 open Assets:Stock:FERN FERN "AVERAGE"
    2025-01-02 * "Old"
      Assets:Stock:HERON  5 HERON {9.00 USD}
      Assets:Cash
    2025-01-03 * "Two lots on a day"
      Assets:Stock:HERON  1 HERON {1.00 USD}
      Assets:Stock:HERON  3 HERON {2.00 USD}
      Assets:Cash
    2025-01-04 * "With freight"
      Assets:Stock:MOTH  10 MOTH {1.00 USD}
      Expenses:Freight  5.00 USD
        spread: "value"
      Assets:Cash
    2025-01-05 custom "stock-out" 10 MOTH Expenses:Freight
    2025-01-06 * "Average"
      Assets:Stock:FERN  10 FERN {1.00 USD}
      Assets:Cash
    2025-01-07 * "Average"
      Assets:Stock:FERN  30 FERN {2.00 USD}
      Assets:Cash
    2025-01-08 * "No stock of the shop"
      Assets:Savings  3 FUND {50.00 USD}
      Assets:Cash
    """
    costs = newest_lot_costs(sound_ledger.entries, sound_ledger.options)
    assert costs == {
        "HERON": LotCost(D("1.75"), "USD", day("2025-01-03")),
        "MOTH": LotCost(D("1.5"), "USD", day("2025-01-04")),
        "FERN": LotCost(D("1.75"), "USD", day("2025-01-07")),
    }


def test_set_of_products_is_taken_apart(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity SET
      stock: "product"
    2025-01-01 commodity CARD
      stock: "product"
      normal-spoilage: 0.25
    2025-01-01 commodity BOARD
      stock: "material"
    2025-01-01 open Assets:Cash
    2025-01-01 custom "bill-of-materials" 4 CARD 1 BOARD
    2025-01-01 custom "bill-of-materials" 1 SET 6 CARD 1 BOARD
    2025-01-02 * "Board"
      Assets:Materials:BOARD  50 BOARD {0.80 USD}
      Assets:Cash
    """
    # Six cards of a quarter of a board, a quarter more for spoiled ones; and a board.
    piece = by_bill(sound_ledger, "SET")
    (board,) = piece.parts
    assert board.units == D("2.875")
    assert piece.unit_cost == D("2.3")


def test_gang_run_shares_its_minutes(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity MOTH
      stock: "product"
    2025-01-01 commodity CARD
      stock: "material"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Stock:MOTH MOTH "AVERAGE"
    2025-01-01 custom "bill-of-materials" 1 HERON 1 CARD
    2025-01-01 custom "bill-of-materials" 1 MOTH 1 CARD
    2025-01-02 * "Card"
      Assets:Materials:CARD  500 CARD {0.10 USD}
      Assets:Cash
    2025-01-03 * "Moths bought elsewhere"
      Assets:Stock:MOTH  10 MOTH {5.00 USD}
      Assets:Cash
    2025-02-01 custom "print-run" 20 HERON 40 MOTH
      minutes: 120
    2025-02-02 custom "print-run" 20 HERON
      minutes: 20
    2025-02-03 custom "print-run" 100 HERON
    """
    # 2 minutes a piece of the first run, 1 of the second; the third says nothing.
    minutes = {
        product: minutes_for_pieces(sound_ledger.entries, Period()).get(product)
        for product in ("HERON", "MOTH", "FERN")
    }
    assert minutes == {"HERON": D("1.5"), "MOTH": D("2"), "FERN": None}
    # Less what setting up took, and never less than nothing.
    least = minutes_for_pieces(sound_ledger.entries, Period(), D(10_000))
    assert set(least.values()) == {D(0)}


def test_what_has_no_cost(ledger: Any) -> None:
    """
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 commodity FILM
      stock: "material"
    2025-01-01 commodity LOOP
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Materials
    2025-01-01 custom "bill-of-materials" 6 HERON 1 VINYL 1 FILM
    2025-01-01 custom "bill-of-materials" 1 LOOP 1 LOOP
    2025-01-01 custom "bill-of-materials" "not a bill"
    2025-01-02 * "Vinyl"
      Assets:Materials  50 VINYL {0.45 USD}
      Assets:Cash
    2026-01-02 * "Film"
      Assets:Materials  50 FILM {0.45 EUR}
      Assets:Cash
    """
    with pytest.raises(ValueError, match=r"FILM, in the bill of HERON, has no cost yet"):
        by_bill(ledger, "HERON", "2025-12-31")
    with pytest.raises(ValueError, match=r"materials of HERON cost EUR and USD"):
        by_bill(ledger, "HERON")
    with pytest.raises(ValueError, match=r"MOTH has no bill of materials; write custom"):
        by_bill(ledger, "MOTH")
    with pytest.raises(ValueError, match=r"bill of LOOP comes back to itself"):
        by_bill(ledger, "LOOP")
    with pytest.raises(ValueError, match=r"HERON has no cost yet"):
        cost_by_lots("HERON", newest_lot_costs(ledger.entries, ledger.options))
    assert bills_on(ledger.entries, day("2024-12-31")) == {}

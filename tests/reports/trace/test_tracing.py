"""From a figure to the lines of the ledger behind it."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable
from decimal import Decimal, localcontext
from typing import Any

import pytest
from beancount.core import data
from beancount.core.amount import Amount
from beancount.parser import parser
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.plugins.shelf import SOURCE
from offcut.reports.order_table import order_table
from offcut.reports.trace import lots as trace_lots
from offcut.reports.trace.nodes import walk
from offcut.reports.trace.tracing import Node, TraceError, TraceIndex, trace
from tests.conftest import Loaded, load_text
from tests.plugins.test_stock_properties import (
    PRODUCTS,
    History,
    blocks_of,
    head,
    histories,
    methods,
)
from tests.plugins.test_stock_properties import load as load_history
from tests.reports.test_random_ledgers import ledgers
from tests.reports.test_random_ledgers import load as load_random

D = Decimal


def traced(ledger: Any, text: str) -> Node:
    index = TraceIndex(ledger.entries, ledger.options)
    return trace(text, index, lambda: order_table(ledger.entries, ledger.options))


def told(root: Node) -> list[tuple[int, str, str, int]]:
    """Return depth, what, units and line of each node."""
    return [
        (depth, node.what, str(node.units) if node.units else "", node.line)
        for depth, node, _ in walk(root)
    ]


def complaint(ledger: Any, text: str) -> str:
    with pytest.raises(TraceError) as raised:
        traced(ledger, text)
    return str(raised.value)


SHOP = """\
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 open Assets:Cash
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:Freight
2025-01-01 open Expenses:Labels
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Refunds:Web
2025-01-01 commodity HERON-STK
  stock: "product"
  design: "Heron at Dusk"
2025-01-01 commodity MOTH-STK
  stock: "product"
  design: "Moth Study"
2025-01-01 commodity VINYL
  stock: "material"
2025-01-01 commodity MAILER
  stock: "material"
2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL
2025-01-01 custom "packing" "letter" 1 MAILER
2025-01-08 * "Paper supplier" "Vinyl" ^purchase-1
  Assets:Materials:VINYL  50 VINYL {0.40 USD}
  Assets:Materials:MAILER  20 MAILER {0.12 USD}
  Assets:Cash
2025-02-03 custom "print-run" 58 HERON-STK
  spoiled: 2
2025-02-03 * "Printer" "Moths"
  Assets:Stock:MOTH-STK  10 MOTH-STK {0.30 USD}
  Assets:Cash
2025-03-04 * "Web order" ^order-W1042
  packing: "letter"
  Assets:Cash  15.00 USD
  Expenses:Fees:Card  1.00 USD
  Income:Sales:Web  -8.00 USD
    item: "HERON-STK"
    quantity: 2
  Income:Sales:Web  -8.00 USD
    item: "MOTH-STK"
    quantity: 1
2025-03-04 * "Web order" ^order-W1043
  packing: "letter"
  Assets:Cash  4.00 USD
  Income:Sales:Web  -4.00 USD
    item: "MOTH-STK"
    quantity: 1
2025-03-06 * "Label" ^order-W1042
  Expenses:Labels  3.00 USD
  Assets:Cash
2025-04-02 * "Refund" ^order-W1042
  Assets:Cash  -4.00 USD
  Income:Refunds:Web  4.00 USD
    item: "HERON-STK"
    quantity: 1
2025-04-12 custom "stock-out" 3 HERON-STK Expenses:Labels
"""


@pytest.fixture
def shop(load: Callable[[str], Loaded]) -> Loaded:
    return load(SHOP)


UNIT_COST = D("0.066666666666")


def line_that_says(text: str, which: int | None = None) -> int:
    """Return the line of the shop's ledger with a text, the only one or one of them."""
    found = [at for at, line in enumerate(SHOP.splitlines(), start=1) if text in line]
    if which is None:
        (at,) = found
        return at
    return found[which]


def test_design_and_month_down_to_the_purchase_of_its_paper(shop: Loaded) -> None:
    root = traced(shop, "Heron at Dusk 2025-03")
    order, line = line_that_says("^order-W1042", 0), line_that_says("-8.00 USD", 0)
    run, packing = line_that_says('custom "print-run"'), line_that_says('"packing"')
    assert told(root)[:12] == [
        (0, "Heron at Dusk, March 2025", "2 ", line_that_says("commodity HERON-STK")),
        (1, "Order W1042", "2 ", order),
        (2, "Web order", "", order),
        (3, "Expenses:Fees:Card", "", line_that_says("1.00 USD")),
        (3, "Income:Sales:Web", "", line),
        (3, "lot of 2025-02-03 at 0.066666666666 USD", "-2 HERON-STK", line),
        (4, "Print run: 58 HERON-STK", "58 HERON-STK", run),
        (5, "lot of 2025-01-08 at 0.4 USD", "-10 VINYL", run),
        (6, "Paper supplier \N{EN DASH} Vinyl", "50 VINYL", line_that_says("50 VINYL")),
        (2, "Packing: letter, 2 parcels", "", packing),
        (3, "lot of 2025-01-08 at 0.12 USD", "-2 MAILER", packing),
        (4, "Paper supplier \N{EN DASH} Vinyl", "20 MAILER", line_that_says("20 MAILER")),
    ]
    assert root.file == "<string>"
    # Half of the fee, of the label and of the mailer's 0.12; all of its own cost.
    assert root.money == (Amount(D("8.00") - D("2.06") - 2 * UNIT_COST, "USD"),)
    assert "sales were 8.00 USD" in root.note
    # The label came two days later, and is the design's by half as well.
    assert [(part.date.day, part.what) for part in root.parts] == [
        (4, "Order W1042"),
        (6, "Order W1042"),
    ]
    assert "MOTH-STK" not in {node.note for _, node, _ in walk(root)}


def test_what_belongs_to_no_order_is_traced_too(shop: Loaded) -> None:
    root = traced(shop, "Heron at Dusk 2025-04")
    refund, given_away = root.parts
    line = line_that_says("Income:Refunds:Web  4.00")
    assert told(refund)[2:5] == [
        (2, "Income:Refunds:Web", "", line),
        (2, "back into the lot of 2025-02-03 at 0.066666666666 USD", "1 HERON-STK", line),
        (3, "Print run: 58 HERON-STK", "58 HERON-STK", line_that_says("print-run")),
    ]
    assert given_away.what == "No order"
    assert given_away.parts[0].what == "Stock out: 3 HERON-STK"
    assert given_away.parts[0].line == line_that_says('custom "stock-out"')


def test_an_order_has_all_of_its_transactions(shop: Loaded) -> None:
    root = traced(shop, "order W1042")
    assert [(part.what, part.date.month) for part in root.parts] == [
        ("Web order", 3),
        ("Packing: letter, 2 parcels", 3),
        ("Label", 3),
        ("Refund", 4),
    ]
    assert "equal share" in root.parts[1].note
    table = order_table(shop.entries, shop.options)
    assert root.money == (
        Amount(sum(table[table["order"] == "W1042"]["contribution"]), "USD"),
    )
    reliefs = {
        str(node.units) for _, node, _ in walk(root) if node.what.startswith("lot of")
    }
    assert reliefs == {"-2 HERON-STK", "-1 MOTH-STK", "-2 MAILER", "-10 VINYL"}


def test_a_lot_of_a_print_run(shop: Loaded) -> None:
    root = traced(shop, "lot HERON-STK 2025-02-03")
    assert (root.units, root.line) == (
        Amount(D(58), "HERON-STK"),
        line_that_says("print-run"),
    )
    # Ten sheets at 0.40 for sixty pieces, of which two were wasted; to the last digit.
    assert root.money == (Amount(D("3.866666666667"), "USD"),)
    (run,) = root.parts
    assert run.note == "and 2 spoiled"
    assert [part.units for part in run.parts] == [Amount(D(-10), "VINYL")]


def test_receipts_that_share_a_key_are_all_listed(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "First printer"
      Assets:Stock:HERON  3 HERON {0.40 USD}
      Assets:Cash
    2025-01-02 * "Second printer"
      Assets:Stock:HERON  5 HERON {0.40 USD}
      Assets:Cash
    2025-01-02 * "Third printer, dearer"
      Assets:Stock:HERON  5 HERON {0.50 USD}
      Assets:Cash
    2025-01-09 * "Order" ^order-1
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "HERON"
        quantity: 4
    """
    root = traced(sound_ledger, "order 1")
    (relief,) = [node for _, node, _ in walk(root) if node.what.startswith("lot of")]
    assert relief.note == "one of 2 receipts"
    assert [part.what for part in relief.parts] == ["First printer", "Second printer"]
    lot = traced(sound_ledger, "lot HERON 2025-01-02")
    assert lot.note == "one of 3 receipts"
    assert lot.units == Amount(D(13), "HERON")


def test_a_moving_average_leads_to_all_receipts_until_then(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Assets:Stock:HERON  HERON "AVERAGE"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "First"
      Assets:Stock:HERON  3 HERON {0.40 USD}
      Assets:Cash
    2025-01-05 * "Second"
      Assets:Stock:HERON  3 HERON {0.50 USD}
      Assets:Cash
    2025-01-09 * "Order" ^order-1
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "HERON"
        quantity: 4
    2025-01-10 * "Third"
      Assets:Stock:HERON  5 HERON {0.60 USD}
      Assets:Cash
    """
    root = traced(sound_ledger, "order 1")
    (relief,) = [node for _, node, _ in walk(root) if node.what.startswith("lot of")]
    assert relief.note == "an average of 2 receipts"
    assert [part.what for part in relief.parts] == ["First", "Second"]
    assert relief.parts[1].units == Amount(D(3), "HERON")
    assert relief.parts[1].money == (Amount(D("1.50"), "USD"),)
    lot = traced(sound_ledger, "lot HERON 2025-01-10")
    assert [part.what for part in lot.parts] == ["First", "Second", "Third"]


LANDED = """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Freight
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Printer" ^purchase-1
      Assets:Stock:HERON  10 HERON {0.40 USD}
      Expenses:Freight  1.00 USD
        spread: "value"
      Assets:Cash
    2025-01-05 * "Customs" ^purchase-1
      Expenses:Freight  2.00 USD
        spread: "value"
      Assets:Cash
    2025-01-06 custom "net-realisable-value" "HERON" 0.20 USD
    2025-01-07 custom "net-realisable-value" "HERON" 9.00 USD
    2025-01-08 custom "net-realisable-value" "HERON" 0.20 USD
    2025-01-09 * "Order" ^order-1
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "HERON"
        quantity: 4
"""


def test_freight_bills_and_values_stand_beside_the_purchase(load: Any) -> None:
    """A lot written down, up and down again is still traced, and once."""
    root = traced(load(LANDED), "order 1")
    (relief,) = [node for _, node, _ in walk(root) if node.what.startswith("lot of")]
    assert relief.what == "lot of 2025-01-02 at 0.2 USD"
    purchase, *changes = relief.parts
    assert purchase.what == "Printer"
    assert purchase.money == (Amount(D("5"), "USD"),)
    assert [(part.what, part.note) for part in purchase.parts] == [
        ("Expenses:Freight", "spread over the goods")
    ]
    assert [(change.what, change.date.day, change.line) for change in changes] == [
        ("Expenses:Freight", 5, 15),
        ("Net realisable value of HERON: 0.20 USD", 6, 18),
        ("Net realisable value of HERON: 9.00 USD", 7, 19),
        ("Net realisable value of HERON: 0.20 USD", 8, 20),
    ]


def test_a_lot_valued_up_to_its_cost_again_is_the_lot_that_was_bought(
    sound_ledger: Any,
) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Printer"
      Assets:Stock:HERON  10 HERON {0.40 USD}
      Assets:Cash
    2025-01-06 custom "net-realisable-value" "HERON" 0.20 USD
    2025-01-07 custom "net-realisable-value" "HERON" 9.00 USD
    2025-01-09 * "Order" ^order-1
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "HERON"
        quantity: 4
    """
    root = traced(sound_ledger, "order 1")
    (relief,) = [node for _, node, _ in walk(root) if node.what.startswith("lot of")]
    assert relief.what == "lot of 2025-01-02 at 0.4 USD"
    assert [part.what for part in relief.parts] == ["Printer"]


def test_what_came_later_had_no_part_in_a_sale(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Printer"
      Assets:Stock:HERON  10 HERON {0.40 USD}
      Assets:Cash
    2025-01-09 * "Order" ^order-1
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "HERON"
        quantity: 4
    2025-02-01 * "Found in a drawer, from the first printing"
      Assets:Stock:HERON  2 HERON {0.40 USD, 2025-01-02}
      Assets:Cash
    """
    root = traced(sound_ledger, "order 1")
    (relief,) = [node for _, node, _ in walk(root) if node.what.startswith("lot of")]
    assert [part.what for part in relief.parts] == ["Printer"]
    assert len(traced(sound_ledger, "lot HERON 2025-01-02").parts) == 2


def test_a_parcel_costed_later_is_at_the_list_of_its_own_day() -> None:
    text = """\
plugin "offcut.plugins"
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 commodity MAILER
  stock: "material"
2025-01-01 custom "packing" "letter" 1 MAILER
2025-01-05 * "Order" ^order-1
  packing: "letter"
  Assets:Cash  4.00 USD
  Income:Sales:Web
2025-01-06 custom "packing" "letter" 2 MAILER
2025-01-08 * "Supplier"
  Assets:Materials:MAILER  20 MAILER {0.10 USD}
  Assets:Cash
"""
    ledger = load_text(text)
    (error,) = ledger.errors
    assert "short. Record" in error.message
    packed = traced(ledger, "order 1").parts[-1]
    assert (packed.date.day, packed.line) == (8, 6)
    assert packed.what == "Cost of 1 MAILER that went out early"


def test_a_product_made_of_products_and_one_sold_before_it_was_made(load: Any) -> None:
    ledger = load_text("""
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 commodity PACK
      stock: "product"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 custom "bill-of-materials" 1 PACK 2 HERON
    2025-01-01 custom "bill-of-materials" 6 HERON 1 VINYL
    2025-01-02 custom "print-run" 60 HERON
    2025-01-02 * "Supplier"
      Assets:Materials:VINYL  4 VINYL {0.60 USD}
      Assets:Cash
    2025-01-04 * "Order" ^order-1
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "PACK"
        quantity: 1
    2025-01-05 custom "print-run" 3 PACK
    2025-01-08 * "Supplier again"
      Assets:Materials:VINYL  10 VINYL {0.70 USD}
      Assets:Cash
    """)
    assert all("short. Record" in error.message for error in ledger.errors)
    root = traced(ledger, "order 1")
    assert [(part.what, part.date.day) for part in root.parts] == [
        ("Order", 4),
        ("Cost of 1 PACK that went out early", 5),
    ]
    whats = [(depth, node.what) for depth, node, _ in walk(root.parts[1])]
    assert whats == [
        (0, "Cost of 1 PACK that went out early"),
        (1, "lot of 2025-01-05 at 0.08 USD"),
        (2, "Print run: 3 PACK"),
        (3, "lot of 2025-01-02 at 0.04 USD"),
        (4, "Print run: 60 HERON"),
        (5, "lot of 2025-01-02 at 0.6 USD"),
        (6, "Supplier"),
        (5, "Cost of 6 VINYL that went out early"),
        (6, "lot of 2025-01-08 at 0.7 USD"),
        (7, "Supplier again"),
    ]


CIRCLE = """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 commodity PACK
      stock: "product"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity MOTH
      stock: "product"
    2025-01-01 custom "bill-of-materials" 1 PACK 1 HERON
    2025-01-01 custom "bill-of-materials" 1 HERON 1 PACK
    2025-01-02 custom "print-run" 3 PACK
    2025-01-02 custom "print-run" 2 HERON
    2025-01-02 custom "print-run" 1 PACK
    2025-01-02 custom "print-run" 1 HERON
"""


def test_runs_that_lead_back_to_themselves_end() -> None:
    """The stock plugin reports the circle; the trace must not run round in it."""
    ledger = load_text(CIRCLE)
    assert any("comes back to itself" in error.message for error in ledger.errors)
    notes = {
        node.note
        for item in ("PACK", "HERON")
        for _, node, _ in walk(traced(ledger, f"lot {item} 2025-01-02"))
    }
    assert "made of itself: see above" in notes


def test_very_deep_is_not_followed(shop: Loaded, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trace_lots, "DEEPEST", 1)
    notes = [node.note for _, node, _ in walk(traced(shop, "lot HERON-STK 2025-02-03"))]
    assert notes[-1] == "not followed below 1 steps"


def test_parts_are_told_once(shop: Loaded) -> None:
    """Both moths are of one lot; where it came from stands below the first."""
    index = TraceIndex(shop.entries, shop.options)
    root = trace(
        "Moth Study 2025-03", index, lambda: order_table(shop.entries, shop.options)
    )
    lots = [
        (again, bool(node.parts))
        for _, node, again in walk(root)
        if node.units == Amount(D(-1), "MOTH-STK")
    ]
    assert lots == [(False, True), (True, True)]
    whats = [node.what for _, node, _ in walk(root)]
    assert whats.count("Printer \N{EN DASH} Moths") == 1


# --- what is not understood, or not there ----------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Hern at Dusk 2025-03", "no design 'Hern at Dusk' (did you mean Heron at Dusk?)"),
        ("Heron at Dusk 2025-13", "'2025-13' is no month; write it as 2025-03"),
        ("Heron at Dusk 2025-3", "'2025-3' is no month; write it as 2025-03"),
        ("Heron at Dusk 2019-01", "in 2019-01; the nearest month that has is 2025-02"),
        ("Heron at Dusk", "name a month with it, as 'Heron at Dusk 2025-03'"),
        ("order W1O42", "no order 'W1O42' (did you mean W1042?)"),
        ("lot HERON 2025-02-03", "no item 'HERON' in stock's catalogue"),
        ("lot HERON-STK 2025-02-04", "no lot of 2025-02-04; the nearest is of 2025-02-03"),
        ("lot HERON-STK 3.2.2025", "'3.2.2025' is no day; write it as 2025-02-03"),
        ("order", "names no figure; write a design and a month as"),
        ("", "names no figure; write a design and a month as"),
    ],
)
def test_a_figure_that_is_not_there_is_one_clear_line(
    shop: Loaded, text: str, expected: str
) -> None:
    message = complaint(shop, text)
    assert expected in message
    assert "\n" not in message


def test_text_is_taken_in_any_case_and_spacing_and_with_the_orders_own_mark(
    shop: Loaded,
) -> None:
    assert traced(shop, "  heron AT dusk   2025-03 ") == traced(
        shop, "Heron at Dusk 2025-03"
    )
    assert traced(shop, "ORDER #w1042") == traced(shop, "order W1042")
    assert traced(shop, "Lot heron-stk 2025-02-03").units == Amount(D(58), "HERON-STK")


def test_a_design_may_be_named_like_an_order(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 commodity MOTH
      stock: "product"
      design: "Order of Moths"
    2025-01-02 * "Printer"
      Assets:Stock:MOTH  10 MOTH {0.40 USD}
      Assets:Cash
    2025-01-05 * "Order" ^order-2025-01
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "MOTH"
        quantity: 1
    """
    assert traced(sound_ledger, "Order of Moths 2025-01").what.startswith("Order of Moths")
    assert traced(sound_ledger, "order 2025-01").what == "Order 2025-01"


def test_the_nearest_of_very_many_orders_is_found() -> None:
    head = "2025-01-01 open Assets:Cash\n2025-01-01 open Income:Sales:Web\n"
    orders = "".join(
        f'2025-01-02 * "Order" ^order-W{number}\n  Assets:Cash  1 USD\n  Income:Sales:Web\n'
        for number in range(10_000, 16_000)
    )
    assert "did you mean W12345?" in complaint(load_text(head + orders), "order W123456")


def test_an_empty_ledger_has_nothing_to_trace() -> None:
    entries, _, options = parser.parse_string("")
    index = TraceIndex(entries, options)
    for text in ("order 1", "Heron 2025-01", "lot HERON 2025-01-01", "Heron"):
        with pytest.raises(TraceError):
            trace(text, index, lambda: order_table(entries, options))


# --- of every ledger -------------------------------------------------------------------


def every_figure(ledger: Any) -> list[str]:
    """Return all figures that a ledger has, from its table and its lots."""
    table = order_table(ledger.entries, ledger.options)
    index = TraceIndex(ledger.entries, ledger.options)
    figures = {
        f"{design} {date:%Y-%m}"
        for design, date in zip(table["design"], table["date"], strict=True)
        if design
    }
    figures |= {f"order {number}" for number in index.orders}
    figures |= {f"lot {item} {date}" for item, days in index.lots.items() for date in days}
    return sorted(figures)


def check(ledger: Any, text: str) -> None:
    """Hold a trace against the ledger."""
    lines = len(text.splitlines())
    index = TraceIndex(ledger.entries, ledger.options)
    table = order_table(ledger.entries, ledger.options)
    for figure in every_figure(ledger):
        root = trace(figure, index, lambda: table)
        for depth, node, _ in walk(root):
            assert node.file == "<string>" and 1 <= node.line <= lines, node
            assert depth < 20
            if node.what.startswith("lot of"):
                assert node.parts, (figure, node)
                assert all(part.date <= node.date for part in node.parts)
        if figure.startswith("lot "):
            assert root.parts
            continue
        if figure.startswith("order "):
            rows = table[table["order"] == figure.removeprefix("order ")]
        else:
            design, month = figure.rsplit(" ", 1)
            mine = table[table["design"] == design]
            rows = mine[[f"{date:%Y-%m}" == month for date in mine["date"]]]
            assert all(part.parts for part in root.parts), figure
            with localcontext(prec=200):
                for currency in set(rows["currency"]):
                    parts = [
                        amount.number
                        for part in root.parts
                        for amount in part.money
                        if amount.currency == currency
                    ]
                    assert sum(parts) == dict(map(reversed, root.money))[currency]
        with localcontext(prec=200):
            for number, currency in root.money:
                assert number == sum(rows[rows["currency"] == currency]["contribution"])
        assert {amount.currency for amount in root.money} == set(rows["currency"])


@settings(max_examples=40, deadline=None)
@given(histories, methods)
def test_every_figure_of_a_workshop_leads_to_its_lines(
    history: History, method: str
) -> None:
    check(load_history(history, method), head(method) + "".join(blocks_of(history, 1)))


@settings(max_examples=40, deadline=None)
@given(ledgers())
def test_every_figure_of_a_shop_leads_to_its_lines(text: str) -> None:
    entries, options = load_random(text)
    check(Loaded(entries, [], options), text)


def _restates(entry: data.Transaction) -> bool:
    """Tell whether freight of a purchase, or a later bill, gave lots another cost."""
    return any("spread" in posting.meta for posting in entry.postings)


@settings(max_examples=40, deadline=None)
@given(histories)
def test_every_relief_of_a_design_is_in_its_traces_once(history: History) -> None:
    """What all months of all designs took is what the ledger's own postings took.

    By value: what cost nothing when it came, later than it left, is no figure's.
    """
    ledger = load_history(history, "FIFO")
    index = TraceIndex(ledger.entries, ledger.options)
    table = order_table(ledger.entries, ledger.options)
    expected: dict[str, Decimal] = defaultdict(Decimal)
    for entry in ledger.entries:
        directive = entry.meta.get("directive")
        takes = directive in (None, "stock-out", "stock-count", "packing")
        for posting in getattr(entry, "postings", ()) if takes else ():
            item = posting.units.currency
            stock = item in PRODUCTS and not _restates(entry)
            if stock and posting.meta.get("filename") == SOURCE:
                expected[item] += posting.units.number * posting.cost.number
    found: dict[str, Decimal] = defaultdict(Decimal)
    for figure in every_figure(ledger):
        if figure.startswith(("lot ", "order ")):
            continue
        for order in trace(figure, index, lambda: table).parts:
            for entry in order.parts:
                for node in entry.parts:
                    if "lot of" in node.what and node.units.currency in PRODUCTS:
                        found[node.units.currency] += node.money[0].number
    assert {item: value for item, value in found.items() if value} == {
        item: value for item, value in expected.items() if value
    }


@settings(max_examples=30, deadline=None)
@given(histories, methods, st.randoms(use_true_random=False))
def test_order_of_the_entries_does_not_matter(
    history: History, method: str, order: random.Random
) -> None:
    ledger = load_history(history, method)
    shuffled = Loaded(order.sample(ledger.entries, len(ledger.entries)), [], ledger.options)
    for figure in every_figure(ledger):
        assert told(traced(shuffled, figure)) == told(traced(ledger, figure))

"""A line whose text was learned later is as good as one that was known at once."""

from __future__ import annotations

from decimal import Decimal

from offcut.reports.order_table import order_table
from tests.conftest import Loaded, load_text

D = Decimal
HEAD = """\
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity OWL
  stock: "product"
2025-01-01 commodity MAILER
  stock: "material"
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Suspense:Web
2025-01-01 open Income:Shipping:Web
2025-01-01 open Expenses:Fees:Card
2025-01-01 * "Bought"
  Assets:Stock:HERON       90 HERON {1.00 USD}
  Assets:Stock:OWL         90 OWL {2.00 USD}
  Assets:Materials:MAILER  90 MAILER {0.30 USD}
  Assets:Cash
2025-01-01 custom "packing" "letter" 1 MAILER
"""
ORDER = """\
2025-03-03 * "Web order 1" ^order-1
  channel: "Web"
  lines-id: "shop/1"
  packing: "letter"
  Assets:Cash            13.20 USD
  Expenses:Fees:Card      0.80 USD
  Income:Shipping:Web    -2.00 USD
  Income:Sales:Web       -4.00 USD
    item: "HERON"
    quantity: 1
  LINE
"""
KNOWN = ORDER.replace(
    "LINE", 'Income:Sales:Web  -8.00 USD\n    item: "OWL"\n    quantity: 2'
)
PARKED = ORDER.replace(
    "LINE", 'Income:Suspense:Web  -8.00 USD\n    item-text: "Owl"\n    quantity: 2'
)
MOVE = """\
2025-03-03 * "Web order 1" ^order-1
  channel: "Web"
  parked-id: "shop/1/1"
  Income:Suspense:Web     8.00 USD
    item-text: "Owl"
    quantity: 2
  Income:Sales:Web       -8.00 USD
    item: "OWL"
    quantity: 2
"""


def rows(loaded: Loaded) -> list[tuple[object, ...]]:
    assert loaded.errors == []
    table = order_table(loaded.entries, loaded.options).drop(columns=["file", "line"])
    return list(table.itertuples(index=False, name=None))


def test_learned_line_has_its_part_of_the_order() -> None:
    assert rows(load_text(HEAD + PARKED + MOVE)) == rows(load_text(HEAD + KNOWN))


def test_order_of_files_does_not_matter() -> None:
    assert rows(load_text(HEAD + MOVE + PARKED)) == rows(load_text(HEAD + KNOWN))


def test_parcel_of_a_line_that_was_alone() -> None:
    alone = PARKED.replace('  packing: "letter"\n', "")
    move = MOVE.replace("  Income:Suspense", '  packing: "letter"\n  Income:Suspense', 1)
    assert rows(load_text(HEAD + alone + move)) == rows(load_text(HEAD + KNOWN))


def test_move_that_was_edited_stays_by_itself() -> None:
    edited = MOVE.replace("8.00", "7.00")
    loaded = load_text(HEAD + PARKED + edited)
    table = order_table(loaded.entries, loaded.options)
    assert table["contribution"].sum() == D("14.00") - D("0.80") - D(5) - D("0.30")
    of_suspense = table[table["account"] == "Income:Suspense:Web"]
    assert sorted(of_suspense["gross"]) == [D("-7.00"), D("8.00")]

"""What a day's packing used up comes back to the orders of the day."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.order_table import order_table
from tests.conftest import Loaded, load_text

D = Decimal

SHELVES = """\
plugin "offcut.plugins"
option "operating_currency" "USD"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity MOTH
  stock: "product"
2025-01-01 commodity MAILER
  stock: "material"
2025-01-01 commodity STAMP
  stock: "stamp"
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 open Expenses:Other
2025-01-01 * "Bought"
  Assets:Stock:HERON       90 HERON {1.00 USD}
  Assets:Stock:MOTH        90 MOTH {1.00 USD}
  Assets:Materials:MAILER  MAILERS MAILER {0.20 USD}
  Assets:Stamps:STAMP      1 STAMP {0.73 USD}
  Assets:Stamps:STAMP      90 STAMP {0.78 USD}
  Assets:Cash
2025-01-01 custom "packing" "letter" 1 MAILER 1 STAMP
"""


def shelves(mailers: int = 90) -> str:
    """Return a ledger with so many mailers on the shelf."""
    return SHELVES.replace("MAILERS", str(mailers))


def order(day: int, number: int, *lines: tuple[str, str], link: bool = True) -> str:
    """Return an order packed as a letter, of lines of an item and a price."""
    return f'2025-02-{day:02} * "Order {number}"{f" ^order-{number}" * link}\n' + "".join(
        [
            '  channel: "Web"\n  packing: "letter"\n  Assets:Cash\n',
            *(
                f'  Income:Sales:Web  -{price} USD\n    item: "{item}"\n    quantity: 1\n'
                for item, price in lines
            ),
        ]
    )


def rows(loaded: Loaded, *columns: str) -> list[tuple[Any, ...]]:
    """Return the columns of the table's rows that bear any packing."""
    entries, _, options = loaded
    table = order_table(entries, options)
    table = table[(table["packaging"] != 0) | (table["postage"] != 0)]
    return list(table[list(columns)].itertuples(index=False, name=None))


def test_parcels_share_alike_whatever_they_were_sold_for() -> None:
    loaded = load_text(
        shelves()
        + order(1, 1, ("HERON", "4.00"))
        + order(1, 2, ("HERON", "40.00"), ("MOTH", "20.00"))
        + order(2, 3, ("MOTH", "4.00"))
    )
    # 0.73 + 0.78 for the two of the first day: an odd cent, which goes to the first
    # order by number; within an order by sales value.
    assert rows(loaded, "order", "product", "packaging", "postage") == [
        ("1", "HERON", D("-0.20"), D("-0.76")),
        ("2", "HERON", D("-0.13"), D("-0.50")),
        ("2", "MOTH", D("-0.07"), D("-0.25")),
        ("3", "MOTH", D("-0.20"), D("-0.78")),
    ]


def test_an_order_without_a_link_bears_its_parcel_too() -> None:
    loaded = load_text(shelves() + order(1, 1, ("HERON", "4.00"), link=False))
    assert rows(loaded, "order", "product", "channel", "packaging") == [
        ("", "HERON", "Web", D("-0.20"))
    ]


def test_an_order_of_two_parcels_bears_both() -> None:
    loaded = load_text(
        shelves()
        + order(1, 1, ("HERON", "4.00")).replace('"letter"', '"letter, letter"')
        + order(1, 2, ("MOTH", "4.00"))
    )
    assert rows(loaded, "order", "packaging") == [("1", D("-0.40")), ("2", D("-0.20"))]


def test_a_replacements_parcel_is_its_orders() -> None:
    loaded = load_text(
        shelves()
        + order(1, 1, ("HERON", "4.00"))
        + '2025-02-08 * "Lost in the post" ^order-1\n  packing: "letter"\n'
        + "  Expenses:Other  1.00 USD\n  Assets:Cash\n"
    )
    assert rows(loaded, "order", "product", "date", "packaging") == [
        ("1", "HERON", loaded.entries[-1].date.replace(day=day), D("-0.20"))
        for day in (1, 8)
    ]


def test_a_parcel_of_no_order_stays_with_its_channel() -> None:
    loaded = load_text(
        shelves()
        + '2025-02-08 * "Samples"\n  packing: "letter"\n  channel: "Press"\n'
        + "  Expenses:Other  1.00 USD\n  Assets:Cash\n"
    )
    assert rows(loaded, "order", "product", "channel", "account") == [
        ("", "", "Press", "Expenses:Packaging:MAILER"),
        ("", "", "Press", "Expenses:Postage:STAMP"),
    ]


@pytest.mark.parametrize("link", [True, False], ids=["linked", "not linked"])
def test_what_came_after_the_parcel_is_its_orders_on_that_day(link: bool) -> None:
    loaded = load_text(
        shelves(mailers=1)
        + order(1, 1, ("HERON", "4.00"), link=link)
        + order(1, 2, ("MOTH", "4.00"), link=link)
        + '2025-02-09 * "Bought"\n  Assets:Materials:MAILER  9 MAILER {0.50 USD}\n'
        + "  Assets:Cash\n"
    )
    assert len(loaded.errors) == 1
    numbers = ("1", "2") if link else ("", "")
    found = rows(loaded, "order", "product", "packaging")
    assert sorted(found) == sorted(
        [
            (numbers[0], "HERON", D("-0.10")),
            (numbers[1], "MOTH", D("-0.10")),
            (numbers[0], "HERON", D("-0.25")),
            (numbers[1], "MOTH", D("-0.25")),
        ]
    )


def test_odd_cents_do_not_depend_on_which_file_was_read_first() -> None:
    one, two = order(1, 1, ("HERON", "4.00")), order(1, 2, ("MOTH", "4.00"))
    there, back = load_text(shelves() + one + two), load_text(shelves() + two + one)
    columns = ("order", "product", "packaging", "postage")
    assert rows(there, *columns) == rows(back, *columns)

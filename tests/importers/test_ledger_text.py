"""Text from files stays text in the ledger."""

from __future__ import annotations

import tempfile
from decimal import Decimal
from pathlib import Path

import pytest
from beancount.core import data
from beancount.parser import parser
from hypothesis import example, given
from hypothesis import strategies as st

from offcut.importers.csv_importer import LayoutImporter
from offcut.importers.layout import layout_of
from offcut.importers.ledger_text import escaped, posting_text, transaction_text
from offcut.importers.records import order_key
from offcut.importers.values import one_line

NASTY = '"\\\n2025-01-01 open Assets:Mine\ninclude "x"\n; #tag ^link {} \\"'
DELIMITER = "\x1f"
COMMON = {"channel": "Web", "currency": "USD", "file": {"delimiter": DELIMITER}}
PAYMENTS = layout_of(
    "payments",
    {
        **COMMON,
        "kind": "payments",
        "source": "pay",
        "columns": {"date": "d", "order": "o", "text": "t", "gross": "g", "id": "i"},
        "types": {"default": "sale"},
    },
    "",
)
ORDERS = layout_of(
    "orders",
    {
        **COMMON,
        "kind": "order-lines",
        "source": "shop",
        "columns": {"date": "d", "order": "o", "item": "t", "quantity": "q", "amount": "g"},
    },
    "",
)
# A NUL is refused with the whole file (test_source_file).
TEXTS = st.text(
    st.characters(exclude_characters=f"{DELIMITER}\0", exclude_categories=["Cs"])
)


def cell(text: str) -> str:
    """Return a text as a quoted cell."""
    return '"' + text.replace('"', '""') + '"'


def extracted(importer: LayoutImporter, *cells: str) -> list[data.Transaction]:
    """Return what an importer makes of a file of one row."""
    header = DELIMITER.join(importer.layout.headers)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "file.csv"
        path.write_bytes(f"{header}\n{DELIMITER.join(cells)}\n".encode())
        return importer.extract(str(path), [])


@given(TEXTS.filter(one_line), TEXTS, TEXTS.filter(one_line))
@example(NASTY, NASTY, NASTY)
@example("\\", "\\", "\\")
@example("#", "x", "y")
def test_any_text_in_a_payment_is_inert(order: str, text: str, name: str) -> None:
    cells = ("2025-03-04", cell(order), cell(text), "4.00", cell(name))

    (entry,) = extracted(LayoutImporter(PAYMENTS), *cells)

    assert isinstance(entry, data.Transaction)
    key = order_key(one_line(order))
    assert entry.links == ({f"order-{key}"} if key else set())
    assert entry.tags == set()
    if one_line(text):
        assert entry.narration == one_line(text)
    assert entry.meta["source-id"] == f"pay/{one_line(name)}"
    assert [posting.units.number for posting in entry.postings] == [4, -4]


@given(TEXTS.filter(lambda text: order_key(one_line(text))), TEXTS.filter(one_line))
@example(NASTY, NASTY)
def test_any_text_in_an_order_line_is_inert(order: str, item: str) -> None:
    cells = ("2025-03-04", cell(order), cell(item), "2", "4.00")

    (entry,) = extracted(LayoutImporter(ORDERS), *cells)

    assert entry.narration == f"Web order {one_line(order)}"
    assert entry.links == {f"order-{order_key(one_line(order))}"}
    assert entry.postings[1].meta["item-text"] == one_line(item)
    assert entry.postings[1].meta["quantity"] == "2"


@given(st.text(st.characters(exclude_categories=["Cs"])).map(one_line))
@example('a\\nb"c\\')
def test_escaped_text_reads_back(text: str) -> None:
    written = transaction_text("2025-01-01", text, "", [("note", text)], "")

    (entry,), errors, _ = parser.parse_string(written)

    assert errors == []
    assert entry.narration == text
    assert entry.meta.get("note", "") == text
    assert f'"{escaped(text)}"' in written


def test_amounts_end_before_the_column_of_the_currency() -> None:
    lines = [
        posting_text("Income:Sales:Web", Decimal("-8.00"), "USD"),
        posting_text("Assets:Clearing:Card", Decimal("1234567.89"), "USD"),
    ]

    assert [line.index("USD") for line in lines] == [60, 60]


def test_long_account_keeps_two_blanks_before_the_amount() -> None:
    account = "Income:" + "Long" * 14

    assert posting_text(account, Decimal("-8.00"), "USD") == f"  {account}  -8.00 USD\n"


@pytest.mark.parametrize("quantity", ["2", "1000000", "0.5"])
def test_numbers_in_metadata_are_written_plainly(quantity: str) -> None:
    text = posting_text("Income:X", Decimal(1), "USD", [("quantity", Decimal(quantity))])

    assert text.endswith(f"    quantity: {quantity}\n")

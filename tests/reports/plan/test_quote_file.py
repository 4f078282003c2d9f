"""A manufacturer's quote as a CSV file."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from offcut.reports.plan.price_breaks import PriceBreak
from offcut.reports.plan.quote_file import QuoteRefused, read_quote

D = Decimal


def quote(folder: Path, text: str) -> Path:
    path = folder / "quote.csv"
    path.write_text(text, encoding="utf-8-sig")
    return path


def test_lines_by_quantity(tmp_path: Path) -> None:
    path = quote(tmp_path, "Quantity,Unit price\n500,0.33\n\n250,0.425\n")
    assert read_quote(path) == [
        PriceBreak(D(250), D("0.425")),
        PriceBreak(D(500), D("0.33")),
    ]


def test_other_columns_order_and_delimiter(tmp_path: Path) -> None:
    text = 'freight; UNIT PRICE ;Quantity;Set-up\n12;0.42;"1,000";\n'
    assert read_quote(quote(tmp_path, text)) == [
        PriceBreak(D(1000), D("0.42"), D(0), D(12))
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "row 1: expected the columns Quantity and Unit price"),
        ("Quantity,Price\n1,2\n", "found quantity, price"),
        ("Quantity,Unit price,Quantity\n1,2,3\n", "row 1: expected the columns"),
        ("Quantity,Unit price\n", "expected a row for each price, found none"),
        ("Quantity,Unit price\n2.5,1\n", "row 2, column Quantity: expected a whole number"),
        ("Quantity,Unit price\n25,1x\n", "row 2, column Unit price: expected a number"),
        ("Quantity,Unit price\n25\n", "row 2: expected 2 cells, found 1"),
        ("Quantity,Unit price\n25,,\n", "row 2, column Unit price"),
    ],
)
def test_mistakes_name_row_and_column(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(QuoteRefused, match=words) as caught:
        read_quote(quote(tmp_path, text))
    assert str(caught.value).startswith(str(tmp_path / "quote.csv"))


def test_no_file_and_no_text(tmp_path: Path) -> None:
    with pytest.raises(QuoteRefused, match=r"none\.csv: cannot be read: No such file"):
        read_quote(tmp_path / "none.csv")
    (tmp_path / "quote.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(QuoteRefused, match="expected a CSV file in UTF-8"):
        read_quote(tmp_path / "quote.csv")

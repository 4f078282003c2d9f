"""A file's row of totals is checked against its rows, and left out."""

from __future__ import annotations

import pytest

from offcut.importers.layout import layout_of
from offcut.importers.problems import ImportRefused
from tests.importers.shop import Shop

LAYOUT = """\
kind = "payments"
source = "wallet"
channel = "Web"
currency = ["USD", "EUR"]
[columns]
date = "Day"
type = "Kind"
gross = "Gross"
fee = ["Fee", "Ads"]
net = "Net"
currency = "Money"
[forms]
fee = "negative"
[types]
sale = ["sale"]
ignore = ["note"]
[totals]
column = "Day"
equals = "Total"
"""
HEADING = "Day,Kind,Gross,Fee,Ads,Net,Money"
ROWS = (
    "2025-03-01,sale,10.00,-0.30,,9.70,USD",
    "2025-03-02,sale,5.00,-0.20,-1.00,3.80,USD",
)
EUROS = "2025-03-02,sale,7.00,0,0,7.00,EUR"


def checks(shop: Shop, *rows: str) -> tuple[str, ...]:
    """Import rows; return what the report says was checked."""
    (shop.folder / "wallet.toml").write_text(LAYOUT)
    file = shop.file("w.csv", HEADING, *rows)
    report = shop.run(file, layouts=[str(shop.folder / "wallet.toml")])
    assert report.files[0].left_out == {
        "a row of totals": sum(row.startswith("Total") for row in rows)
    }
    return report.files[0].checks


def test_totals_agree(shop: Shop) -> None:
    assert checks(shop, *ROWS, "Total,,15.00,-0.50,-1.00,13.50,USD") == (
        "row 4 of totals agrees: Gross, Fee, Ads, Net",
    )


def test_short_row_of_totals_with_blank_cells(shop: Shop) -> None:
    assert checks(shop, *ROWS, "Total,,15.00") == ("row 4 of totals agrees: Gross",)


def test_one_row_a_currency(shop: Shop) -> None:
    rows = (*ROWS, "Total,,15.00,,,,USD", EUROS, "Total,,7.00,,,7.00,EUR")

    assert checks(shop, *rows) == (
        "row 4 of totals agrees: Gross",
        "row 6 of totals agrees: Gross, Net",
    )


def test_total_of_several_currencies_says_nothing(shop: Shop) -> None:
    assert checks(shop, *ROWS, EUROS, "Total,,22.00,,,,") == ()


@pytest.mark.parametrize(
    ("total", "said"),
    [
        ("Total,,15.01,,,,USD", "column Gross: expected 15.00 USD, which is what the rows"),
        ("Total,,15.00,-0.50,-1.00,-13.50,USD", "column Net: expected 13.50 USD"),
        ("Total,,15.00,,1.00,,", "column Ads: expected -1.00 USD"),
        ("Total,,many,,,,", "column Gross: expected a number"),
    ],
)
def test_totals_that_differ_are_refused(shop: Shop, total: str, said: str) -> None:
    (shop.folder / "wallet.toml").write_text(LAYOUT)
    file = shop.file("w.csv", HEADING, *ROWS, total)

    (line,) = shop.refused(file, layouts=[str(shop.folder / "wallet.toml")])

    assert line.startswith(f"w.csv: row 4, {said}")


def test_mistakes_in_the_layout() -> None:
    table = {
        "kind": "payments",
        "source": "wallet",
        "channel": "Web",
        "currency": "USD",
        "columns": {"date": "Day", "gross": "Sum"},
        "types": {"default": "sale"},
        "totals": {"column": "Day"},
    }
    with pytest.raises(ImportRefused, match="equals is missing"):
        layout_of("test", table, "test.toml")

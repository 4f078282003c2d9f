"""The layout of a file is found by its columns."""

from __future__ import annotations

from pathlib import Path

import pytest

from offcut.importers.layout import shipped_layouts
from offcut.importers.layout_choice import candidates, choose_layout
from offcut.importers.problems import ImportRefused
from tests.importers.shop import ORDERS, PAYMENTS, Shop

OWN = """\
kind = "payments"
source = "own"
channel = "Web"
currency = "USD"
[columns]
date = "Date"
gross = "Gross"
[types]
default = "sale"
"""


@pytest.mark.parametrize(
    ("header", "name"),
    [
        (PAYMENTS, "card-payments"),
        (ORDERS, "shop-orders"),
        (f"Extra,{ORDERS}", "shop-orders"),
        (
            "Posted;Entry;Order number;Details;Amount;Charges;Payable;Money;Entry number",
            "market-payments",
        ),
        (
            "Order number;Posted;Goods;Pieces;Price each;Reduction;Delivery;Tax;Money",
            "market-orders",
        ),
    ],
)
def test_shipped_layouts_are_found(header: str, name: str) -> None:
    layout = choose_layout("f.csv", f"{header}\n".encode(), candidates([], {}))

    assert layout.name == name


def test_users_own_layout_goes_before_a_shipped_one(shop: Shop) -> None:
    (shop.folder / "layouts").mkdir()
    (shop.folder / "layouts" / "own.toml").write_text(OWN)

    report = shop.run(shop.payments("2025-03-04,Sale,W1,,4.00,0,4.00,USD,c1"))

    assert report.files[0].layout == "own"


def test_several_that_fit_have_to_be_chosen_from(shop: Shop) -> None:
    (shop.folder / "layouts").mkdir()
    (shop.folder / "layouts" / "own.toml").write_text(OWN)
    (shop.folder / "layouts" / "other.toml").write_text(OWN.replace('"own"', '"other"'))
    file = shop.payments("2025-03-04,Sale,W1,,4.00,0,4.00,USD,c1")

    assert shop.refused(file) == [
        "payments.csv: several layouts fit this file, other and own; choose one by "
        "--layout, nothing was imported"
    ]
    assert shop.run(file, layouts=["other"]).files[0].layout == "other"


def test_layout_by_its_path(shop: Shop) -> None:
    path = shop.folder / "elsewhere.toml"
    path.write_text(OWN)
    file = shop.payments("2025-03-04,Sale,W1,,4.00,0,4.00,USD,c1")

    assert shop.run(file, layouts=[str(path)]).files[0].layout == "elsewhere"


def test_layout_that_is_not_known(shop: Shop) -> None:
    assert shop.refused(shop.payments(), layouts=["card-payment"]) == [
        "--layout card-payment: there is no such layout (did you mean card-payments?); "
        "give a name or the path of a TOML file, nothing was imported"
    ]


def test_file_without_a_header_needs_its_layout(shop: Shop) -> None:
    path = shop.folder / "bare.toml"
    path.write_text(OWN + '[file]\nnames = ["Date", "Gross"]\n')
    file = shop.file("bare.csv", "2025-03-04,4.00")

    report = shop.run(file, layouts=[str(path)])
    (line,) = shop.refused(file)

    assert report.files[0].rows == 1
    assert "no layout knows these columns: 2025-03-04, 4.00" in line


def test_preamble_is_not_taken_for_the_header(tmp_path: Path) -> None:
    contents = f"A shop\n{PAYMENTS}\n".encode()
    with pytest.raises(ImportRefused):
        choose_layout("f.csv", contents, [shipped_layouts()])

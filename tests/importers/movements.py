"""A layout with every word for movements of money, and a shop that uses it."""

from __future__ import annotations

from pathlib import Path

from offcut.importers.import_report import ImportReport
from tests.importers.shop import Shop

HEADING = "Day,Kind,Order,What,Gross,Fee,Tip,Kept,Net,Money,Ref,Id"
LAYOUT = """\
kind = "payments"
source = "wallet"
channel = "Web"
currency = ["USD", "EUR", "GBP", "JPY"]
[columns]
date = "Day"
type = "Kind"
order = "Order"
text = "What"
gross = "Gross"
fee = "Fee"
tip = "Tip"
tax-remitted = "Kept"
net = "Net"
currency = "Money"
reference = "Ref"
id = "Id"
[types]
sale = ["sale"]
refund = ["refund"]
fee = ["fee"]
payout = ["payout"]
dispute = ["dispute"]
dispute-fee = ["dispute fee"]
reversal = ["reversal"]
hold = ["hold"]
release = ["release"]
tip = ["tip"]
gift-card-sale = ["card sold"]
gift-card-use = ["card used"]
deposit = ["deposit"]
tax-remitted = ["tax kept"]
conversion = ["exchange"]
postage = ["label"]
adjustment = ["adjustment"]
[forms]
amounts = "signed"
[accounts]
dispute-fees = "Expenses:DisputeFees:Wallet"
disputes = "Expenses:Disputes:Wallet"
"""


def import_rows(
    shop: Shop, *rows: str, name: str = "wallet.csv", layout: str = LAYOUT
) -> ImportReport:
    """Import rows under `HEADING`; the report is checked to tie."""
    (shop.folder / "wallet.toml").write_text(layout, "utf-8")
    file = shop.file(name, HEADING, *rows)
    return shop.run(file, layouts=[str(shop.folder / "wallet.toml"), "shop-orders"])


def import_with_orders(shop: Shop, row: str, *orders: str) -> ImportReport:
    """Import one row and order lines of the layout `shop-orders` together."""
    (shop.folder / "wallet.toml").write_text(LAYOUT, "utf-8")
    files: list[Path] = [shop.file("wallet.csv", HEADING, row), shop.orders(*orders)]
    return shop.run(*files, layouts=[str(shop.folder / "wallet.toml"), "shop-orders"])

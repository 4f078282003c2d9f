"""Write a large ledger of a made-up shop, for the benchmarks.

The same arguments give the same bytes. Every order has one to three lines; stock is
bought often enough that nothing is sold before it is there.
"""

from __future__ import annotations

import datetime
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

# Who relieves stock: nobody, the stock plugin, or beancount's own booking of reductions
# that are written into the text.
Relief = Literal["none", "plugin", "booked"]

FIRST_DAY = datetime.date(2023, 1, 1)
DAYS = 1000
DAYS_BETWEEN_PURCHASES = 20
# Lines of an order, and pieces of a line, to draw from.
LINES = (1, 1, 1, 2, 2, 3)
PIECES = (1, 1, 1, 2)


def write_ledger(
    path: Path,
    orders: int = 100_000,
    products: int = 120,
    relief: Relief = "none",
    seed: int = 1,
    workshop: bool = False,
) -> None:
    """Write a ledger of so many orders (about 1.7 lines each) over so many products.

    With a workshop, products come from print runs, are counted each month, and every
    order is packed by a list of three items.
    """
    path.write_text(
        "\n".join(_directives(orders, products, relief, seed, workshop)), encoding="utf-8"
    )


def _directives(
    orders: int, products: int, relief: Relief, seed: int, workshop: bool
) -> Iterator[str]:
    draw = random.Random(seed)
    items = [f"DESIGN-{number:03d}" for number in range(products)]
    yield 'option "title" "Generated"\noption "operating_currency" "USD"\n'
    if relief == "plugin":
        yield 'plugin "offcut.plugins.stock"\n'
    yield from _accounts(items, relief)
    if workshop:
        yield from _workshop(items, orders)

    purchases = DAYS // DAYS_BETWEEN_PURCHASES
    # Pieces an order takes of one product on average, with room to spare.
    lot = int(orders * 2.6 / products / purchases) + 60
    number = 0
    for day in range(DAYS):
        date = FIRST_DAY + datetime.timedelta(days=day)
        if day % DAYS_BETWEEN_PURCHASES == 0:
            for item in items:
                cost = draw.randint(20, 90)
                if workshop:
                    yield f'{date} custom "print-run" {lot} {item}\n  spoiled: 1\n'
                    continue
                yield (
                    f'{date} * "Printer" "{lot} {item}"\n'
                    f"  Assets:Stock:{item}  {lot} {item} {{0.{cost} USD}}\n"
                    f"  Assets:Bank:Checking  -{lot * cost / 100:.2f} USD\n"
                )
        for _ in range(orders * (day + 1) // DAYS - orders * day // DAYS):
            number += 1
            yield _order(draw, number, date, items, relief, workshop)
        if workshop and day % 30 == 29:
            for item in items:
                yield f'{date} custom "stock-count" {lot - draw.randint(0, 9)} {item}\n'


def _accounts(items: list[str], relief: Relief) -> Iterator[str]:
    for account in (
        "Assets:Bank:Checking",
        "Assets:Clearing:Card",
        "Expenses:Fees:Card",
        "Income:Sales:Web",
        "Income:Shipping:Web",
        "Liabilities:SalesTax:Home",
    ):
        yield f"{FIRST_DAY} open {account}"
    for item in items:
        yield (
            f'{FIRST_DAY} commodity {item}\n  stock: "product"\n  design: "{item[:-1]}"\n'
            f'{FIRST_DAY} open Assets:Stock:{item}  {item} "FIFO"'
        )
        if relief == "booked":
            yield f"{FIRST_DAY} open Expenses:COGS:{item}"


def _workshop(items: list[str], orders: int) -> Iterator[str]:
    """Yield materials for all runs and parcels, bills and a packing list."""
    sheets = orders * 3 + 100_000
    needed = {"VINYL": sheets, "INK-ML": sheets * 6, "FILM": sheets}
    parcels = {"MAILER": orders + 1, "SLEEVE": orders + 1, "STAMP": orders + 1}
    for number, (item, units) in enumerate((needed | parcels).items(), start=20):
        kind = "stamp" if item == "STAMP" else "material"
        root = "Stamps" if kind == "stamp" else "Materials"
        yield f'{FIRST_DAY} commodity {item}\n  stock: "{kind}"'
        yield (
            f"{FIRST_DAY} open Assets:{root}:{item}  {item}\n"
            f'{FIRST_DAY} * "Supplier" "{item}"\n'
            f"  Assets:{root}:{item}  {units} {item} {{0.{number} USD}}\n"
            "  Assets:Bank:Checking\n"
        )
    yield f'{FIRST_DAY} custom "packing" "letter" 1 MAILER 1 SLEEVE 1 STAMP'
    for item in items:
        yield f'{FIRST_DAY} custom "bill-of-materials" 6 {item} 1 VINYL 1 FILM 5.4 INK-ML'


PACKED = '  packing: "letter"\n'


def _order(
    draw: random.Random,
    number: int,
    date: datetime.date,
    items: list[str],
    relief: Relief,
    workshop: bool,
) -> str:
    sold = [
        (draw.choice(items), draw.choice((1, 1, 1, 2))) for _ in range(draw.choice(LINES))
    ]
    gross = 400 * sum(pieces for _, pieces in sold) + 250 + 50
    fee = gross * 29 // 1000 + 30
    lines = "".join(
        f"  Income:Sales:Web  -{4 * pieces}.00 USD\n"
        f'    item: "{item}"\n'
        f"    quantity: {pieces}\n"
        for item, pieces in sold
    )
    if relief == "booked":
        lines += "".join(
            f"  Assets:Stock:{item}  -{pieces} {item} {{}}\n" for item, pieces in sold
        )
        lines += f"  Expenses:COGS:{sold[0][0]}\n"
    return (
        f'{date} * "Order {number}" ^order-{number}\n'
        f'  channel: "Web"\n{PACKED if workshop else ""}'
        f'  source-id: "card/{number}"\n'
        f"  Assets:Clearing:Card  {(gross - fee) / 100:.2f} USD\n"
        f"  Expenses:Fees:Card  {fee / 100:.2f} USD\n"
        "  Liabilities:SalesTax:Home  -0.50 USD\n"
        f"  Income:Shipping:Web  -2.50 USD\n{lines}"
    )

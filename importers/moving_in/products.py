"""Read the sheet of products and materials, and write them as commodities."""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.ledger_text import escaped
from offcut.importers.moving_in.sheets import PRODUCT_COLUMNS
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.sheet import read_cell, read_sheet
from offcut.importers.values import minor_unit, number_reader, one_line
from offcut.plugins.catalogue import KINDS, nearest

# As beancount's grammar has commodities, of the characters that accounts take too.
_ITEM = re.compile(r"[A-Z][A-Z0-9-]{0,22}[A-Z0-9]")


class Product(NamedTuple):
    """A row of the sheet: an item of stock.

    Attributes:
      item: Its short name: `OWL-STK`.
      kind: What it is for: "product", "material" or "stamp".
      texts: Its name, design and format; empty where none was given.
      price: Its list price; None where none was given.
    """

    item: str
    kind: str
    texts: tuple[str, str, str]
    price: Decimal | None

    def text(self, day: datetime.date, currency: str) -> str:
        """Return the lines that declare it.

        Args:
          day: The day to declare it on.
          currency: The currency of its list price.
        """
        lines = [f"{day} commodity {self.item}"]
        name, design, form = self.texts
        for key, value in (
            *(("name", name), ("stock", self.kind), ("design", design), ("format", form)),
        ):
            if value:
                lines.append(f'  {key}: "{escaped(value)}"')
        if self.price is not None:
            lines.append(f"  list-price: {self.price:f} {currency}")
        return "\n".join(lines) + "\n"


def read_products(
    name: str, contents: bytes, currency: str, currencies: Collection[str]
) -> list[Product]:
    """Return the rows of a sheet of products.

    Args:
      name: The file's name, for problems.
      contents: Its bytes.
      currency: The currency of list prices.
      currencies: Codes that money has in the ledger, which no item may have.

    Raises:
      ImportRefused: With a problem for each cell that cannot be read.
    """
    problems: list[Problem] = []
    found: dict[str, tuple[int, Product]] = {}
    read_number = number_reader("en_US")

    def item_of(cell: str) -> str:
        if not _ITEM.fullmatch(cell):
            raise ValueError(
                "expected a short name of capitals, digits and hyphens, such as OWL-STK, "
                f"found {quoted(cell)}"
            )
        if cell in currencies:
            raise ValueError(f"{cell} is the name of a currency; choose a longer name")
        return cell

    def kind_of(cell: str) -> str:
        if cell.casefold() not in KINDS:
            raise ValueError(
                f"expected {', '.join(KINDS[:-1])} or {KINDS[-1]}, found {quoted(cell)}"
                f"{nearest(cell.casefold(), KINDS)}"
            )
        return cell.casefold()

    def price_of(cell: str) -> Decimal | None:
        if not cell:
            return None
        price = read_number(cell)
        if price < 0:
            raise ValueError(f"expected zero or more, found {quoted(cell)}")
        return (
            price if price % minor_unit(currency) else price.quantize(minor_unit(currency))
        )

    for number, cells in read_sheet(name, contents, PRODUCT_COLUMNS):
        item = read_cell(problems, (name, number, "Item"), cells[0], item_of)
        kind = read_cell(problems, (name, number, "Kind"), cells[1], kind_of)
        before = len(problems)
        price = read_cell(problems, (name, number, "List price"), cells[5], price_of)
        if item is None or kind is None or len(problems) > before:
            continue
        if item in found:
            message = f"{item} is in row {found[item][0]} too; take one of the rows out"
            problems.append(Problem(name, number, "Item", message))
            continue
        title, design, form = map(one_line, cells[2:5])
        found[item] = number, Product(item, kind, (title, design, form), price)
    if problems:
        raise ImportRefused(problems)
    return [product for _, product in found.values()]

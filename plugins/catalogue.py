"""Read what the maker stocks from `commodity` directives, and check it.

    2025-01-06 commodity HERON-STK
      name: "Heron at Dusk, 3 in sticker"
      stock: "product"
      design: "Heron at Dusk"
      format: "sticker-3in"
      list-price: 4.00 USD
      normal-spoilage: 0.05
    2025-01-06 commodity VINYL
      name: "White vinyl sheet, letter size"
      stock: "material"

The key `stock` makes a commodity an item of stock: a product (sold), a material (used
up in print runs and packing) or a stamp (used up in posting). Only `stock` is needed;
a product without a `design` is a design of its own.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Literal, NamedTuple

from beancount.core import data
from beancount.core.amount import Amount

__plugins__ = ("check_catalogue",)

Kind = Literal["product", "material", "stamp"]
KINDS: tuple[Kind, ...] = ("product", "material", "stamp")

ONE = Decimal(1)
ZERO = Decimal(0)


class CatalogueError(NamedTuple):
    """A commodity directive that the catalogue cannot read."""

    source: data.Meta
    message: str
    entry: data.Directive | None


class Item(NamedTuple):
    """One commodity that the maker keeps in stock.

    Attributes:
      currency: The commodity, as beancount names it: `HERON-STK`.
      kind: What it is for.
      name: The name to show; the commodity where none was given.
      design: The design that a product belongs to; its name where none was given.
      format: The printed format of a product: `sticker-3in`; empty where none was given.
      list_price: The retail price of one piece.
      normal_spoilage: How many spoiled pieces are expected for each good one, 0 to 1
        (IAS 2, paragraph 16(a): only waste above it is an expense of its own; counted
        on good pieces as in Horngren, Datar, Rajan, Cost Accounting, chapter 18).
      entry: The directive.
    """

    currency: str
    kind: Kind
    name: str
    design: str
    format: str
    list_price: Amount | None
    normal_spoilage: Decimal
    entry: data.Commodity


def read_catalogue(entries: Iterable[data.Directive]) -> dict[str, Item]:
    """Return the items of stock by commodity; what is wrong in one takes its default.

    Args:
      entries: A list of directives.
    """
    return {
        entry.currency: _read_item(entry)[0]
        for entry in entries
        if isinstance(entry, data.Commodity) and entry.meta.get("stock") in KINDS
    }


def check_catalogue(
    entries: data.Directives, options_map: Mapping[str, Any], config: str | None = None
) -> tuple[data.Directives, list[CatalogueError]]:
    """Report what is wrong in the stock keys of commodity directives.

    Args:
      entries: A list of directives.
      options_map: An options map, unused.
      config: Not used; the plugin takes no configuration.

    Returns:
      The same entries, and a list of new errors.
    """
    errors = []
    if config:
        errors.append(
            CatalogueError(
                data.new_metadata("<offcut.plugins.catalogue>", 0),
                "This plugin takes no configuration; remove the second text of its line",
                None,
            )
        )
    for entry in entries:
        if isinstance(entry, data.Commodity) and "stock" in entry.meta:
            errors.extend(
                CatalogueError(entry.meta, message, entry)
                for message in _read_item(entry)[1]
            )
    return entries, errors


def _read_item(entry: data.Commodity) -> tuple[Item, list[str]]:
    """Return the item of a commodity directive, and what is wrong with its keys."""
    meta = entry.meta
    problems = []

    kind: Kind = meta["stock"] if meta["stock"] in KINDS else "product"
    if meta["stock"] not in KINDS:
        problems.append(
            f'{entry.currency}: stock is {meta["stock"]!r}; write stock: "product", '
            '"material" or "stamp"' + nearest(str(meta["stock"]), KINDS)
        )

    texts = {}
    for key in ("name", "design", "format"):
        value = meta.get(key)
        texts[key] = value if isinstance(value, str) else ""
        if value is not None and not isinstance(value, str):
            problems.append(
                f"{entry.currency}: {key} must be a text in quotes, not {value}"
            )

    price = meta.get("list-price")
    if price is not None and not (
        isinstance(price, Amount) and (price.number or ZERO) >= ZERO
    ):
        problems.append(
            f"{entry.currency}: list-price must be an amount of money such as 4.00 USD, "
            f"not {price}"
        )
        price = None

    spoilage = meta.get("normal-spoilage", ZERO)
    if not (isinstance(spoilage, Decimal) and ZERO <= spoilage <= ONE):
        problems.append(
            f"{entry.currency}: normal-spoilage must be a number from 0 to 1, such as "
            f"0.05 for five spoiled pieces to a hundred good ones, not {spoilage}"
        )
        spoilage = ZERO

    name = texts["name"] or entry.currency
    item = Item(
        currency=entry.currency,
        kind=kind,
        name=name,
        design=texts["design"] or name,
        format=texts["format"],
        list_price=price,
        normal_spoilage=spoilage,
        entry=entry,
    )
    return item, problems


def unknown_item_message(currency: str, catalogue: Mapping[str, Item], what: str) -> str:
    """Return the sentence for a commodity that is not in the catalogue.

    Args:
      currency: The commodity that was written.
      catalogue: The items that there are.
      what: Where it was written, to begin the sentence: "The item of this sale".
    """
    return (
        f"{what} is {currency}, which is not in stock's catalogue"
        f"{nearest(currency, catalogue)}. Declare it: "
        f'commodity {currency} with stock: "product"'
    )


def account_component(currency: str) -> str:
    """Return a commodity as a component of an account's name.

    Commodities may hold `'`, `.` and `_`, which accounts may not, or begin with `/`.
    """
    return re.sub(r"[^A-Z0-9-]", "-", currency).lstrip("-")


def nearest(text: str, known: Iterable[str]) -> str:
    """Return ' (did you mean X?)' where something near is known."""
    near = difflib.get_close_matches(text, list(known), n=1)
    return f" (did you mean {near[0]}?)" if near else ""

"""Find the product that a maker means by a word."""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from offcut.plugins.catalogue import Item


def product_named(word: str, catalogue: Mapping[str, Item]) -> Item:
    """Return the product that a word names; capitals do not matter.

    Args:
      word: The commodity, or the product's whole name.
      catalogue: The items of stock.

    Raises:
      ValueError: No product is named so; its text says which are near.
    """
    products = {code: item for code, item in catalogue.items() if item.kind == "product"}
    if word in products:
        return products[word]
    wanted = word.casefold()
    named: dict[str, list[Item]] = {}
    for code, item in products.items():
        for name in {code.casefold(), item.name.casefold()}:
            named.setdefault(name, []).append(item)
    found = named.get(wanted, [])
    if len(found) == 1:
        return found[0]
    if found:
        codes = " or ".join(sorted(item.currency for item in found))
        raise ValueError(f"{word} names several products: write {codes}")
    if word in catalogue:
        raise ValueError(f"{word} is a {catalogue[word].kind}, and no product")
    near = difflib.get_close_matches(wanted, named, n=1)
    if near:
        hint = f"did you mean {named[near[0]][0].currency}?"
    elif products:
        some = sorted(products)
        rest = f" and {len(some) - 5} more" if len(some) > 5 else ""
        hint = f"there is: {', '.join(some[:5])}{rest}"
    else:
        hint = 'declare it: commodity NAME with stock: "product"'
    raise ValueError(f"The ledger has no product {word}; {hint}")

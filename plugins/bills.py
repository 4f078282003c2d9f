"""How bills of materials hang together when a product is a part of another."""

from __future__ import annotations

from collections.abc import Mapping, Set

from offcut.plugins.stock_directives import Bill


def depths(
    bills: Mapping[str, list[Bill]], named: Mapping[str, Set[str]] | None = None
) -> tuple[dict[str, int], list[Bill]]:
    """Return how many bills deep each product is, so that parts are made before sets.

    Args:
      bills: The versions of each product's bill.
      named: Parts that print runs name beside the bills, by product.

    Returns:
      Depths by product, 0 for one made of materials alone; and the bills that, by
      way of others or themselves, name their own product as a part.
    """
    listed = {
        product: {part.item for bill in versions for part in bill.inputs} & bills.keys()
        for product, versions in bills.items()
    }
    named = named or {}
    made = bills.keys() | named.keys()
    parts = {
        product: (listed.get(product, set()) | named.get(product, set())) & made
        for product in sorted(made)
    }
    found: dict[str, int] = {}
    circular = []

    def depth(product: str, path: tuple[str, ...]) -> int:
        if product in path:
            return 0
        if product not in found:
            found[product] = 1 + max(
                (depth(part, (*path, product)) for part in sorted(parts[product])),
                default=-1,
            )
        return found[product]

    def reaches(product: str) -> set[str]:
        seen: set[str] = set()
        ahead = set(listed[product])
        while ahead:
            part = ahead.pop()
            if part not in seen:
                seen.add(part)
                ahead |= listed[part]
        return seen

    for product in parts:
        depth(product, ())
    for product, versions in bills.items():
        if product in reaches(product):
            circular.extend(versions)
    return found, circular

"""Find the design or the product that a name means."""

from __future__ import annotations

from typing import Literal, NamedTuple

from offcut.reports.books import Books

Kind = Literal["design", "product"]


class Subject(NamedTuple):
    """A design or a product.

    Attributes:
      kind: Which of the two; the column of the order table that has its key.
      key: The design's name, or the product's commodity.
      name: What to call it.
      products: Its commodities.
    """

    kind: Kind
    key: str
    name: str
    products: tuple[str, ...]


def subject_named(books: Books, kind: Kind, key: str) -> Subject | None:
    """Return the design or product of a name; None where the books have none.

    Args:
      books: The whole ledger.
      kind: Which of the two.
      key: The design's name, or the product's commodity.
    """
    if kind == "product":
        item = books.catalogue.get(key)
        if item is None and not (books.table["product"] == key).any():
            return None
        return Subject(kind, key, item.name if item else key, (key,))
    # What is sold without being declared is a design of its own; see the order table.
    declared = {
        item.currency
        for item in books.catalogue.values()
        if item.kind == "product" and item.design == key
    }
    sold = books.table.loc[books.table["design"] == key, "product"].unique()
    products = sorted(declared.union(sold) - {""})
    return Subject(kind, key, key, tuple(products)) if products else None

"""Say by what the costs that several lines share are split over them.

Three rules: by what the lines sold for, by their pieces, or by their weight, which a
product's commodity says in grams a piece:

    2025-01-06 commodity HERON-PRT
      stock: "product"
      weight: 62

What is taken off a price, an order's discounts and refunds, is split by sales value under
each rule: by pieces, a sticker could lose more than it was sold for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Literal, NamedTuple

from beancount.core import data

from offcut.importers.splitting import ZERO

if TYPE_CHECKING:
    from offcut.reports.order_lines import Row

Rule = Literal["value", "units", "weight"]
RULES: tuple[Rule, ...] = ("value", "units", "weight")
WORDS: Mapping[Rule, str] = {"value": "sales value", "units": "pieces", "weight": "weight"}

WEIGHT = "weight"


class Sold(NamedTuple):
    """What was sold in one line, or in several together.

    Attributes:
      value: What for, its discounts and refunds taken off.
      units: How many pieces.
      grams: Their weight; None where a product among them says none.
    """

    value: Decimal
    units: Decimal
    grams: Decimal | None


@dataclass(frozen=True)
class Allocation:
    """A rule, and what it needs to know.

    Attributes:
      rule: The rule.
      grams: The weight of a piece, by product.
    """

    rule: Rule = "value"
    grams: Mapping[str, Decimal] = field(default_factory=dict)

    def of_lines(
        self, lines: Sequence[Row], values: Sequence[Decimal]
    ) -> Sequence[Decimal]:
        """Return the weight of each line of an order in what they share.

        Args:
          lines: The lines.
          values: What each was sold for.

        Returns:
          Weights by the rule; by sales value where a line has no weight, or all have none.
        """
        if self.rule == "value":
            return values
        sold = [
            Sold(value, abs(line.quantity), self.grams_of(line.product, abs(line.quantity)))
            for line, value in zip(lines, values, strict=True)
        ]
        return self.of(sold)

    def of(self, sold: Sequence[Sold]) -> Sequence[Decimal]:
        """Return the weight of each part in what they share; see `of_lines`.

        Args:
          sold: What was sold in each part; more given back than sold counts as nothing.
        """
        weights: Sequence[Decimal | None]
        match self.rule:
            case "value":
                weights = [each.value for each in sold]
            case "units":
                weights = [each.units for each in sold]
            case "weight":
                weights = [each.grams for each in sold]
        known = [max(each, ZERO) for each in weights if each is not None]
        if len(known) < len(sold) or not any(known):
            return [max(each.value, ZERO) for each in sold]
        return known

    def grams_of(self, product: str, units: Decimal) -> Decimal | None:
        """Return what pieces of a product weigh; None where it says no weight.

        Args:
          product: The commodity.
          units: How many; what has no pieces has no weight either.
        """
        if not units:
            return ZERO
        grams = self.grams.get(product)
        return None if grams is None else grams * units


def read_allocation(entries: Iterable[data.Directive], rule: Rule) -> Allocation:
    """Return a rule with the weights that commodities say.

    Args:
      entries: The ledger's directives.
      rule: The rule.
    """
    if rule != "weight":
        return Allocation(rule)
    weights = {
        entry.currency: entry.meta[WEIGHT]
        for entry in entries
        if isinstance(entry, data.Commodity) and is_weight(entry.meta.get(WEIGHT))
    }
    return Allocation(rule, weights)


def is_weight(value: object) -> bool:
    """Tell whether a commodity's `weight` is one: a number of grams.

    Args:
      value: The value of its metadata.
    """
    return isinstance(value, Decimal) and value.is_finite() and value > ZERO

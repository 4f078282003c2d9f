"""Find the product that an item text means."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.settings import FILE, ItemRule


class Part(NamedTuple):
    """One product of a bundle.

    Attributes:
      product: The product.
      pieces: How many of it are in one bundle.
      weight: Its share of the bundle's price, in proportion to that of the other parts.
    """

    product: str
    pieces: Decimal
    weight: Decimal


class Meaning(NamedTuple):
    """What an item text means: one of these is set, or none where it is unknown."""

    product: str = ""
    account: str = ""
    parts: tuple[Part, ...] = ()


UNKNOWN = Meaning()


def item_matcher(
    rules: Sequence[ItemRule],
    commodities: Collection[str],
    list_prices: Mapping[str, tuple[Decimal, str]] | None = None,
) -> Callable[[str], Meaning]:
    """Return a function that says what an item text means.

    The first rule whose pattern fits the whole text says it; where none fits, a text
    that is a declared commodity is that product.

    Args:
      rules: The user's rules.
      commodities: The commodities that the ledger declares.
      list_prices: Their list prices, with the currency, by which the price of a bundle
        is split over its products.

    Raises:
      ImportRefused: A rule's product is not declared.
    """
    problems = []
    for rule in rules:
        products = [rule.product] if rule.product else [each for _, each in rule.products]
        for product in products:
            if product not in commodities:
                message = (
                    f"the rule for {rule.text!r} names the product {product}, which the "
                    f"ledger does not declare; correct the rule, or write in the ledger: "
                    f'commodity {product} with stock: "product"'
                )
                problems.append(Problem(FILE, None, None, message))
    if problems:
        raise ImportRefused(problems)

    prices = list_prices or {}
    patterns = [
        (
            text_pattern(rule.text),
            Meaning(rule.product, rule.account, _parts(rule.products, prices)),
        )
        for rule in rules
    ]
    known: dict[str, Meaning] = {}

    def match(text: str) -> Meaning:
        if text not in known:
            known[text] = _match(text)
        return known[text]

    def _match(text: str) -> Meaning:
        folded = text.casefold()
        for pattern, meaning in patterns:
            if pattern.fullmatch(folded):
                return meaning
        return Meaning(product=text) if text in commodities else UNKNOWN

    return match


def _parts(
    products: Sequence[tuple[Decimal, str]], prices: Mapping[str, tuple[Decimal, str]]
) -> tuple[Part, ...]:
    """Return the parts of a bundle.

    They weigh what they would cost one by one; where the list price of one of them is
    missing, or is in another currency, every piece weighs the same.
    """
    priced = [prices.get(product, (Decimal(0), "")) for _, product in products]
    comparable = len({currency for _, currency in priced}) == 1
    if not comparable or any(price <= 0 for price, _ in priced):
        priced = [(Decimal(1), "")] * len(products)
    return tuple(
        Part(product, count, count * price)
        for (count, product), (price, _) in zip(products, priced, strict=True)
    )


def text_pattern(text: str) -> re.Pattern[str]:
    """Return the expression of a rule's text: `*` is any text, `?` any one character.

    Brackets mean themselves, unlike in a shell: item texts have them. What stands between
    two `*` is found once, where it comes first, so that many `*` take no longer than one.
    """
    first, *others = re.split(r"\*+", text.casefold())
    pattern = _literal(first)
    for each in others[:-1]:
        pattern += f"(?>.*?{_literal(each)})"
    if others:
        pattern += f".*{_literal(others[-1])}"
    return re.compile(pattern, re.DOTALL)


def _literal(text: str) -> str:
    return re.escape(text).replace(r"\?", ".")

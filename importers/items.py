"""Find the product that an item text means."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from typing import NamedTuple

from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.settings import FILE, ItemRule


class Meaning(NamedTuple):
    """What an item text means: one of the two is set, or none where it is unknown."""

    product: str = ""
    account: str = ""


UNKNOWN = Meaning()


def item_matcher(
    rules: Sequence[ItemRule], commodities: Collection[str]
) -> Callable[[str], Meaning]:
    """Return a function that says what an item text means.

    The first rule whose pattern fits the whole text says it; where none fits, a text
    that is a declared commodity is that product.

    Args:
      rules: The user's rules.
      commodities: The commodities that the ledger declares.

    Raises:
      ImportRefused: A rule's product is not declared.
    """
    problems = []
    for rule in rules:
        if rule.product and rule.product not in commodities:
            message = (
                f"the rule for {rule.text!r} names the product {rule.product}, which the "
                f"ledger does not declare; correct the rule, or write in the ledger: "
                f'commodity {rule.product} with stock: "product"'
            )
            problems.append(Problem(FILE, None, None, message))
    if problems:
        raise ImportRefused(problems)

    patterns = [
        (_pattern(rule.text), Meaning(rule.product, rule.account)) for rule in rules
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


def _pattern(text: str) -> re.Pattern[str]:
    """Return the expression of a rule's text: `*` is any text, `?` any one character.

    Brackets mean themselves, unlike in a shell: item texts have them.
    """
    escaped = re.escape(text.casefold()).replace(r"\*", ".*").replace(r"\?", ".")
    return re.compile(escaped, re.DOTALL)

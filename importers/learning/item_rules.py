"""Add rules for item texts to `offcut.toml`, behind what the user wrote there.

    [[items]]
    text = "Owl sticker*"
    product = "OWL-STK"

The file's bytes stay as they are. What it would say with the rules is read before
anything is written.
"""

from __future__ import annotations

import difflib
import json
import re
import tomllib
from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from beancount.core.account import is_valid as is_account

from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.settings import FILE, ItemRule
from offcut.importers.values import one_line

_PRODUCT = re.compile(r"(?:0*([1-9]\d{0,5}) +)?(\S+)", re.ASCII)


def read_rule(answer: str, commodities: Collection[str]) -> ItemRule:
    """Return the rule of an answer such as `Owl sticker*=OWL-STK`.

    Args:
      answer: An item text or a pattern, an equals sign, and what it means as in
        `item_rule`.
      commodities: The commodities that the ledger declares.

    Raises:
      ImportRefused: It is no such answer.
    """
    text, _, target = answer.rpartition("=")
    return item_rule(one_line(text), one_line(target), commodities)


def item_rule(text: str, target: str, commodities: Collection[str]) -> ItemRule:
    """Return the rule that says what an item text means.

    Args:
      text: The text, or a pattern over the whole of it.
      target: A product, `OWL-STK`; those of a bundle, `OWL-STK, 2 MOTH-STK`; or an
        account.
      commodities: The commodities that the ledger declares.

    Raises:
      ImportRefused: It is none of these, or the ledger does not declare it.
    """
    if not text or not target:
        raise _refused(
            "an item text, an equals sign and a product or an account",
            f"{text}={target}" if text or target else "",
            'write --rule "Heron sticker*=HERON-STK"',
        )
    if ":" in target:
        if not is_account(target):
            raise _refused(
                "an account such as Income:Shipping:Web", target, "correct the account"
            )
        return ItemRule(text, "", target)
    parts = [_PRODUCT.fullmatch(part.strip()) for part in target.split(",")]
    products = [(Decimal(part[1] or 1), part[2]) for part in parts if part]
    for _, product in products:
        if product not in commodities:
            raise _refused("a product of the ledger", product, _hint(product, commodities))
    if len(products) < len(parts):
        raise _refused("a product such as HERON-STK", target, "correct the product")
    if len(products) == 1 and products[0][0] == 1:
        return ItemRule(text, products[0][1], "")
    return ItemRule(text, "", "", tuple(products))


def rules_to_add(
    rules: Iterable[ItemRule], before: Sequence[ItemRule]
) -> tuple[ItemRule, ...]:
    """Return the rules that are not among those of the settings.

    Args:
      rules: The rules to add.
      before: The rules that there are; of two that fit a text, the first says it.

    Raises:
      ImportRefused: Two rules give one text two meanings.
    """
    said = {rule.text.casefold(): rule for rule in reversed(before)}
    new = []
    for rule in rules:
        other = said.get(rule.text.casefold())
        if other is None:
            said[rule.text.casefold()] = rule
            new.append(rule)
        elif other._replace(text=rule.text) != rule:
            raise _refused(
                f"{target_of(other)}, as another rule for {quoted(other.text)} says",
                target_of(rule),
                f"correct the rules in {FILE}",
            )
    return tuple(new)


def rules_text(rules: Iterable[ItemRule]) -> str:
    """Return the TOML of rules, a blank line before each."""
    return "".join(
        f"\n[[items]]\ntext = {_toml(rule.text)}\n{_target_line(rule)}\n" for rule in rules
    )


def check_added(path: Path, rules: Sequence[ItemRule]) -> None:
    """Check that settings say the same as before, and the rules, once these are added.

    Args:
      path: The file of settings, which may be missing.
      rules: The rules whose text is to be added to its end.

    Raises:
      ImportRefused: They would not; nothing may be written.
    """
    if not rules:
        return
    text = path.read_text("utf-8-sig") if path.exists() else ""
    before = tomllib.loads(text)
    try:
        after = tomllib.loads(f"{text}\n{rules_text(rules)}")
    except tomllib.TOMLDecodeError as error:
        message = f"rules cannot be added to its end ({error})"
        if "items" in before:
            message = (
                "rules cannot be added, as items is written as a list, items = [...]; "
                "write each of its rules as a table that begins with [[items]]"
            )
        raise ImportRefused([Problem(FILE, None, None, message)]) from error
    added = tomllib.loads(rules_text(rules))["items"]
    expected: dict[str, Any] = {**before, "items": [*before.get("items", ()), *added]}
    if after != expected:
        message = "with rules at its end it would say something else; add them by hand"
        raise ImportRefused([Problem(FILE, None, None, message)])


def target_of(rule: ItemRule) -> str:
    """Return what a rule says, as `item_rule` takes it."""
    several = [f"{count} {product}" for count, product in rule.products]
    return rule.product or rule.account or ", ".join(several)


def _target_line(rule: ItemRule) -> str:
    if rule.products:
        several = [_toml(f"{count} {product}") for count, product in rule.products]
        return f"products = [{', '.join(several)}]"
    key = "product" if rule.product else "account"
    return f"{key} = {_toml(rule.product or rule.account)}"


def _toml(text: str) -> str:
    """Return a text as TOML's basic string, whose escapes are JSON's, and one more."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _hint(product: str, commodities: Collection[str]) -> str:
    near = difflib.get_close_matches(product, commodities, n=1)
    if near:
        return f"write {near[0]} if you mean that, or declare the product in the ledger"
    return f'write in the ledger: commodity {product} with stock: "product"'


def _refused(expected: str, found: str, remedy: str) -> ImportRefused:
    message = f"expected {expected}, found {quoted(found)}; {remedy}"
    return ImportRefused([Problem("--rule", None, None, message)])

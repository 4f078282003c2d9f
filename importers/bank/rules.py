"""The `[[bank]]` rules of `offcut.toml`: what the rows of a bank statement are.

[[bank]]                          # the first rule that fits wins
text = "Paper Mill*"              # over the whole payee or the whole text of a row
account = "Expenses:Materials"
direction = "out"                 # "in" or "out"; both where it is left away
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from beancount.core.account import is_valid as is_account

from offcut.importers.layout_schema import nearest

KEYS = ("text", "account", "direction")


class BankRule(NamedTuple):
    """What a row of a bank statement is booked to.

    Attributes:
      text: A shell-style pattern over the whole payee or the whole text, in which case
        does not count.
      account: The account.
      direction: "in" where it is for money that comes in only, "out" for what goes out;
        empty for both.
    """

    text: str
    account: str
    direction: str


def bank_rules(table: Mapping[str, Any]) -> tuple[BankRule, ...]:
    """Return the rules of settings that have no mistakes."""
    return tuple(
        BankRule(rule["text"], rule["account"], rule.get("direction", ""))
        for rule in table.get("bank", ())
    )


def bank_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with the rules of settings."""
    rules = table.get("bank", [])
    if not isinstance(rules, list):
        yield "bank: expected rules, each begun with [[bank]]"
        return
    for number, rule in enumerate(rules, 1):
        for mistake in _rule_mistakes(rule):
            yield f"[[bank]] rule {number}: {mistake}"


def _rule_mistakes(rule: object) -> Iterator[str]:
    if not isinstance(rule, dict):
        yield 'expected a table with text = "..." and account = "..."'
        return
    for key, value in rule.items():
        if key not in KEYS:
            yield f"unknown key {key!r} ({nearest(key, KEYS)})"
        elif not isinstance(value, str) or not value:
            yield f"{key}: expected a text, found {value!r}"
        elif key == "account" and not is_account(value):
            yield (f"account: expected an account such as Expenses:Office, found {value!r}")
        elif key == "direction" and value not in ("in", "out"):
            yield f'direction: expected "in" or "out", found {value!r}'
    for key, example in (("text", "Paper Mill*"), ("account", "Expenses:Materials")):
        if key not in rule:
            yield f'{key} is missing, expected it as in {key} = "{example}"'

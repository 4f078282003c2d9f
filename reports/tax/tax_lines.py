"""Tell which line of the year-end form an income or expense account stands on.

`tax-line` on the account's `open` directive says it, for that account and those below it:

    2025-01-01 open Expenses:Subscriptions:Fonts
      tax-line: "other-expenses"

The words are the keys of the lines in the tax rules; `"none"` is for what the tax office
has nothing to do with, such as a private share. Where nothing is said, the rules' own
`[defaults]` tell the usual lines of the usual accounts. An account on neither is on no
line: it is listed, and an expense on it is not deducted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from beancount.core import data

from offcut.reports.tax.form_schema import BESIDE, NONE, line_words
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.toml_checks import meant

KEY = "tax-line"
COST_OF_GOODS = "cost-of-goods"


class TaxLineError(NamedTuple):
    """A `tax-line` that names no line."""

    source: data.Meta
    message: str
    entry: data.Directive | None


class TaxLine(NamedTuple):
    """The line of an account.

    Attributes:
      key: The key of the form's line; `none` for what is not the tax office's; empty
        where the account is on no line.
      declared: Whether the ledger says so itself.
      is_income: Whether it is an income account.
      catches_all: Whether it is the rules' line for any income, for want of a better.
    """

    key: str
    declared: bool
    is_income: bool
    catches_all: bool = False


class TaxLines(dict[str, TaxLine | None]):
    """Lines by account, worked out at the first look-up; None for a balance account."""

    def __init__(
        self, opens: Iterable[data.Open], options_map: Mapping[str, Any], rules: Rules
    ) -> None:
        """Read the accounts' `tax-line`.

        Args:
          opens: The ledger's accounts.
          options_map: The ledger's options; they name the root accounts.
          rules: The rules of the year.
        """
        super().__init__()
        self._roots = {
            options_map["name_income"]: "Income",
            options_map["name_expenses"]: "Expenses",
        }
        self._defaults = rules.defaults
        self._sides = {line.key: line.side for line in reversed(rules.form) if line.side}
        words = accepted_words(rules)
        self._declared = {
            each.account: word
            for each in opens
            if isinstance(word := each.meta.get(KEY), str) and word in words
        }

    def __missing__(self, account: str) -> TaxLine | None:
        self[account] = line = self._find(account)
        return line

    def of_packaging(self) -> str:
        """Return the line of packaging; empty where it is no line of its own.

        It is none where packaging is a part of the cost of goods, or on no line at all.
        """
        expenses = next(root for root, usual in self._roots.items() if usual == "Expenses")
        line = self[f"{expenses}:Packaging"]
        key = line_of(line.key) if line else ""
        return key if key != COST_OF_GOODS and self._sides.get(key) == "deduction" else ""

    def _find(self, account: str) -> TaxLine | None:
        root, *rest = account.split(":")
        usual = self._roots.get(root)
        if usual is None:
            return None
        is_income = usual == "Income"
        for above in _from_below([root, *rest]):
            if above in self._declared:
                return TaxLine(self._declared[above], True, is_income)
        for above in _from_below([usual, *rest]):
            if above in self._defaults:
                key = self._defaults[above]
                return TaxLine(key, False, is_income, above == usual)
        return TaxLine("", False, is_income)


def accepted_words(rules: Rules) -> list[str]:
    """Return what `tax-line` may be under some rules, each word once.

    Args:
      rules: The rules.
    """
    return list(dict.fromkeys(line_words((line.key, line.side) for line in rules.form)))


def line_of(key: str) -> str:
    """Return the key of the form's line on which something stands: of parking, the car's.

    Args:
      key: The `tax-line`.
    """
    return next((line for line, beside in BESIDE.items() if beside == key), key)


def check_tax_lines(opens: Iterable[data.Open], rules: Rules) -> Iterator[TaxLineError]:
    """Yield an error for each `tax-line` that names no line.

    Args:
      opens: The ledger's accounts.
      rules: The rules of the year.
    """
    words = accepted_words(rules)
    for each in opens:
        word = each.meta.get(KEY, NONE)
        if word not in words:
            yield TaxLineError(
                each.meta,
                f'{each.account}: tax-line is "{word}"{meant(word, words)}, which is no '
                f"line of {rules.form_title or rules.title}; write one of "
                f"{', '.join(words)}",
                each,
            )


def _from_below(parts: list[str]) -> Iterator[str]:
    """Yield an account and those above it, the account first."""
    for depth in range(len(parts), 0, -1):
        yield ":".join(parts[:depth])

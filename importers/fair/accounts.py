"""The `[fair]` table of `offcut.toml`: where the money of a fair's day goes.

[fair]
cash = "Assets:Cash"
cash-over-short = "Expenses:Fairs:CashOverShort"
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from beancount.core.account import is_valid as is_account

from offcut.importers.layout_schema import nearest

KEYS = ("cash", "cash-over-short")


class FairAccounts(NamedTuple):
    """Where the money of a fair's day goes.

    Attributes:
      cash: The cash that was taken.
      over_short: What the money differs by from the tally.
    """

    cash: str = "Assets:Cash"
    over_short: str = "Expenses:Fairs:CashOverShort"


def fair_accounts(table: Mapping[str, Any]) -> FairAccounts:
    """Return the accounts that settings without mistakes give, or the usual ones."""
    given = table.get("fair", {})
    usual = FairAccounts()
    return FairAccounts(
        given.get("cash", usual.cash), given.get("cash-over-short", usual.over_short)
    )


def fair_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with the table of settings."""
    given = table.get("fair", {})
    if not isinstance(given, dict):
        yield '[fair]: expected a table, as in [fair] and cash = "Assets:Cash" below it'
        return
    for key, value in given.items():
        if key not in KEYS:
            yield f"[fair] unknown key {key!r} ({nearest(key, KEYS)})"
        elif not isinstance(value, str) or not is_account(value):
            yield f"[fair] {key}: expected an account such as Assets:Cash, found {value!r}"

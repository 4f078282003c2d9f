"""The `[close]` table of `offcut.toml`: what the month-end list asks for.

[close]
count-every-months = 3        # how often each item of stock is to be counted
receivable-days = 30          # when money that is owed, or held back, is to be asked for
not-expected = ["label-shop"] # sources whose files do not come every month
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from offcut.importers.layout_schema import nearest

KEYS = ("count-every-months", "receivable-days", "not-expected")
# A number of days that a date can be taken back by.
MOST = {"count-every-months": 120, "receivable-days": 3660}

_SOURCE = re.compile("[a-z][a-z0-9-]*")


class CloseSettings(NamedTuple):
    """What the month-end list asks for.

    Attributes:
      count_every_months: How often each item of stock is to be counted.
      receivable_days: After how many days money that is owed, or that a processor holds
        back, is to be asked for.
      not_expected: The sources whose files do not come every month.
    """

    count_every_months: int = 3
    receivable_days: int = 30
    not_expected: frozenset[str] = frozenset()


def close_settings(table: Mapping[str, Any]) -> CloseSettings:
    """Return what settings without mistakes give, or what is usual."""
    given = table.get("close", {})
    usual = CloseSettings()
    return CloseSettings(
        given.get("count-every-months", usual.count_every_months),
        given.get("receivable-days", usual.receivable_days),
        frozenset(given.get("not-expected", ())),
    )


def close_mistakes(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with the table of settings."""
    given = table.get("close", {})
    if not isinstance(given, dict):
        yield "[close]: expected a table, as in [close] and count-every-months = 3 below it"
        return
    for key, value in given.items():
        if key not in KEYS:
            yield f"[close] unknown key {key!r} ({nearest(key, KEYS)})"
        elif key == "not-expected":
            if not isinstance(value, list) or not all(map(_is_source, value)):
                yield (
                    '[close] not-expected: expected a list of sources such as ["card"], '
                    f"found {value!r}"
                )
        elif type(value) is not int or not 0 < value <= MOST[key]:
            yield (
                f"[close] {key}: expected a whole number from 1 to {MOST[key]}, found "
                f"{value!r}"
            )


def _is_source(value: object) -> bool:
    return isinstance(value, str) and _SOURCE.fullmatch(value) is not None

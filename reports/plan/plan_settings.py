"""What `[plan]` in `offcut.toml` says about the maker, for plans to take.

    [plan]
    hour = 18.00            # what an hour of yours is worth
    setup-minutes = 30      # to set up a print run, whatever its size
    lead-weeks = 1          # from the wish to print to the pieces on the shelf
    service = "95%"         # how often nothing may be missing meanwhile
    keeping = "25%"         # what keeping stock for a year costs, of its cost
    following = 1200        # the people who follow the maker
    wholesale = "50%"       # the wholesale price, of the retail price

All of it is optional, and an option of a command goes before it. Values are numbers or
texts; other keys are mistakes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from offcut.importers.layout_schema import nearest
from offcut.importers.problems import ImportRefused, quoted
from offcut.importers.settings import FILE, settings_table
from offcut.reports.plan.given_figures import amount_of, share_of


@dataclass(frozen=True)
class PlanSettings:
    """What is set for plans; None where nothing is.

    Attributes:
      hour: What an hour of the maker is worth.
      setup_minutes: The time to set up a run.
      lead_weeks: Weeks until new pieces are there.
      service: The probability that nothing is missing meanwhile.
      keeping: What keeping stock for a year costs, as a share of its cost.
      following: The people who follow the maker.
      wholesale: The wholesale price as a share of the list price.
    """

    hour: Decimal | None = None
    setup_minutes: Decimal | None = None
    lead_weeks: Decimal | None = None
    service: Decimal | None = None
    keeping: Decimal | None = None
    following: Decimal | None = None
    wholesale: Decimal | None = None


READERS: Mapping[str, Callable[[str], Decimal]] = {
    "hour": amount_of,
    "setup-minutes": amount_of,
    "lead-weeks": amount_of,
    "service": share_of,
    "keeping": share_of,
    "following": amount_of,
    "wholesale": share_of,
}


class PlanSettingsError(ValueError):
    """Settings that cannot be read; its text is one line for each mistake."""


def plan_settings(ledger: Path) -> PlanSettings:
    """Return what the settings beside a ledger say for plans.

    Args:
      ledger: The path of the main ledger file.

    Raises:
      PlanSettingsError: They have mistakes.
    """
    try:
        table = settings_table(ledger).get("plan", {})
    except ImportRefused as refused:
        # What is wrong is the same; nothing was to be imported here.
        lines = [f"{each.file}: {each.message}" for each in refused.found]
        raise PlanSettingsError("\n".join(lines)) from None
    if not isinstance(table, dict):
        raise PlanSettingsError(f"{FILE}: expected a table, begun with [plan]")
    read: dict[str, Decimal] = {}
    mistakes = []
    for key, value in table.items():
        if key not in READERS:
            mistakes.append(f"unknown key {quoted(key)} ({nearest(key, READERS)})")
            continue
        try:
            read[key.replace("-", "_")] = READERS[key](_text(value))
        except ValueError as error:
            mistakes.append(f"{key}: {error}")
    if mistakes:
        raise PlanSettingsError(
            "\n".join(f"{FILE}: [plan] {each}; correct the settings" for each in mistakes)
        )
    return PlanSettings(**read)


def _text(value: Any) -> str:
    """Return a value as it was written, numbers too."""
    if isinstance(value, str):
        return value
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        return f"{value:f}" if isinstance(value, Decimal) else str(value)
    return str(value)

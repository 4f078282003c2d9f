"""Find the rules of the year that a day is in, and the days on which its tax is paid."""

from __future__ import annotations

import datetime
from pathlib import Path

from offcut.reports.tax.due_dates import moved
from offcut.reports.tax.payments import Window
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.rules_files import find_rules, known_rules


def rules_on(jurisdiction: str, day: datetime.date, beside: Path) -> Rules:
    """Return the rules of the year that a day is in.

    Args:
      jurisdiction: Whose rules.
      day: The day.
      beside: The ledger's folder.

    Raises:
      RulesError: There are none; says what there is.
    """
    for key, year in known_rules(beside):
        if key == jurisdiction:
            rules = find_rules(key, year, beside)
            if rules.first <= day <= rules.last:
                return rules
    # Which says what there is.
    return find_rules(jurisdiction, f"{day.year:04}", beside)


def rules_before(rules: Rules, beside: Path) -> Rules | None:
    """Return the rules of the year before; None where there are none.

    Args:
      rules: The rules of a year.
      beside: The ledger's folder.
    """
    eve = rules.first - datetime.timedelta(days=1)
    for key, year in known_rules(beside):
        if key == rules.jurisdiction:
            before = find_rules(key, year, beside)
            if before.last == eve:
                return before
    return None


def payment_window(rules: Rules, before: Rules | None) -> Window:
    """Return the days on which a payment is for a year where it names none.

    Args:
      rules: The rules of the year.
      before: Those of the year before; None where there are none.
    """
    until = _last_due(rules)
    if before is not None:
        return Window(rules.year, _last_due(before), until)
    due = max((each.due for each in rules.instalments), default=rules.last)
    # Due days are never on 29 February.
    return Window(rules.year, moved(due.replace(year=due.year - 1), rules.holidays), until)


def _last_due(rules: Rules) -> datetime.date:
    """Return the day on which the last payment of a year is due."""
    due = [moved(each.due, rules.holidays) for each in rules.instalments]
    return max(due, default=rules.last)

"""United States taxes of self-employment: Schedule SE, and Form 8959."""

from __future__ import annotations

from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.reports.tax.household import Household
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.us_household import wages
from offcut.reports.tax.working import Working

# What the rules of a year must have.
FIGURES = (
    "net-earnings-factor",
    "self-employment-floor",
    "social-security-rate",
    "social-security-base",
    "medicare-rate",
    "additional-medicare-rate",
    "additional-medicare-threshold",
)


def self_employment_tax(
    working: Working, rules: Rules, household: Household, profit: Decimal
) -> None:
    """Add Schedule SE to a working: its lines 4a to 13.

    Args:
      working: The working.
      rules: The rules of the year.
      household: Who is taxed.
      profit: The net profit of the business; below zero for a loss.
    """
    figure = rules.figures_of(household.status)
    earnings = working.line(
        "net-earnings",
        "Net earnings from self-employment",
        max(profit, ZERO) * figure("net-earnings-factor"),
        "Schedule SE, line 4a",
    )
    if earnings < figure("self-employment-floor"):
        earnings = ZERO
        if profit > ZERO:
            working.notes.append(
                f"Net earnings are below {figure('self-employment-floor')}: there is no "
                "self-employment tax."
            )
    room = working.line(
        "social-security-room",
        "Social security base left after wages",
        max(figure("social-security-base") - household.fact("wages"), ZERO),
        "Schedule SE, line 9",
    )
    social = working.line(
        "social-security-tax",
        "Social security part",
        min(earnings, room) * figure("social-security-rate"),
        "Schedule SE, line 10",
    )
    medicare = working.line(
        "medicare-tax",
        "Medicare part",
        earnings * figure("medicare-rate"),
        "Schedule SE, line 11",
    )
    tax = working.line(
        "self-employment-tax",
        "Self-employment tax",
        social + medicare,
        "Schedule SE, line 12",
    )
    working.line(
        "half-self-employment-tax", "Half of it, deducted", tax / 2, "Schedule SE, line 13"
    )


def additional_medicare_tax(working: Working, rules: Rules, household: Household) -> None:
    """Add Form 8959, parts I and II, to a working that has Schedule SE.

    Args:
      working: The working.
      rules: The rules of the year.
      household: Who is taxed.
    """
    figure = rules.figures_of(household.status)
    threshold = figure("additional-medicare-threshold")
    floor = figure("self-employment-floor")
    earnings = working["net-earnings"]
    over_wages = max(wages(household) - threshold, ZERO)
    room = max(threshold - wages(household), ZERO)
    over_earnings = max(earnings - room, ZERO) if earnings >= floor else ZERO
    working.line(
        "additional-medicare-tax",
        "Additional Medicare tax",
        (over_wages + over_earnings) * figure("additional-medicare-rate"),
        "Form 8959, line 18",
    )

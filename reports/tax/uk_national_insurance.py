"""United Kingdom National Insurance of a sole trader: class 4, and class 2 by choice."""

from __future__ import annotations

from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.reports.tax.household import Household
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.working import Working

# What the rules of a year must have.
FIGURES = (
    "class-4-lower-limit",
    "class-4-upper-limit",
    "class-4-main-rate",
    "class-4-additional-rate",
    "class-2-small-profits",
    "class-2-week",
)


def class_4(
    working: Working, rules: Rules, household: Household, trade: Decimal
) -> Decimal:
    """Add class 4 National Insurance, and return it.

    Who pays class 1 as well pays both up to a yearly maximum only: Social Security
    (Contributions) Regulations 2001, regulation 100, whose steps these are.

    Args:
      working: The working.
      rules: The rules of the year.
      household: Who is taxed.
      trade: The profit that is taxed.
    """
    figure = rules.figures_of(household.status)
    lower, upper = figure("class-4-lower-limit"), figure("class-4-upper-limit")
    main, more = figure("class-4-main-rate"), figure("class-4-additional-rate")
    band = max(min(trade, upper) - lower, ZERO)
    above = max(trade - upper, ZERO)
    due = band * main + above * more
    class_1 = household.fact("class-1-main")
    if household.fact("over-pension-age"):
        due = ZERO
        working.notes.append("Over State Pension age there is no class 4.")
    elif class_1 and due:
        room = (upper - lower) * main - class_1  # step 4
        most = room
        if room <= class_1 + band * main:
            room = max(room, ZERO)
            beyond = max(band - room / main, ZERO)  # steps 5 to 7
            most = room + beyond * more + above * more
        if most < due:
            working.notes.append(
                "Class 4 is less, as class 1 and class 4 together have a yearly maximum."
            )
        due = min(due, most)
    elif household.fact("wages") and due and "class-1-main" not in household.facts:
        working.notes.append(
            "class-1-main is not set: class 4 may be less, as class 1 and class 4 "
            "together have a yearly maximum."
        )
    return working.line("class-4", "Plus class 4 National Insurance", due, "SA302")


def class_2(
    working: Working, rules: Rules, household: Household, trade: Decimal
) -> Decimal:
    """Add class 2 National Insurance where it is paid by choice, and return it.

    Args:
      working: The working.
      rules: The rules of the year.
      household: Who is taxed.
      trade: The profit that is taxed.
    """
    figure = rules.figures_of(household.status)
    threshold, week = figure("class-2-small-profits"), figure("class-2-week")
    weeks = household.fact("voluntary-class-2")
    if household.fact("over-pension-age"):
        return ZERO
    if trade >= threshold:
        working.notes.append(
            f"Profit is {threshold:,f} or more: class 2 counts as paid, nothing is due."
        )
        return ZERO
    if not weeks:
        working.notes.append(
            f"Profit is below {threshold:,f}: class 2 does not count as paid. For the "
            f"State Pension you may pay it by choice, {week:f} a week: voluntary-class-2."
        )
        return ZERO
    label = f"Plus class 2 by choice, weeks: {weeks:f}"
    return working.line("class-2", label, weeks * week, "SA302")

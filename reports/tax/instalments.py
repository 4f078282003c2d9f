"""The payments in the course of a year, and how each stands: required, paid, short by."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, NamedTuple

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.figures import rounded
from offcut.reports.tax.payments import Payment, paid
from offcut.reports.tax.working import Working

State = Literal["nothing due", "paid", "paid late", "overdue", "next", "later"]


@dataclass(frozen=True)
class Part:
    """What is to be paid by a day, before what was paid and withheld.

    Attributes:
      label: What it is called.
      period_ends: The last day whose income counts for it.
      due: The day, moved off weekends and holidays.
      required: What it is.
      annualised: The working on the annualised profit; None of the regular method.
    """

    label: str
    period_ends: datetime.date | None
    due: datetime.date
    required: Decimal
    annualised: Working | None = None


class Instalments(NamedTuple):
    """What is paid in the course of a year.

    Attributes:
      working: How much, line by line.
      parts: The payments that it is made in, the earliest first; none where none is due.
      withheld: What of it is withheld over the year, and counts in equal parts.
    """

    working: Working
    parts: list[Part]
    withheld: Decimal


class Stand(NamedTuple):
    """How a payment stands.

    Attributes:
      part: The payment.
      required: What is to be paid from the year's first payment to this one, in whole
        minor units, after what is withheld by then.
      paid: What was paid by its due day.
      open: What is still to be paid of `required`.
      state: How it stands.
    """

    part: Part
    required: Decimal
    paid: Decimal
    open: Decimal
    state: State

    @property
    def short_by(self) -> Decimal:
        """What was missing on its due day; what is missing now, where that is to come."""
        return max(EXACT.subtract(self.required, self.paid), ZERO)


def stands(
    parts: Sequence[Part],
    withheld: Decimal,
    payments: Sequence[Payment],
    currency: str,
    today: datetime.date,
) -> list[Stand]:
    """Return how each payment of a year stands.

    What is withheld counts in equal parts on each due day, whenever it was withheld.

    Args:
      parts: The payments, the earliest first.
      withheld: What is withheld over the year and counts towards them.
      payments: What was paid for the year up to today.
      currency: The currency of all.
      today: The day.
    """
    found: list[Stand] = []
    required = most = ZERO
    upcoming = False
    whole = paid(payments, today)
    with decimal.localcontext(EXACT):
        for number, part in enumerate(parts, 1):
            required += part.required
            by_now = required - withheld * number / len(parts)
            # What was required once does not get less as more is withheld.
            most = max(most, rounded(by_now, currency))
            by_due = paid(payments, part.due)
            missing = max(most - whole, ZERO)
            state: State
            if not most:
                state = "nothing due"
            elif part.due < today and by_due < most:
                state = "overdue" if missing else "paid late"
            elif part.due < today or not missing:
                state = "paid"
            else:
                state = "later" if upcoming else "next"
                upcoming = True
            found.append(Stand(part, most, by_due, missing, state))
    return found

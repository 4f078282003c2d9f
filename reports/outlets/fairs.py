"""Say what each fair sold, what it cost to be there, and where it broke even.

A fair counts whole: its table is paid weeks before, and its card payments arrive days
after.
"""

from __future__ import annotations

import datetime
import decimal
from dataclasses import dataclass
from decimal import Decimal

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.period import Period
from offcut.reports.plan.break_even import FairBreakEven, fair_break_even


@dataclass(frozen=True)
class Fair:
    """A fair.

    Attributes:
      event: Its tag, without `event-`.
      first: The first day of sales; where nothing was sold, of its costs.
      last: The last day of sales, or of costs.
      pieces: Pieces sold, less those that came back.
      sales: After discounts and refunds.
      result: What it earned after all costs.
      break_even: Its sales held against what it cost; None where nothing was sold.
    """

    event: str
    first: datetime.date
    last: datetime.date
    pieces: Decimal
    sales: Decimal
    result: Decimal
    break_even: FairBreakEven | None

    @property
    def fixed(self) -> Decimal:
        """What it cost whatever was sold: the table, the way there."""
        return self.break_even.fixed_total if self.break_even else -self.result


def fairs(
    table: pd.DataFrame, period: Period, currency: str, expenses: str = "Expenses"
) -> list[Fair]:
    """Return the fairs of a period, the latest first.

    Args:
      table: An order table of all dates.
      period: A fair is in it when any day of its sales is; without sales, of its costs.
      currency: The currency to take.
      expenses: The name of the ledger's expenses.
    """
    mine = table[(table["event"] != "") & (table["currency"] == currency)]
    found = []
    with decimal.localcontext(EXACT):
        for event, rows in mine.groupby("event", sort=True):
            sold = rows[rows["quantity"].map(bool)]
            days = (rows if sold.empty else sold)["date"]
            if not any(day in period for day in days):
                continue
            sales = sum(rows["sales"], ZERO)
            found.append(
                Fair(
                    event=str(event),
                    first=days.min(),
                    last=days.max(),
                    pieces=sum(rows["quantity"], ZERO),
                    sales=sales,
                    result=sum(rows["contribution"], ZERO),
                    break_even=fair_break_even(rows, str(event), currency, expenses)
                    if sales > ZERO
                    else None,
                )
            )
    return sorted(found, key=lambda fair: (fair.first, fair.event), reverse=True)

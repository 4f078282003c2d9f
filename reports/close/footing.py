"""Whether the month's rows add up to the ledger's own income and expense accounts.

All profit reports group these rows. The inventory roll says the same of itself.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.close.month import Month
from offcut.reports.close.points import TO_DO, ClosePoint, Found, Looked
from offcut.reports.close.settling import command
from offcut.reports.figures import money
from offcut.reports.net_income import Tie
from offcut.reports.period import Period


def check_footing(books: Books, month: Month, ledger: str) -> Found:
    """Return the currencies whose rows do not add up.

    Args:
      books: The loaded ledger.
      month: The month.
      ledger: The main ledger as a command names it.
    """
    period = Period(month.first, month.last)
    points, texts = [], []
    incomes = books.net_income(period)
    days = books.table["date"]
    table = books.table[(days >= month.first) & (days <= month.last)]
    for currency in sorted({*incomes, *table["currency"]}):
        rows = table["contribution"][table["currency"] == currency]
        tie = Tie(_sum(rows), incomes.get(currency, ZERO), currency)
        if tie.holds:
            texts.append(f"net income {money(tie.ledger, currency)} {currency}")
            continue
        points.append(
            ClosePoint(
                TO_DO,
                "The profit does not add up",
                tie.sentence,
                tie.difference,
                currency,
                month.last,
                settle=command("profit", ledger, "--month", month.name),
            )
        )
    text = f"{', '.join(texts)}." if texts else "There is nothing to add up."
    in_order = (Looked("Profit adds up", text),) if texts or not points else ()
    return Found(tuple(points), in_order)


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    with decimal.localcontext(EXACT):
        return sum(amounts, ZERO)

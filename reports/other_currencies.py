"""Say what a report leaves out because it is in another currency."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from offcut.reports.figures import money, plain
from offcut.reports.statement import Note


def other_currencies(incomes: Mapping[str, Decimal], currency: str) -> Iterator[Note]:
    """Yield what the ledger has in other currencies than a report's.

    Args:
      incomes: Its net income over the same days, by currency.
      currency: The report's.
    """
    for other, amount in sorted(incomes.items()):
        if other != currency:
            code = plain(other)
            yield Note(
                f"Besides, the ledger has {money(amount, other)} {code} of net income on "
                f"these days, which is not in these figures; --currency {code} reports on "
                "it."
            )

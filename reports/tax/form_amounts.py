"""Fill in a year-end form: its sums from its lines."""

from __future__ import annotations

import decimal
from collections.abc import Mapping
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.tax.rules import FormLine


def form_amounts(
    form: tuple[FormLine, ...], given: Mapping[str, Decimal]
) -> dict[str, Decimal]:
    """Return what stands on each line of a form, by key, its sums among them.

    Args:
      form: The form, whose rules were checked: no sum is a part of itself.
      given: What stands on the lines that are no sums; nothing where a key is missing.
    """
    sums = {line.key: line for line in form if line.adds or line.takes}
    done: dict[str, Decimal] = {}

    def amount(key: str) -> Decimal:
        if key not in done:
            line = sums.get(key)
            if line is None:
                done[key] = given.get(key, ZERO)
            else:
                done[key] = sum(map(amount, line.adds), ZERO) - sum(
                    map(amount, line.takes), ZERO
                )
        return done[key]

    with decimal.localcontext(EXACT):
        return {line.key: amount(line.key) for line in form if line.key}

"""Draw figures that follow each other in time as one line of characters.

    ▂▃▄█▆_▃-▁

Each to the nearest eighth of the greatest; a low line is nothing, and a minus sign a
loss, so that no colour is needed. The figures themselves stand in the table.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from offcut.importers.splitting import ZERO

EIGHTHS = "▁▂▃▄▅▆▇█"
NOTHING, LOSS, UNKNOWN = "_", "-", " "


def block_bars(values: Iterable[Decimal | None]) -> str:
    """Return a character for each figure.

    Args:
      values: The figures, the earliest first; None where there is none.
    """
    several = list(values)
    most = max((value for value in several if value is not None), default=ZERO)
    return "".join(_block(value, most) for value in several)


def _block(value: Decimal | None, most: Decimal) -> str:
    if value is None:
        return UNKNOWN
    if value < ZERO:
        return LOSS
    if not value:
        return NOTHING
    eighths = int((value * len(EIGHTHS) / most).to_integral_value())
    # Less than an eighth is something all the same.
    return EIGHTHS[max(eighths, 1) - 1]

"""Tell what each transaction behind the lines of a table makes of them."""

from __future__ import annotations

import decimal
from collections.abc import Callable, Hashable, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT
from offcut.reports.sources import ALL_ORDERS, Behind, Transaction, more_text, rest_of
from offcut.reports.statement import Source
from offcut.reports.statement_cells import Cell, Column

Cells = Callable[[Transaction, Sequence[Decimal]], Sequence[Cell]]


class Amounts(NamedTuple):
    """What is behind the lines of a table, and what of each line it makes.

    Attributes:
      behind: The transactions.
      by_figure: What each makes of a figure, by the figure's key and its position: the
        sum of each of some columns of the order table.
    """

    behind: Behind
    by_figure: Mapping[tuple[Hashable, int], Sequence[Decimal]]

    def sources(
        self, key: Hashable, line: Sequence[Cell], cells: Cells, see: str = ALL_ORDERS
    ) -> tuple[Source, ...]:
        """Return the sources of a line: the latest, and one of all the others.

        Args:
          key: The key of its figure.
          line: Its cells.
          cells: What gives the cells of a source that follow its name.
          see: How to see what is not told one by one.
        """
        found = self.behind
        shown = []
        for at in found.figures.get(key, ()):
            transaction, amounts = found.transactions[at], self.by_figure[key, at]
            told = (transaction.name, *cells(transaction, amounts))
            shown.append(Source(told, transaction.place))
        if more := found.left_out.get(key, 0):
            shown.append(rest_of(line, shown, [more_text(more)], see, more))
        return tuple(shown)


def amounts_behind(found: Behind, columns: Sequence[str]) -> Amounts:
    """Add up what each transaction behind a figure makes of it.

    Args:
      found: The transactions.
      columns: The columns of the order table to add up.
    """
    sums: dict[tuple[Hashable, int], list[Decimal]] = {}
    rows = found.rows
    with decimal.localcontext(EXACT):
        for figure, at, *amounts in zip(
            *(rows[name].tolist() for name in ("figure", "at", *columns)), strict=True
        ):
            before = sums.get((figure, at))
            sums[figure, at] = (
                [one + other for one, other in zip(before, amounts, strict=True)]
                if before
                else amounts
            )
    return Amounts(found, sums)


def in_sums(columns: Sequence[Column], amounts: Sequence[Cell]) -> tuple[Cell, ...]:
    """Return amounts as the cells of a source: in the columns that add up.

    Args:
      columns: The columns of the table after the one that names the lines.
      amounts: What the transaction makes of each column that adds up, in their order.
    """
    rest = iter(amounts)
    return tuple(next(rest) if column.adds_up else None for column in columns)

"""Tell by arithmetic which column is the gross, the fee, the net and the balance."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import combinations
from typing import NamedTuple

from offcut.importers.proposal.evidence import Column, numbers
from offcut.importers.proposal.trade_words import heading_score

Figures = dict[int, list[Decimal | None]]
"""The numbers of columns, by the column's place."""

ZERO = Decimal(0)
_WHOLLY = 3


class Relation(NamedTuple):
    """gross - fee = net, in every row.

    Attributes:
      gross: The column of the gross.
      net: The column of the net.
      fees: The columns that add up to the fee.
      sign: 1 where they write a charge as a positive number, else -1.
      remitted: The column of tax that is kept back too, if there is one.
      certain: Whether the headings, or the figures, say which is which.
    """

    gross: Column
    net: Column
    fees: tuple[Column, ...]
    sign: int
    remitted: Column | None
    certain: bool


def figures_of(columns: Iterable[Column], locale: str) -> Figures:
    """Return the numbers of the columns that the locale can read."""
    return {
        column.at: numbers(column, locale) for column in columns if locale in column.locales
    }


def find_relation(columns: Sequence[Column], figures: Figures) -> Relation | None:
    """Return the relation of gross, fee and net that holds in every row, if one does.

    Args:
      columns: The columns of money that it may be of.
      figures: Their numbers.
    """
    whole = [column for column in columns if column.full]
    best: tuple[float, Relation] | None = None
    for first, second in combinations(whole, 2):
        others = [each for each in columns if each not in (first, second)]
        for parts in _parts(others):
            taken = _sums(parts, figures)
            if not any(taken):
                continue
            for gross, net in ((first, second), (second, first)):
                for sign in (1, -1):
                    if _holds(figures[gross.at], taken, figures[net.at], sign):
                        found = _weighed(gross, net, parts, sign, taken, figures)
                        if not best or found[0] > best[0]:
                            best = found
    return best[1] if best else None


def _parts(columns: Sequence[Column]) -> Iterable[tuple[Column, ...]]:
    """Yield what may stand between gross and net: one column, or several named so."""
    for column in columns:
        yield (column,)
    named = [
        column
        for column in columns
        if heading_score(column.words, "fee") or heading_score(column.words, "tax-remitted")
    ]
    for size in (2, 3):
        yield from combinations(named, size)


def _sums(columns: Iterable[Column], figures: Figures) -> list[Decimal]:
    rows = zip(*(figures[column.at] for column in columns), strict=True)
    return [sum((each or ZERO for each in row), ZERO) for row in rows]


def _holds(
    gross: Sequence[Decimal | None],
    taken: Sequence[Decimal],
    net: Sequence[Decimal | None],
    sign: int,
) -> bool:
    return all(
        (g or ZERO) - sign * t == (n or ZERO)
        for g, t, n in zip(gross, taken, net, strict=True)
    )


def _weighed(
    gross: Column,
    net: Column,
    parts: tuple[Column, ...],
    sign: int,
    taken: Sequence[Decimal],
    figures: Figures,
) -> tuple[float, Relation]:
    """Return a relation, and how much speaks for it.

    The same three columns relate in four ways. A fee is less than what it is taken of,
    and a charge leaves less of what comes in.
    """
    fees = tuple(each for each in parts if not heading_score(each.words, "tax-remitted"))
    remitted = [each for each in parts if heading_score(each.words, "tax-remitted")]
    worth = float(heading_score(gross.words, "gross") + heading_score(net.words, "net"))
    worth += sum(heading_score(each.words, "fee") for each in fees) / max(1, len(fees))
    named = worth
    incoming = [
        (g or ZERO, n or ZERO)
        for g, n, t in zip(figures[gross.at], figures[net.at], taken, strict=True)
        if t and (g or ZERO) > 0 and (n or ZERO) > 0
    ]
    lower = sum(n < g for g, n in incoming) * 2 - len(incoming)
    size = sum(map(abs, taken))
    smaller = size < sum((abs(g or ZERO) for g in figures[gross.at]), ZERO)
    worth += (2 if lower > 0 else -2 if lower < 0 else 0) + (1 if smaller else -1)
    certain = (
        bool(fees)
        and len(remitted) <= 1
        and (not remitted or sign == 1)
        and smaller
        and (lower > 0 or named >= 2 * _WHOLLY)
        and lower >= 0
        and all(heading_score(each.words, "fee") for each in fees)
    )
    return worth, Relation(
        gross, net, fees or parts, sign, remitted[0] if remitted and fees else None, certain
    )


def running_balance(
    balance: Sequence[Decimal | None],
    amounts: Sequence[Decimal | None],
    currencies: Sequence[str],
) -> bool:
    """Return whether a column is the balance after each row, read down or up.

    Args:
      balance: The numbers of the column.
      amounts: What each row adds.
      currencies: The currency of each row: each has a balance of its own.
    """
    rows = list(zip(balance, amounts, currencies, strict=True))
    return any(_runs(each) for each in (rows, rows[::-1]))


def sizes_follow(
    balance: Sequence[Decimal | None],
    amounts: Sequence[Decimal | None],
    currencies: Sequence[str],
) -> bool:
    """Return whether a balance changes in each row by the amount, whatever its sign.

    Args:
      balance: The numbers of the column.
      amounts: The amount of each row.
      currencies: The currency of each row.
    """
    if any(each is None for each in balance) or not any(amounts):
        return False
    sizes = [abs(each or ZERO) for each in amounts]
    rows = list(zip(balance, sizes, currencies, strict=True))
    return any(_runs(each, sized=True) for each in (rows, rows[::-1]))


def _runs(
    rows: Sequence[tuple[Decimal | None, Decimal | None, str]], sized: bool = False
) -> bool:
    """Return whether each balance is the one before it and the amounts since.

    Args:
      rows: The balance, the amount and the currency of each row.
      sized: Whether amounts are sizes, which come to the balance with either sign.
    """
    last: dict[str, Decimal] = {}
    moved: dict[str, Decimal] = {}
    compared = 0
    for now, amount, currency in rows:
        moved[currency] = moved.get(currency, ZERO) + (amount or ZERO)
        if now is None:  # the next balance answers for this row too
            continue
        if currency in last:
            compared += 1
            step = now - last[currency]
            if (abs(step) if sized else step) != moved[currency]:
                return False
        last[currency], moved[currency] = now, ZERO
    return compared > 0


def are_pair(credit: Sequence[Decimal | None], debit: Sequence[Decimal | None]) -> bool:
    """Return whether exactly one of two columns has an amount in each row."""
    return all(bool(c) != bool(d) for c, d in zip(credit, debit, strict=True)) and (
        any(credit) and any(debit)
    )

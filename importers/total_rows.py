"""Check a file's own row of totals against the rows that it is of."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from decimal import Decimal

from offcut.importers.columns import read_money
from offcut.importers.layout import RowRule
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.rows import fitting
from offcut.importers.source_file import SourceFile
from offcut.importers.values import ZERO, currency_reader

ADDED_UP = (
    "gross",
    "credit",
    "debit",
    "fee",
    "net",
    "tip",
    "tax",
    "shipping",
    "tax-remitted",
)


def check_totals(whole: SourceFile, rows: SourceFile, rule: RowRule) -> tuple[str, ...]:
    """Return what was checked, a sentence each.

    A row of totals without a currency is of all rows: of rows in several it says nothing.

    Args:
      whole: The file, with its rows of totals.
      rows: The file without them, and without what is left out.
      rule: The rule that tells a row of totals.

    Raises:
      ImportRefused: A total is another than the rows come to.
    """
    is_total = fitting(whole, rule, "totals")
    totals = whole.without([at for at, is_one in enumerate(is_total) if not is_one])
    known = set(rows.layout.currencies)
    currencies = _currencies(rows)
    checks: list[str] = []
    problems: list[Problem] = []
    for at, said in enumerate(_currencies(totals)):
        of_row = currencies if said not in known else [said]
        if len(set(of_row)) != 1:
            continue
        currency = of_row[0]
        kept = [each for each, its in enumerate(currencies) if its != currency]
        one = totals.without([each for each in range(len(totals.numbers)) if each != at])
        compared = list(_compare(one, rows.without(kept), currency, problems))
        if compared:
            checks.append(f"row {one.numbers[0]} of totals agrees: {', '.join(compared)}")
    if problems:
        raise ImportRefused(problems)
    return tuple(checks)


def _currencies(source: SourceFile) -> Sequence[str]:
    """Return the currency of each row, the empty text where a row of totals has none."""
    layout = source.layout
    if "currency" not in layout.columns:
        return [layout.currencies[0]] * len(source.numbers)
    read = currency_reader(layout.currencies)
    found = []
    for cell in source.cells("currency"):
        try:
            found.append(read(cell.strip()))
        except ValueError:
            found.append("")  # where a row has none that is known, reading it says so
    return found


def _compare(
    total: SourceFile, rows: SourceFile, currency: str, problems: list[Problem]
) -> Iterator[str]:
    """Yield the headers whose total agrees, and note the others as problems."""
    layout = rows.layout
    for key in ADDED_UP:
        for header in layout.columns.get(key, ()):
            if not total.columns[header][0].strip():
                continue
            before = len(problems)
            expected = _sum(rows, key, header, currency, problems)
            found = _sum(total, key, header, currency, problems)
            if len(problems) > before:
                continue
            if expected == found:
                yield header
                continue
            message = (
                f"expected {expected} {currency}, which is what the rows come to, found "
                f"{found}; a row is missing or wrong, export the file again"
            )
            problems.append(Problem(total.name, total.numbers[0], header, message))


def _sum(
    source: SourceFile, key: str, header: str, currency: str, problems: list[Problem]
) -> Decimal:
    """Return what one column comes to, as the file writes its signs."""
    columns = {**source.layout.columns, key: (header,)}
    layout = dataclasses.replace(source.layout, columns=columns)
    currencies = [currency] * len(source.numbers)
    return sum(read_money(source._replace(layout=layout), key, currencies, problems), ZERO)

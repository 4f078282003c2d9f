"""Tell rows that have no id of their own from each other, by what was read of them.

The id of such a row is a digest of its values: of the day, the currency, the texts and
the amounts, and for the second of two equal rows of its count, so that overlapping files
agree on it. How a number or a day is spelled does not matter. The letters after the
digest, as in `9f86d081884c7d65-gox`, say which columns are in it: a layout may come to
name more columns, and rows that were imported before are known by those of that time.

Ids without letters are of the cells as they were spelled, in all columns of the layout,
as versions before this one wrote them. Rows that are in a ledger by these are known as
long as neither the spelling nor the layout's columns have changed; nothing can tell them
from new rows where they have. Nor can a row be known whose values were read otherwise
then, as by a layout that had the wrong form of dates, or made its text of other columns.
"""

from __future__ import annotations

import datetime
import hashlib
import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.columns import read_money
from offcut.importers.known_ids import telling_ids
from offcut.importers.payment_amounts import PARTS, Amounts
from offcut.importers.postings import source_id
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Payment, row_id
from offcut.importers.source_file import SourceFile
from offcut.importers.values import ZERO, one_line

# The letters of the columns. Ids in ledgers have them: they cannot be changed.
_LETTERS = {
    "type": "y",
    "order": "o",
    "text": "x",
    "payee": "p",
    "reference": "r",
    "gross": "g",
    "net": "n",
    "fee": "f",
    "tax": "t",
    "tip": "i",
    "shipping": "s",
    "tax-remitted": "k",
    "balance": "b",
}


class UnnamedRows(NamedTuple):
    """The rows of a file of which some have no id.

    Attributes:
      source: The file, without the rows that are left out.
      given: The id of each row; empty where it has none.
      always: What is in every digest of a row: the day, the currency.
      values: What is in it of each column that the layout has, by the column's letter.
    """

    source: SourceFile
    given: Sequence[str]
    always: tuple[Sequence[str], ...]
    values: Mapping[str, Sequence[str]]

    @property
    def letters(self) -> str:
        """The letters of all columns."""
        return "".join(sorted(self.values))

    def ids(self, letters: str) -> list[str]:
        """Return the id of each row by the columns of some letters."""
        columns = [*self.always, *(self.values[letter] for letter in letters)]
        occurrences: Counter[tuple[str, ...]] = Counter()
        found = []
        for name, *cells in zip(self.given, *columns, strict=True):
            if not name:
                row = tuple(cells)
                text = "\x1f".join([letters, *row, str(occurrences[row])])
                occurrences[row] += 1
                name = f"{hashlib.sha256(text.encode()).hexdigest()[:16]}-{letters}"
            found.append(name)
        return found

    def ids_by_cells(self) -> list[str]:
        """Return the id of each row as versions before this one made it."""
        columns = [self.source.cells(key) for key in sorted(self.source.layout.columns)]
        occurrences: Counter[tuple[str, ...]] = Counter()
        found = []
        for name, *row in zip(self.given, *columns, strict=True):
            cells = tuple(map(one_line, row))
            found.append(name or row_id(cells, occurrences[cells]))
            occurrences[cells] += 1
        return found


def unnamed_rows(
    source: SourceFile,
    dates: Sequence[datetime.date],
    currencies: Sequence[str],
    amounts: Amounts,
    texts: Mapping[str, Sequence[str]],
) -> UnnamedRows | None:
    """Return what tells the rows of a file apart; None where each has an id of its own.

    Args:
      source: The file.
      dates: The day of each row.
      currencies: Its currency.
      amounts: Its amounts.
      texts: Its other values, by the layout's name for the column.

    Raises:
      ImportRefused: A balance is none.
    """
    columns = source.layout.columns
    given = [""] * len(source.numbers)
    if "id" in columns:
        given = list(map(one_line, source.cells("id")))
        if all(given):
            return None
    values = {_LETTERS[key]: texts[key] for key in texts if key in _LETTERS}
    if "type" in columns:  # the file's own word: what it means may be corrected
        words = [one_line(cell).casefold() for cell in source.cells("type")]
        values[_LETTERS["type"]] = words
    for key, numbers in _numbers(source, currencies, amounts):
        spelled = {each: f"{each.normalize() if each else ZERO:f}" for each in set(numbers)}
        values[_LETTERS[key]] = [spelled[number] for number in numbers]
    days = {day: day.isoformat() for day in set(dates)}
    return UnnamedRows(source, given, ([days[day] for day in dates], currencies), values)


def with_known_ids(
    payments: list[Payment], rows: UnnamedRows | None, known: Collection[str]
) -> list[Payment]:
    """Return payments, those that a ledger has under another id with that one.

    Args:
      payments: The payments of a file.
      rows: The file's rows; None where all have ids of their own.
      known: The source-ids that the ledger has.
    """
    if rows is None:
        return payments
    positions = {number: at for at, number in enumerate(rows.source.numbers)}
    strange = {
        at: positions[payment.row]
        for at, payment in enumerate(payments)
        if not rows.given[positions[payment.row]] and source_id(payment) not in known
    }
    if not strange:
        return payments
    result = list(payments)
    for ids in _other_ids(rows, known):
        for at, position in list(strange.items()):
            payment = payments[at]._replace(id=ids[position])
            if source_id(payment) in known:
                result[at] = payment
                del strange[at]
    return result


def _numbers(
    source: SourceFile, currencies: Sequence[str], amounts: Amounts
) -> Iterator[tuple[str, Sequence[Decimal]]]:
    """Yield the amounts that were read from columns, by the names of these.

    Charges are as the file writes them: the sign that they mean may be corrected.

    Raises:
      ImportRefused: A balance is none.
    """
    layout = source.layout
    columns = layout.columns
    if "gross" in columns or "credit" in columns:
        yield "gross", amounts.gross
    if "net" in columns:
        yield "net", amounts.net
    if "fee" in columns:
        yield "fee", [layout.fee_sign * fee for fee in amounts.fee]
    if "tax-remitted" in columns:
        yield "tax-remitted", [layout.remitted_sign * tax for tax in amounts.remitted]
    for key in PARTS:
        if key in columns:
            yield key, amounts.parts[key]
    if "balance" in columns:
        problems: list[Problem] = []
        balances = read_money(source, "balance", currencies, problems)
        if problems:
            raise ImportRefused(problems)
        yield "balance", balances


def _other_ids(rows: UnnamedRows, known: Collection[str]) -> Iterator[list[str]]:
    """Yield the ids of a file's rows by the columns of other ids that a ledger has.

    The more columns, the surer: those come first.
    """
    start = f"{rows.source.layout.source}/"
    form = re.compile(r"[0-9a-f]{16}(?:-([a-z]*))?")
    forms: set[str | None] = set()
    for name in telling_ids(known):
        if name.startswith(start) and (match := form.fullmatch(name, len(start))):
            forms.add(match[1])
    ours = set(rows.values)
    fewer = [letters for letters in forms if letters is not None and ours > {*letters}]
    for letters in sorted(fewer, key=lambda letters: (-len(letters), letters)):
        yield rows.ids(letters)
    if None in forms:
        yield rows.ids_by_cells()

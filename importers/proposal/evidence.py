"""Say what the cells of a column allow: dates of which form, numbers by which locale."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from offcut.importers.money import Split, currencies_named, split_amount
from offcut.importers.proposal.date_forms import LONGEST, date_forms
from offcut.importers.proposal.form import Sample
from offcut.importers.proposal.plain_words import plain_words
from offcut.importers.values import date_reader, number_reader

# One locale for each way to write a number, the more usual ones first (CLDR).
LOCALES = ("en_US", "de_DE", "fr_FR", "de_CH", "en_IN", "sv_SE", "xh_ZA")


class Column(NamedTuple):
    """A column, and what its cells may be.

    Attributes:
      at: Its place in the row, from 0.
      header: Its heading.
      words: The heading in plain words, without the currency that it may name.
      cells: Its cells, blanks around them dropped.
      filled: How many of them are not blank.
      values: The different cells that are not blank.
      dates: The forms in which all of them are dates.
      date_locales: The locales that the names in the dates may be of; none where they
        have none, or English ones.
      locales: The locales by which all of them are numbers.
      named: What stands beside the numbers: symbols and codes of currencies.
    """

    at: int
    header: str
    words: str
    cells: tuple[str, ...]
    filled: int
    values: tuple[str, ...]
    dates: tuple[str, ...]
    date_locales: tuple[str, ...]
    locales: tuple[str, ...]
    named: frozenset[str]

    @property
    def full(self) -> bool:
        """Whether no cell is blank."""
        return self.filled == len(self.cells)

    @property
    def unique(self) -> bool:
        """Whether no cell is blank and none is like another."""
        return self.full and len(self.values) == len(self.cells)

    @property
    def is_number(self) -> bool:
        """Whether all cells that are filled are numbers, and not dates."""
        return bool(self.locales) and not self.is_date

    @property
    def is_date(self) -> bool:
        """Whether all cells that are filled are dates."""
        return bool(self.dates)


def columns_of(sample: Sample, rows: Sequence[Sequence[str]]) -> list[Column]:
    """Return the columns of a sample.

    Args:
      sample: The sample.
      rows: Those of its rows that count.
    """
    return [
        column_of(at, sample.header[at], [row[at] for row in rows])
        for at in range(len(sample.header))
    ]


def column_of(at: int, header: str, cells: Sequence[str]) -> Column:
    """Return what the cells of one column may be."""
    filled = [cell for cell in cells if cell]
    values = tuple(dict.fromkeys(filled))
    locales: tuple[str, ...] = ()
    named: frozenset[str] = frozenset()
    splits = _splits(values)
    named = frozenset(name for split in splits for name in split.named)
    if splits and all(name == "%" or currencies_of(name) for name in named):
        digits = {re.sub(r"[0-9]", "1", split.digits) for split in splits}
        locales = tuple(locale for locale in LOCALES if _reads(locale, digits))
    dates = date_forms(values)
    words = plain_words(re.sub(r"\b[A-Z]{3}\b", " ", header) or header)
    return Column(
        at=at,
        header=header,
        words=words or plain_words(header),
        cells=tuple(cells),
        filled=len(filled),
        values=values,
        dates=dates.forms,
        date_locales=dates.locales,
        locales=locales,
        named=named,
    )


@cache
def currencies_of(name: str) -> frozenset[str]:
    """Return the currencies that a code or a symbol stands for, in any of the locales."""
    if name.isascii() and name.isalnum() and len(name) != 3 and len(name) != 2:
        return frozenset()
    return frozenset().union(*(currencies_named(name, locale) for locale in LOCALES))


def numbers(column: Column, locale: str) -> list[Decimal | None]:
    """Return the numbers of a column's cells, None for a blank one.

    Args:
      column: A column of numbers.
      locale: One of its locales.
    """
    found: dict[str, Decimal | None] = {"": None}
    read = number_reader(locale)
    for value in column.values:
        split = split_amount(value)
        if split:
            number = read(split.digits)
            found[value] = -number if split.sign < 0 else number
    return [found[cell] for cell in column.cells]


def readings(column: Column, locale: str = "") -> dict[str, list[datetime.date]]:
    """Return the dates that a column's cells are in each of its forms.

    Args:
      column: A column of dates.
      locale: One of the locales of its names.
    """
    read = {form: date_reader([form], locale) for form in column.dates}
    return {form: [read[form](value) for value in column.values] for form in read}


def _splits(values: Iterable[str]) -> list[Split]:
    """Return the parts of cells that are all amounts; [] where one is not."""
    splits = []
    for value in values:
        split = split_amount(value) if len(value) <= LONGEST else None
        if not split:
            return []
        splits.append(split)
    return splits


def _reads(locale: str, digits: Iterable[str]) -> bool:
    read = number_reader(locale)
    try:
        for each in digits:
            read(each)
    except ValueError:
        return False
    return True

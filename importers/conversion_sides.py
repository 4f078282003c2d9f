"""Find what a ledger has of currency conversions: sides that wait, and what is complete."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.postings import ONE_SIDED
from offcut.importers.transaction_texts import (
    TransactionText,
    find_transactions,
    read_transaction,
)

OTHER_SIDE = "other-side"

_CONVERSION = re.compile(rb'[ \t]movement:[ \t]*"conversion"')


class ParkedSide(NamedTuple):
    """A side of a conversion that waits in suspense, as the ledger's text has it.

    Attributes:
      id: The id of its row.
      date: Its day.
      text: What the file said of it.
      reference: What ties it to its other side; empty where nothing does.
      account: The account that it waits in.
      amount: What it brought; negative where it took.
      currency: The amount's currency.
    """

    id: str
    date: datetime.date
    text: str
    reference: str
    account: str
    amount: Decimal
    currency: str


class KnownConversions(NamedTuple):
    """What a ledger has of conversions.

    Attributes:
      parked: The sides that wait for their other one.
      complete: What was converted, by source and reference: its amounts by currency.
    """

    parked: list[ParkedSide]
    complete: Mapping[tuple[str, str], Mapping[str, Decimal]]


NO_CONVERSIONS = KnownConversions([], {})


def conversion_texts(contents: Iterable[bytes]) -> Iterator[str]:
    """Yield the texts of the transactions in which `known_conversions` looks.

    Args:
      contents: The bytes of a ledger's files.
    """
    for each in contents:
        yield from find_transactions(each, _CONVERSION)


def known_conversions(texts: Iterable[str]) -> KnownConversions:
    """Return what a ledger has of conversions.

    Args:
      texts: The texts of transactions, those of conversions among them.
    """
    parked: list[ParkedSide] = []
    met: set[str] = set()
    complete: dict[tuple[str, str], Mapping[str, Decimal]] = {}
    for read in filter(None, map(read_transaction, texts)):
        name = read.meta.get("source-id", "")
        reference = read.meta.get("reference", "")
        for account, number, currency, meta, _ in read.postings:
            if OTHER_SIDE in meta:
                met.add(meta[OTHER_SIDE])
            elif meta.get("note") == ONE_SIDED and number and name:
                side = (read.date, read.narration, reference, account, -number, currency)
                parked.append(ParkedSide(name, *side))
        if reference and not all(each.is_plain for each in read.postings):
            complete[name.partition("/")[0], reference] = _amounts(read)
    return KnownConversions([each for each in parked if each.id not in met], complete)


def _amounts(read: TransactionText) -> dict[str, Decimal]:
    """Return the largest amount of each currency in a transaction."""
    found: dict[str, Decimal] = {}
    for _, number, currency, _, _ in read.postings:
        found[currency] = max(found.get(currency, Decimal(0)), abs(number or Decimal(0)))
    return found

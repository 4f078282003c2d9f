"""Tell slips of the pen in the words of a maker's ledger.

A ledger may have metadata and directives that are none of ours. What is nearly a word of
ours, where that would be read, is reported; all else is left alone:

    2025-01-06 commodity HERON-STK
      stok: "product"                 ; stock?
    2025-02-03 custom "printrun" 58 HERON-STK
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from beancount.core import data

from offcut.plugins.mileage import DIRECTIVE as MILEAGE
from offcut.plugins.stock_directives import READERS

__plugins__ = ("check_spelling",)

# How near, from 0 to 1, as difflib measures it: "stok" is to "stock" as 0.89.
NEAR = 0.75
# "no-rows" is read by the list of a month's end.
DIRECTIVES = (*READERS, MILEAGE, "no-rows")
ITEM_WORDS = (
    "stock",
    "name",
    "design",
    "format",
    "list-price",
    "normal-spoilage",
    "weight",
)
ACCOUNT_WORDS = ("tax-line", "report-as")
TRANSACTION_WORDS = ("channel", "packing", "place")
POSTING_WORDS = ("item", "quantity", "spread", "cost-account", "place")
RUN_WORDS = ("spoiled", "minutes")
# Words that somebody else reads, and those that beancount writes.
OTHER_WORDS = (
    *("source-id", "lines-id", "parked-id", "other-side", "item-text", "line-text"),
    *("discount-of", "quality"),
    *("movement", "coupon", "order", "tax", "note", "election", "years", "tax-year"),
    *("local-tax", "document", "filename", "lineno", "__tolerances__", "__automatic__"),
)


class SpellingError(NamedTuple):
    """A word that is nearly one of ours."""

    source: data.Meta
    message: str
    entry: data.Directive | None


def check_spelling(
    entries: data.Directives, options_map: Mapping[str, Any], config: str | None = None
) -> tuple[data.Directives, list[SpellingError]]:
    """Report words that are nearly one of ours.

    Args:
      entries: A list of directives.
      options_map: An options map, unused.
      config: Not used; the plugin takes no configuration.

    Returns:
      The same entries, and a list of new errors.
    """
    of_transaction, of_posting = _Words(TRANSACTION_WORDS), _Words(POSTING_WORDS)
    of_item, of_other_item = _Words(ITEM_WORDS), _Words(ITEM_WORDS[:1])
    of_account, of_run = _Words(ACCOUNT_WORDS), _Words(RUN_WORDS)
    errors: list[SpellingError] = []
    for entry in entries:
        if isinstance(entry, data.Transaction):
            # Nearly all words are right, which a comparison of sets finds out fastest.
            if not entry.meta.keys() <= of_transaction.right:
                errors.extend(of_transaction.errors(entry, entry.meta))
            for posting in entry.postings:
                if posting.meta and not posting.meta.keys() <= of_posting.right:
                    errors.extend(of_posting.errors(entry, posting.meta))
        elif isinstance(entry, data.Commodity):
            words = of_item if "stock" in entry.meta else of_other_item
            errors.extend(words.errors(entry, entry.meta))
        elif isinstance(entry, data.Open):
            errors.extend(of_account.errors(entry, entry.meta))
        elif isinstance(entry, data.Custom):
            errors.extend(_type_errors(entry))
            if entry.type == "print-run":
                errors.extend(of_run.errors(entry, entry.meta))
    return entries, errors


class _Words:
    """The words that are read in one place.

    Attributes:
      right: Those, and all that were looked at and are no slip.
    """

    def __init__(self, words: Iterable[str]) -> None:
        self._words = tuple(words)
        self.right = {
            *(*ITEM_WORDS, *ACCOUNT_WORDS, *TRANSACTION_WORDS, *POSTING_WORDS),
            *(*RUN_WORDS, *OTHER_WORDS),
        }

    def errors(self, entry: data.Directive, meta: data.Meta) -> Iterator[SpellingError]:
        """Yield an error for each slip of the pen in some metadata."""
        for key in meta.keys() - self.right:
            if near := _nearest(key, self._words):
                message = (
                    f'"{key}" is no word of offcut\'s; did you mean {near}? A word of your '
                    "own needs a name that is less like it"
                )
                yield SpellingError(_place(entry, meta), message, entry)
            else:
                self.right.add(key)


def _type_errors(entry: data.Custom) -> Iterator[SpellingError]:
    """Yield an error where the type of a directive is nearly one of ours."""
    if entry.type not in DIRECTIVES and (near := _nearest(entry.type, DIRECTIVES)):
        message = f'custom "{entry.type}" does nothing; did you mean custom "{near}"?'
        yield SpellingError(entry.meta, message, entry)


def _nearest(word: str, words: Iterable[str]) -> str:
    """Return the word that another one is a slip for; empty where it is of its own."""
    for near in difflib.get_close_matches(word, words, n=1, cutoff=NEAR):
        # A word with something before or after it is meant to be another one.
        if not (word.startswith(f"{near}-") or word.endswith(f"-{near}")):
            return near
    return ""


def _place(entry: data.Directive, meta: data.Meta) -> data.Meta:
    """Return where metadata stand; a plugin's posting may not say it."""
    return meta if "lineno" in meta else entry.meta

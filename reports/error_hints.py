"""Say beside beancount's errors what to do about them.

beancount says what it could not read or add up, for people who know it. A hint is added
to the messages that newcomers meet most; the message itself stays as it is.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from beancount.core import data

Hint = Callable[["_Ledger", Any, re.Match[str]], str]

# How near, as difflib measures it: accounts have their first words in common.
NEAR = 0.85
# Day first, or month first: what most people write.
_OTHER_DATE = re.compile(r"\s*\d{1,2}[-./]\d{1,2}[-./]\d{2,4}\b")


class _Ledger(NamedTuple):
    """What hints are taken from.

    Attributes:
      opens: The open directives, by account; the first of several.
    """

    opens: Mapping[str, data.Open]


def with_hints(errors: Iterable[Any], entries: data.Directives) -> list[Any]:
    """Return errors with a hint at the end of their messages, where there is one.

    Args:
      errors: The errors of loading a ledger, as beancount's tuples.
      entries: Its directives.
    """
    errors = list(errors)
    if not errors:
        return errors
    opens: dict[str, data.Open] = {}
    for entry in entries:
        if isinstance(entry, data.Open):
            opens.setdefault(entry.account, entry)
    return [_with_hint(_Ledger(opens), error) for error in errors]


def _with_hint(ledger: _Ledger, error: Any) -> Any:
    """Return an error with its hint."""
    message = str(error.message)
    for form, hint in HINTS:
        if match := form.match(message):
            said = hint(ledger, error, match)
            return error._replace(message=f"{message.rstrip()}. {said}") if said else error
    return error


def _unknown_account(ledger: _Ledger, error: Any, match: re.Match[str]) -> str:
    account = match[1]
    day = getattr(error.entry, "date", "2025-01-01")
    near = difflib.get_close_matches(account, ledger.opens, n=1, cutoff=NEAR)
    perhaps = f" (did you mean {near[0]}?)" if near else ""
    return f"Correct the name{perhaps}, or open the account: {day} open {account}"


def _inactive_account(ledger: _Ledger, error: Any, match: re.Match[str]) -> str:
    entry = ledger.opens.get(match[1])
    opened = f", which is opened on {entry.date}" if entry else ""
    return f"Correct the date, or that of the account{opened}"


def _opened_twice(ledger: _Ledger, error: Any, match: re.Match[str]) -> str:
    first = ledger.opens.get(match[1])
    if first is None or first.meta["lineno"] == error.source.get("lineno"):
        return "Take one of the two lines out"
    place = f"{Path(first.meta['filename']).name}:{first.meta['lineno']}"
    return f"It is opened at {place} already; take one of the two lines out"


def _no_syntax(ledger: _Ledger, error: Any, match: re.Match[str]) -> str:
    if _OTHER_DATE.match(_line(error.source)):
        return "A date is written as year, month, day: 2025-01-31"
    return (
        "Look at this line and the one above it: dates are 2025-01-31, amounts 1234.50 "
        'USD, texts stand in "quotes", and postings begin with two blanks'
    )


def _line(source: Mapping[str, Any]) -> str:
    """Return the line that an error is at; empty where it cannot be read."""
    try:
        with open(source["filename"], encoding="utf-8", errors="replace") as file:
            return next(_at(file, source["lineno"]), "")
    except (OSError, KeyError, TypeError):
        return ""


def _at(lines: Iterable[str], number: int) -> Iterator[str]:
    for at, line in enumerate(lines, 1):
        if at == number:
            yield line


def _always(text: str) -> Hint:
    return lambda ledger, error, match: text


HINTS: tuple[tuple[re.Pattern[str], Hint], ...] = (
    (re.compile(r"Invalid reference to unknown account '([^']+)'"), _unknown_account),
    (re.compile(r"Invalid reference to inactive account '([^']+)'"), _inactive_account),
    (re.compile(r"Duplicate open directive for (\S+)"), _opened_twice),
    (re.compile(r"syntax error|Invalid token"), _no_syntax),
    (
        re.compile(r"ValueError: Invalid number format"),
        _always("A number has a point before its decimals: 9.50, or 1,234.50"),
    ),
    (
        re.compile("Failed to categorize posting|Could not resolve"),
        _always("An amount and a cost need their currency: 9.50 USD, {0.45 USD}"),
    ),
    (
        re.compile("Too many missing numbers|You may not have more than one auto-posting"),
        _always("One posting of a transaction may be left without an amount, not more"),
    ),
    (
        re.compile("Transaction does not balance"),
        _always("Its amounts have to add up to zero; what goes out is negative"),
    ),
    (
        re.compile("Balance failed for"),
        _always("A row before that day is missing, or is there twice"),
    ),
    (
        re.compile("File glob .* does not match any files"),
        _always("The file was moved or renamed: correct its include line, or put it back"),
    ),
    (
        re.compile("Invalid currency (\\S+) for account"),
        _always("Correct the currency, or add it to the open line of the account"),
    ),
    (
        re.compile("UnicodeDecodeError"),
        _always("Save the file as UTF-8 in your editor"),
    ),
)

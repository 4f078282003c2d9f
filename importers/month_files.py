"""Lay transactions out into the files of a ledger, one a source and month."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Iterable, Sequence, Set
from pathlib import Path, PurePath
from typing import NamedTuple

from offcut.importers.known import IMPORTS, Known, include_patterns
from offcut.importers.postings import Booking

ACCOUNTS = "accounts.beancount"
INCLUDE = f'include "{IMPORTS}/*.beancount"'


class Addition(NamedTuple):
    """What to add to a file.

    Attributes:
      text: Whole lines.
      transactions: How many there are in it.
    """

    text: str
    transactions: int


def additions(
    bookings: Iterable[Booking], accounts: Set[str], main: Path, known: Known
) -> dict[Path, Addition]:
    """Return what to add to each file, in the order to write them in.

    Accounts that the ledger does not open are opened in a file of their own, on a day
    before all others: a later import may bring an earlier day. It is the first: where an
    import is broken off, the next one books only what is not there, and would not open
    the accounts of what is. The main file, if it is to change, is the last.

    Args:
      bookings: The transactions, and the balances asserted.
      accounts: The accounts that they post to.
      main: The path of the main file, resolved.
      known: What the ledger has.
    """
    folder = (main.parent / IMPORTS).resolve()
    by_file: dict[tuple[str, str], list[Booking]] = defaultdict(list)
    for booking in bookings:
        by_file[booking.source, booking.day[:7]].append(booking)

    result: dict[Path, Addition] = {}
    if new := sorted(accounts - known.accounts):
        path = folder / ACCOUNTS
        title = "; accounts that `offcut import` used and the ledger did not open\n\n"
        head = "" if path in known.files else title
        opens = "".join(f"1970-01-01 open {account}\n" for account in new)
        result[path] = Addition(head + opens, 0)

    for (source, month), of_file in sorted(by_file.items()):
        path = folder / f"{source}-{month}.beancount"
        title = f"; {source} {month}: `offcut import` adds here\n"
        head = "" if path in known.files else title
        of_file.sort(key=lambda booking: booking.day)
        text = head + "\n" + "\n".join([booking.text for booking in of_file])
        result[path] = Addition(text, sum([each.transactions for each in of_file]))

    if lines := _includes(result, main, known):
        blank = "\n" if known.files[main] else ""
        result[main] = Addition(blank + "".join(f"{line}\n" for line in lines), 0)
    return result


def _includes(paths: Iterable[Path], main: Path, known: Known) -> Sequence[str]:
    """Return the include lines that the main file lacks for the files of imports."""
    folder = (main.parent / IMPORTS).resolve()
    patterns = [
        os.path.join(os.path.realpath(os.path.dirname(pattern)), os.path.basename(pattern))
        for path in known.included
        for pattern in include_patterns(path, known.files.heads(path))
    ]
    ours = {*paths, *(path for path in known.files if path.parent == folder)}
    lacking = sorted(path for path in ours if not _is_included(path, patterns))
    if not lacking:
        return ()
    if any(path.parent == folder for path in known.included):
        return [f'include "{IMPORTS}/{path.name}"' for path in lacking]
    return (INCLUDE,)


def _is_included(path: Path, patterns: Iterable[str]) -> bool:
    """Return whether a file, which may not exist yet, is covered by an include."""
    for pattern in patterns:
        before, deep, _ = pattern.partition("**")
        if PurePath(path).match(pattern) or (deep and str(path).startswith(before)):
            return True
    return False

"""Load a ledger for a command, with its errors as lines to print."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.load_cache import load_file
from offcut.plugins.catalogue import read_catalogue
from offcut.reports.account_columns import check_report_as
from offcut.reports.error_hints import with_hints
from offcut.reports.figures import plain
from offcut.reports.standing.files import lost_plugin_line

MOST_ERRORS = 10


class LedgerRefused(Exception):
    """A ledger that cannot be read at all; the text is one line that says why."""


class CostingError(NamedTuple):
    """A sale of stock in a ledger without the plugin that costs it."""

    source: data.Meta
    message: str
    entry: data.Directive | None


class Ledger(NamedTuple):
    """A loaded ledger.

    Attributes:
      entries: Its directives, after its plugins.
      options: Its options.
      errors: What is wrong in it, as beancount's tuples with source and message.
    """

    entries: data.Directives
    options: dict[str, Any]
    errors: list[Any]


def load_ledger(path: Path) -> Ledger:
    """Load a ledger.

    Args:
      path: Its main file.

    Raises:
      LedgerRefused: It is missing, a directory, not readable or not text.
    """
    check_readable(path)
    entries, errors, options = load_file(path)
    # What makes others comes first: without the costing, shelves have no accounts.
    ours = report_errors(path, entries, options)
    return Ledger(entries, options, [*ours, *with_hints(errors, entries)])


def check_readable(path: Path) -> None:
    """Refuse a ledger that cannot be read at all.

    Args:
      path: Its main file.

    Raises:
      LedgerRefused: It is missing, a directory, not readable or not text.
    """
    try:
        path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        raise LedgerRefused(
            f"{path}: there is no such file; {_elsewhere(path)}, or found books by "
            "`offcut new`"
        ) from None
    except IsADirectoryError:
        raise LedgerRefused(
            f"{path}: this is a folder; give the main ledger file in it"
        ) from None
    except UnicodeDecodeError as error:
        raise LedgerRefused(
            f"{path}: byte {error.start + 1} is not UTF-8 text; a ledger is a plain-text "
            "file saved as UTF-8"
        ) from None
    except OSError as error:
        raise LedgerRefused(f"{path}: cannot be read: {error.strerror}") from None


def _elsewhere(path: Path) -> str:
    """Return what to do where a ledger is not where it was looked for."""
    near = sorted(path.parent.glob(f"*/{path.name}"))
    near = [each for each in near if each.is_file()]
    perhaps = f", perhaps {near[0]}" if near else ""
    return f"go to the folder of your books, or give their main file{perhaps}"


def report_errors(
    path: Path, entries: data.Directives, options: Mapping[str, Any]
) -> list[Any]:
    """Return what is wrong in a ledger for reports, and for no plugin.

    Args:
      path: Its main file.
      entries: Its directives.
      options: Its options.
    """
    return [*check_report_as(entries), *_check_costing(path, entries, options)]


def _check_costing(
    path: Path, entries: data.Directives, options: Mapping[str, Any]
) -> Iterator[CostingError]:
    """Yield an error where stock is sold that nothing costs: every profit is too high."""
    if any(name.startswith("offcut.plugins") for name, _ in options["plugin"]):
        return
    stock = read_catalogue(entries)
    for entry in entries if stock else ():
        for posting in entry.postings if isinstance(entry, data.Transaction) else ():
            meta = posting.meta or {}
            if meta.get("item") in stock and "quantity" in meta:
                message = (
                    "This sells stock, but the costing is not switched on, so that no cost "
                    f'is taken off. Write plugin "offcut.plugins" at the top of {path.name}'
                )
                if lost := lost_plugin_line(path, options):
                    message += f"; at {lost.file}:{lost.line} it does not count"
                yield CostingError(meta, message, entry)
                return


def error_lines(errors: Iterable[Any], most: int = MOST_ERRORS) -> Iterator[str]:
    """Yield a line for each error of a ledger, and a last one for those left out.

    Args:
      errors: Errors with source and message, as beancount has them.
      most: How many to print.
    """
    several = list(errors)
    for error in several[:most]:
        source = error.source or {}
        place = f"{source.get('filename', 'ledger')}:{source.get('lineno', 0)}"
        yield plain(f"{place}: {' '.join(str(error.message).split())}")
    if len(several) > most:
        yield (
            f"… and {len(several) - most} more errors; `bean-check LEDGER` lists them all"
        )

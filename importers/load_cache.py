"""What beancount keeps of a load beside a ledger, and when it must not be believed."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from beancount.core import data

# As beancount.loader has them, which would take long to import.
LOAD_CACHE = ".{filename}.picklecache"
LOAD_CACHE_VARIABLE = "BEANCOUNT_LOAD_CACHE_FILENAME"


def load_file(path: Path) -> tuple[data.Directives, list[Any], dict[str, Any]]:
    """Load a ledger, by what is kept of its last load where that is of this very file.

    What is kept goes along when a folder is copied. beancount then looks whether the files
    of the other folder have changed, and shows that one's books.

    Args:
      path: Its main file.

    Returns:
      Its directives, errors and options.
    """
    from beancount import loader

    entries, errors, options = loader.load_file(str(path))
    of = options["filename"]
    if of and Path(of).resolve() != path.resolve():
        forget_loads(path.parent)
        entries, errors, options = loader.load_file(str(path))
    return entries, errors, options


def forget_loads(folder: Path) -> None:
    """Remove what is kept of the loads of a folder's ledgers.

    Args:
      folder: The folder.
    """
    pattern = os.environ.get(LOAD_CACHE_VARIABLE) or LOAD_CACHE
    caches = folder / pattern.replace("{filename}", "*")
    for cache in caches.parent.glob(caches.name):
        cache.unlink(missing_ok=True)

"""Keep Python's cyclic garbage collector out of the way of work that makes no cycles."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

# So many new objects that making them again, at the next load, has the collector walk
# everything several times over.
LARGE = 200_000


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause the collector while something makes a great many long-lived objects.

    A large ledger or import is hundreds of thousands of tuples that hold no cycles. Each
    batch of new ones would have the collector walk all of them again, which takes longer
    than making them. If they are a great many, they count as old afterwards, or the
    collector would walk them all at once in the end. Not where they are few: what counts
    as old is not looked at for long, and small loads in one process would let garbage
    pile up.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            made = gc.get_count()[0]
            if made > LARGE and not gc.get_freeze_count():  # nobody froze what is theirs
                gc.freeze()
                gc.unfreeze()
            gc.enable()

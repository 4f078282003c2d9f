"""Keep Python's cyclic garbage collector out of the way of work that makes no cycles."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause the collector while something makes a great many long-lived objects.

    A large ledger or import is hundreds of thousands of tuples that hold no cycles. Each
    batch of new ones would have the collector walk all of them again, which takes longer
    than making them.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()

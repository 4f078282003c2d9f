"""Keep the facts of a ledger's large files from one import to the next.

This is a cache and no more: it is in the user's cache folder, may be deleted at any time,
and where it cannot be read or written, or is not whole, the files are read as if there
were none. The facts of a file count only while its size, its times and its inode are what
they were; those of a file that was changed just before are not kept, because a later
change could leave it the same times.
"""

from __future__ import annotations

import os
import struct
import sys
from array import array
from collections.abc import Iterator
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from time import time_ns
from typing import NamedTuple

from offcut.importers.file_facts import MADE_BY, FileFacts, facts_of

# A smaller file is looked through sooner than it is worth to know anything of it.
LARGE = 1 << 16
# The coarsest times that file systems keep are of two seconds.
SETTLED = 2_000_000_000

_FORMAT = f"facts 1 {sys.byteorder} {array('I').itemsize} ".encode()
_RECORD = struct.Struct("<Q3q6I")
_BETWEEN = b"\0"
_DIGEST = 16
_MOST = 1 << 28


class Stamp(NamedTuple):
    """What is another once a file was changed.

    Attributes:
      inode: Its number in the file system.
      size: Its length in bytes.
      changed: When it was written to, in nanoseconds.
      touched: When that or its name, place or rights were changed, likewise.
    """

    inode: int
    size: int
    changed: int
    touched: int


def stamp_of(status: os.stat_result) -> Stamp:
    """Return the stamp of a file."""
    return Stamp(
        status.st_ino & (1 << 64) - 1,  # of more bits on some systems
        status.st_size,
        status.st_mtime_ns,
        status.st_ctime_ns,
    )


class FactsCache:
    """The facts of a ledger's files, as an earlier import left them.

    Args:
      main: The path of the main file, resolved.
    """

    def __init__(self, main: Path) -> None:
        self._main = main
        self._before: dict[Path, tuple[Stamp, FileFacts]] | None = None
        self._now: dict[Path, tuple[Stamp, FileFacts]] = {}

    def find(self, path: Path, stamp: Stamp) -> FileFacts | None:
        """Return the facts of a file; None where nothing is known of it as it is."""
        if stamp.size < LARGE:
            return None
        if self._before is None:
            self._before = _load(_place(self._main))
        there = self._before.get(path)
        if there is None or there[0] != stamp:
            return None
        self._now[path] = there
        return there[1]

    def make(self, path: Path, stamp: Stamp, contents: bytes) -> FileFacts | None:
        """Return the facts of a file to be kept; None where it is none to keep them of.

        Args:
          path: The file.
          stamp: What it was before it was read.
          contents: Its bytes.
        """
        settled = time_ns() - SETTLED
        if stamp.size < LARGE or not (0 < stamp.changed < settled > stamp.touched):
            return None
        facts = facts_of(contents)
        if facts is not None:
            self._now[path] = stamp, facts
        return facts

    def save(self) -> None:
        """Keep what is known now, if that is anything else than before."""
        if self._now != (self._before or {}):
            _store(_place(self._main), self._now)


def _place(main: Path) -> Path | None:
    """Return the cache file of a ledger; None where the system has no place for it."""
    from platformdirs import user_cache_path  # only a large ledger has to wait for it

    name = blake2b(os.fsencode(main), digest_size=_DIGEST).hexdigest()
    try:
        return user_cache_path("offcut", appauthor=False) / f"{name}.facts"
    except (OSError, RuntimeError):  # there is no home
        return None


def _load(place: Path | None) -> dict[Path, tuple[Stamp, FileFacts]]:
    """Return what a cache file has; nothing where it is not whole, or not of this form."""
    try:
        if place is None or place.stat().st_size > _MOST:
            return {}
        contents = place.read_bytes()
    except OSError:
        return {}
    digest, body = contents[:_DIGEST], memoryview(contents)[_DIGEST:]
    return dict(_records(body)) if digest == _digest(body) else {}


def _records(body: memoryview) -> Iterator[tuple[Path, tuple[Stamp, FileFacts]]]:
    at = 0
    while at < len(body):
        *numbers, marks, name, heads, telling, ids, orders = _RECORD.unpack_from(body, at)
        at += _RECORD.size
        parts = []
        for length in (name, heads, telling, ids, orders):
            parts.append(bytes(body[at : at + length]))
            at += length
        facts = FileFacts(
            parts[1],
            tuple(filter(None, parts[2].split(_BETWEEN))),
            marks,
            array("I", parts[3]),
            array("I", parts[4]),
        )
        yield Path(os.fsdecode(parts[0])), (Stamp(*numbers), facts)


def _store(place: Path | None, known: dict[Path, tuple[Stamp, FileFacts]]) -> None:
    """Write a cache file, whole or not at all.

    Two that write at once may spoil it for each other; its digest tells the next reader.
    """
    if place is None:
        return
    written = []
    for path, (stamp, facts) in known.items():
        parts = (
            *(os.fsencode(path), facts.heads, _BETWEEN.join(facts.telling)),
            *(facts.ids.tobytes(), facts.orders.tobytes()),
        )
        written += [_RECORD.pack(*stamp, facts.marks, *map(len, parts)), *parts]
    body = b"".join(written)
    beside = place.with_suffix(".new")
    with suppress(OSError):  # without it, the next import reads the files once more
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with open(beside, "wb", opener=_open_private) as file:
            file.write(_digest(body) + body)
        os.replace(beside, place)


def _open_private(name: str, flags: int) -> int:
    return os.open(name, flags, 0o600)


def _digest(body: bytes | memoryview) -> bytes:
    """Return what a whole file begins with, made by what is this version."""
    return blake2b(body, digest_size=_DIGEST, key=_KEY).digest()


_KEY = blake2b(_FORMAT + MADE_BY, digest_size=_DIGEST).digest()

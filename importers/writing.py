"""Add text to the files of a ledger: all of it or none, no byte of the user's changed."""

from __future__ import annotations

import errno
import glob
import os
import secrets
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from filelock import FileLock, Timeout

from offcut.importers.known import IMPORTS
from offcut.importers.ledger_files import unreadable
from offcut.importers.load_cache import forget_loads
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.settings import FOLDER

LOCK = ".offcut.lock"
PATIENCE = 10.0
UNFINISHED = ".offcut-unfinished"


class Written(NamedTuple):
    """A file that was written, or would be.

    Attributes:
      path: The file.
      transactions: How many were added to it.
    """

    path: Path
    transactions: int


@contextmanager
def locked(ledger: Path) -> Iterator[None]:
    """Keep other imports away from a ledger's folder.

    Raises:
      ImportRefused: Another import has it, the folder cannot be written to, or there is
        no ledger in it.
    """
    try:
        ledger.open("rb").close()  # a lock would make the folder, and stay in it
    except OSError as error:
        raise ImportRefused([unreadable(ledger.resolve(), error)]) from error
    lock = FileLock(ledger.parent / LOCK, timeout=PATIENCE)
    try:
        lock.acquire()
    except Timeout as error:
        message = (
            "another import is writing to this ledger; wait for its end, then try again"
        )
        raise ImportRefused([Problem(ledger.name, None, None, message)]) from error
    except OSError as error:
        message = (
            f"its folder cannot be written to ({error.strerror}); change its permissions"
        )
        raise ImportRefused([Problem(ledger.name, None, None, message)]) from error
    try:
        _clear_unfinished(ledger)
        yield
    finally:
        lock.release()


def _clear_unfinished(ledger: Path) -> None:
    """Remove what an import that was killed had written beside its place.

    Nobody else writes while the lock is held, so that nothing of theirs can go.
    """
    for folder in (ledger.parent, ledger.parent / IMPORTS, ledger.parent / FOLDER):
        clear_unfinished(folder)


def clear_unfinished(folder: Path, name: str = "") -> None:
    """Remove what a run that was killed had written beside its place in a folder.

    Args:
      folder: The folder.
      name: The name of the file that it was for; of all files without it.
    """
    for unfinished in folder.glob(f".{glob.escape(name) or '*'}.*{UNFINISHED}"):
        unfinished.unlink(missing_ok=True)


def add_texts(texts: Mapping[Path, str], line_end: bytes = b"\n") -> None:
    """Add a text to the end of each file, which is made where it is missing.

    Every file is written beside its place first and only then put there, in the order
    given; each is on the disk before the next is put there, also where power fails. A
    file that has Windows line ends keeps them.

    Args:
      texts: What to add, by path; begins and ends with whole lines.
      line_end: The line end of files that are new.

    Raises:
      ImportRefused: A file cannot be written, or somebody else has just written it; none
        was changed, unless it is said.
    """
    placed: list[Path] = []
    waiting: dict[Path, Path] = {}
    stamps: dict[Path, tuple[int, ...]] = {}
    path = Path()
    try:
        for path, text in texts.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            stamps[path] = _stamp(path)
            waiting[path] = _written_beside(path, _added(path, text, line_end))
        for folder in {path.parent.parent for path in texts}:
            _settle(folder)  # a folder of ours may be new in it
        _check_unchanged(stamps)
        for path, beside in waiting.items():
            if not path.exists():
                _forget_loads(path)
            os.replace(beside, path)
            placed.append(path)
            _settle(path.parent)
    except OSError as error:
        message = f"the file cannot be written ({error.strerror}); make room or change its "
        message += "permissions, then import again"
        if placed:
            message += f" (written already: {', '.join(each.name for each in placed)})"
        raise ImportRefused([Problem(path.name, None, None, message)]) from error
    finally:
        for beside in waiting.values():
            with suppress(FileNotFoundError):
                beside.unlink()


def _forget_loads(path: Path) -> None:
    """Remove what beancount keeps of a load of the ledger that a new file belongs to.

    It looks again only where a file of that load has changed, and does not notice one
    that is new where `include` has a pattern.
    """
    for folder in (path.parent, path.parent.parent):
        forget_loads(folder)


def _stamp(path: Path) -> tuple[int, ...]:
    """Return what is another after a file was written anew; () where there is no file."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return ()
    return found.st_mtime_ns, found.st_size, found.st_ino


def _check_unchanged(stamps: Mapping[Path, tuple[int, ...]]) -> None:
    """Refuse to write over what was saved, as by an editor, since a file was read."""
    for path, stamp in stamps.items():
        if _stamp(path) != stamp:
            message = "another program has changed this file just now; import again"
            raise ImportRefused([Problem(path.name, None, None, message)])


def _settle(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system can say so."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno != errno.EINVAL:  # a file system that has no such thing
            raise
    finally:
        os.close(descriptor)


def line_end_of(contents: bytes, otherwise: bytes = b"\n") -> bytes:
    """Return the line end that a file has, by its first line."""
    first = contents.find(b"\n")
    if first < 0:
        return otherwise
    return b"\r\n" if contents[first - 1 : first] == b"\r" else b"\n"


def _added(path: Path, text: str, line_end: bytes) -> bytes:
    """Return the contents of a file with a text added."""
    before = path.read_bytes() if path.exists() else b""
    line_end = line_end_of(before, otherwise=line_end)
    between = line_end if before and not before.endswith(b"\n") else b""
    added = text.encode()
    return (
        before + between + (added if line_end == b"\n" else added.replace(b"\n", line_end))
    )


def _written_beside(path: Path, contents: bytes) -> Path:
    """Write a new file in the same folder, with the old one's permissions."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}{UNFINISHED}")
    try:
        with open(beside, "xb") as file:
            file.write(contents)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, beside)
    except OSError:
        beside.unlink(missing_ok=True)
        raise
    return beside

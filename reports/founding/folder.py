"""Put the files of a new ledger into a folder: all of them, or none."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from offcut.importers.known import IMPORTS
from offcut.importers.month_files import ACCOUNTS
from offcut.importers.settings import FILE
from offcut.importers.writing import UNFINISHED
from offcut.reports.close.inbox import INBOX
from offcut.reports.founding.accounts_file import accounts_file
from offcut.reports.founding.ledger_files import (
    catalogue_file,
    imports_file,
    main_file,
    purchases_file,
    workshop_file,
)
from offcut.reports.founding.settings_file import GITIGNORE, settings_file
from offcut.reports.founding.shop import Shop

MAIN = "main.beancount"


class FolderRefused(Exception):
    """A folder that no books can be founded in; the text is one line that says why."""


def check_folder(folder: Path) -> None:
    """Refuse a folder that has something in it already.

    What begins with a full stop, such as what git or a virtual environment keep, may be
    there, as long as it is none of the files of a ledger.

    Raises:
      FolderRefused: There is something in it, or it is no folder.
    """
    if not folder.exists() and not folder.is_symlink():
        return
    if not folder.is_dir():
        raise FolderRefused(
            f"{folder}: this is a file; name a folder that is not there yet"
        )
    names = sorted(path.name for path in folder.iterdir())
    ours = {".gitignore"}
    if there := [name for name in names if not name.startswith(".") or name in ours]:
        raise FolderRefused(
            f"{folder}: the folder is not empty, it has {there[0]}; name one that is empty "
            "or not there yet. Nothing was written"
        )


def found(folder: Path, shop: Shop) -> list[Path]:
    """Write the files of a new ledger.

    They are written beside their place first. Where the folder is new it appears whole;
    in one that is there the main file comes last.

    Args:
      folder: The folder, which is empty or not there.
      shop: The shop whose books they are.

    Returns:
      The files and folders at the top of it, the main file first.

    Raises:
      FolderRefused: The folder is not empty, or cannot be written to; nothing stays.
    """
    check_folder(folder)
    place = folder.absolute()
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        new = not place.exists()
        stage = Path(
            tempfile.mkdtemp(UNFINISHED, f".{place.name}.", place.parent if new else place)
        )
    except OSError as error:
        raise _unwritable(folder, error) from error
    try:
        _write(stage, _texts(shop))
        if new:
            stage.chmod(0o777 & ~_umask())
            stage.rename(place)
        else:
            _move_in(stage, place)
    except OSError as error:
        raise _unwritable(folder, error) from error
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    return sorted(
        (folder / name for name in {path.partition("/")[0] for path in _texts(shop)}),
        key=lambda path: (path.name != MAIN, path.name),
    )


def _texts(shop: Shop) -> Mapping[str, str]:
    """Return the text of each file by its path; a folder's file that says nothing is ""."""
    return {
        ".gitignore": GITIGNORE,
        "accounts.beancount": accounts_file(shop),
        "catalogue.beancount": catalogue_file(shop),
        "purchases.beancount": purchases_file(shop),
        "workshop.beancount": workshop_file(shop),
        f"{IMPORTS}/{ACCOUNTS}": imports_file(),
        f"{INBOX}/.gitkeep": "",
        FILE: settings_file(shop),
        MAIN: main_file(shop),
    }


def _write(stage: Path, texts: Mapping[str, str]) -> None:
    """Write files into a folder of ours, and have them on the disk."""
    for name, text in texts.items():
        path = stage / name
        path.parent.mkdir(exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())


def _move_in(stage: Path, place: Path) -> None:
    """Move what is in one folder into another, the main file last; all or nothing."""
    moved: list[Path] = []
    names = sorted((path.name for path in stage.iterdir()), key=lambda name: name == MAIN)
    try:
        for name in names:
            target = place / name
            if target.exists():
                raise FileExistsError(None, "something else is writing there", name)
            (stage / name).rename(target)
            moved.append(target)
    except OSError:
        for target in moved:
            target.rename(stage / target.name)
        raise


def _umask() -> int:
    """Return which permissions new files do not have."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _unwritable(folder: Path, error: OSError) -> FolderRefused:
    return FolderRefused(
        f"{folder}: cannot be written ({error.strerror}); name a folder in a place that is "
        "yours to write to"
    )

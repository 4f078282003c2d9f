"""What beancount keeps of a load, in a folder that was copied."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from beancount import loader

from offcut.importers.load_cache import forget_loads, load_file

KEPT = ".main.beancount.picklecache"


@pytest.fixture(autouse=True)
def keeping(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let beancount keep each load, however short it was."""
    monkeypatch.setattr(loader, "PICKLE_CACHE_THRESHOLD", 0.0)
    loader.initialize(True)
    yield
    monkeypatch.undo()
    loader.initialize(True)


@pytest.fixture
def books(tmp_path: Path) -> Path:
    """Write a ledger of two files, and load it."""
    books = tmp_path / "books"
    books.mkdir()
    (books / "accounts.beancount").write_text("2025-01-01 open Assets:Cash\n")
    (books / "main.beancount").write_text('include "accounts.beancount"\n')
    load_file(books / "main.beancount")
    return books


def test_copied_folder_shows_its_own_books(books: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(books, copy)
    assert (copy / KEPT).exists()
    (copy / "accounts.beancount").write_text("2025-01-01 open Assets:Bank\n")
    # beancount by itself shows what the other folder has.
    theirs, _, _ = loader.load_file(str(copy / "main.beancount"))
    assert [entry.account for entry in theirs] == ["Assets:Cash"]
    entries, errors, options = load_file(copy / "main.beancount")
    assert ([entry.account for entry in entries], errors) == (["Assets:Bank"], [])
    assert Path(options["filename"]) == copy / "main.beancount"
    assert (copy / KEPT).exists()


def test_what_is_kept_of_this_file_is_taken(
    books: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = (books / KEPT).stat()
    monkeypatch.chdir(books)
    entries, _, _ = load_file(Path("main.beancount"))
    assert [entry.account for entry in entries] == ["Assets:Cash"]
    assert (books / KEPT).stat() == before


def test_loads_are_forgotten(books: Path) -> None:
    forget_loads(books)
    assert not (books / KEPT).exists()
    assert (books / "main.beancount").exists()

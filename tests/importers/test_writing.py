"""Files are added to: all of them or none, and no byte of the user's changes."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from beancount import loader
from filelock import FileLock

from offcut.importers import writing
from offcut.importers.problems import ImportRefused
from tests.importers.shop import Shop, new_shop

SALE = "2025-03-04,Sale,W1042,Web order,11.00,0.61,10.39,USD,ch_1"


def test_text_is_added_after_the_users_bytes(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "sub" / "new"
    old.write_bytes(b"mine, \xff, no line end")

    writing.add_texts({old: "added\n", new: "é\n"})

    assert old.read_bytes() == b"mine, \xff, no line end\nadded\n"
    assert new.read_bytes() == "é\n".encode()
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["new", "old", "sub"]


def test_a_load_does_not_miss_a_new_file(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    cached = loader.pickle_cache_function(
        lambda name: loader.get_cache_filename(loader.PICKLE_CACHE_FILENAME, name),
        -1.0,  # however quick a load is
        loader._uncached_load_file,
    )
    monkeypatch.setattr(loader, "_load_file", cached)
    shop.run(shop.payments(SALE))
    first, _, _ = loader.load_file(str(shop.ledger))
    assert list(shop.folder.glob(".*.picklecache"))

    shop.run(shop.payments(SALE.replace("03-04", "04-04").replace("ch_1", "ch_2")))

    second, _, _ = loader.load_file(str(shop.ledger))
    assert len(second) == len(first) + 1


def test_windows_line_ends_are_kept(shop: Shop) -> None:
    before = shop.ledger.read_text().replace("\n", "\r\n").encode()
    shop.ledger.write_bytes(before)

    shop.run(shop.payments(SALE))
    shop.run(shop.payments(SALE.replace("ch_1", "ch_2"), name="more.csv"))

    after = shop.ledger.read_bytes()
    assert after == before + b'\r\ninclude "imports/*.beancount"\r\n'
    written = (shop.folder / "imports" / "card-2025-03.beancount").read_bytes()
    assert written.count(b"\n") == written.count(b"\r\n") > 10
    assert len(shop.transactions()) == 2
    assert shop.run(shop.payments(SALE)).files[0].already_there == 1


def test_what_the_user_wrote_into_a_month_is_kept(shop: Shop) -> None:
    shop.run(shop.payments(SALE))
    month = shop.folder / "imports" / "card-2025-03.beancount"
    before = month.read_bytes().replace(b'"Web order"', b'"To a friend"') + b"; note"
    month.write_bytes(before)

    shop.run(shop.payments(SALE.replace("ch_1", "ch_2"), name="more.csv"))

    assert month.read_bytes().startswith(before + b"\n\n2025-03-04 *")


def test_permissions_and_links_are_kept(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_text("mine\n")
    real.chmod(0o640)
    link.symlink_to(real)

    writing.add_texts({link.resolve(): "added\n"})

    assert link.is_symlink()
    assert real.read_text() == "mine\nadded\n"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_nothing_is_changed_where_a_file_cannot_be_written(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = 0

    def full_disk(descriptor: int) -> None:
        nonlocal written
        written += 1
        if written == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)

    (line,) = shop.refused(shop.payments(SALE))

    assert line.startswith(
        "card-2025-03.beancount: the file cannot be written (No space left on"
    )


@pytest.mark.parametrize("whole", range(5))
def test_crash_between_two_files_is_made_good_by_the_next_import(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, whole: int
) -> None:
    april = "2025-04-01,Refund,W9,Back,-4.00,0.00,-4.00,USD,ch_2"
    file = shop.payments(SALE, april)
    undisturbed = new_shop(tmp_path / "undisturbed")
    undisturbed.run(undisturbed.payments(SALE, april))
    replace, placed = os.replace, []

    def some(source: Path, target: Path) -> None:
        if len(placed) == whole:
            raise OSError(5, "Input/output error")
        placed.append(target)
        replace(source, target)

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", some)
        if whole < 4:
            with pytest.raises(ImportRefused, match="cannot be written") as caught:
                shop.run(file)
            assert all(path.name in str(caught.value) for path in placed)
        else:
            shop.run(file)

    report = shop.run(file)

    there = len([path for path in placed if path.name.startswith("card-")])
    assert (report.files[0].booked, report.files[0].already_there) == (2 - there, there)
    assert shop.contents() == undisturbed.contents()
    assert len(shop.transactions()) == 2
    assert not [path for path in shop.folder.rglob(".*") if path.suffix != ".lock"]


def test_second_import_at_the_same_time_is_refused(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writing, "PATIENCE", 0.01)
    file = shop.payments(SALE)

    with FileLock(shop.folder / writing.LOCK):
        (line,) = shop.refused(file)
        assert shop.run(file, dry_run=True).files[0].booked == 1

    assert line.startswith("main.beancount: another import is writing to this ledger; wait")


@pytest.mark.parametrize(
    ("contents", "line_end"),
    [(b"", b"?"), (b"one line", b"?"), (b"a\r\nb\n", b"\r\n"), (b"a\nb\r\n", b"\n")],
)
def test_line_end_of_a_file_is_that_of_its_first_line(
    contents: bytes, line_end: bytes
) -> None:
    assert writing.line_end_of(contents, otherwise=b"?") == line_end


def test_what_a_killed_import_left_beside_is_cleared(shop: Shop) -> None:
    imports = shop.folder / "imports"
    imports.mkdir()
    left = imports / f".card-2025-03.beancount.0a1b2c3d{writing.UNFINISHED}"
    left.write_text("half of it")
    kept = imports / ".notes.beancount"
    kept.write_text("the user's own")
    with writing.locked(shop.ledger):
        pass
    assert not left.exists()
    assert kept.exists()

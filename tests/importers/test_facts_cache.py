"""The cache of a ledger's facts may be late, spoiled, killed or missing: none minds."""

from __future__ import annotations

import dataclasses
import multiprocessing
import os
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from offcut.importers import facts_cache
from offcut.importers.import_report import ImportReport
from offcut.importers.known import scan_ledger
from offcut.importers.known_ids import KnownIds
from tests.importers.generated_month import write_month
from tests.importers.shop import Shop, new_shop

FORK = multiprocessing.get_context("fork")
MONTH = "imports/card-2025-03.beancount"


@pytest.fixture
def caches(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the caches, into which files of any size are taken."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    monkeypatch.setattr(facts_cache, "LARGE", 0)
    return tmp_path / "caches" / "offcut"


@pytest.fixture
def later(caches: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The same, as if some time had passed since any file was changed."""
    now = facts_cache.time_ns
    monkeypatch.setattr(facts_cache, "time_ns", lambda: now() + 10**10)
    return caches


def is_used(shop: Shop) -> bool:
    """Return whether a search goes by what was kept."""
    made: list[bytes] = []
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(facts_cache, "facts_of", made.append)
        known = scan_ledger(shop.ledger)
    return isinstance(known.source_ids, KnownIds) and not made


def imported(shop: Shop, *files: Path) -> tuple[ImportReport, dict[str, bytes]]:
    """Return the report of an import, with the paths as in any shop, and what it wrote."""
    report = shop.run(*files)
    written = [
        each._replace(path=each.path.relative_to(shop.folder.resolve()))
        for each in report.written
    ]
    return dataclasses.replace(report, written=tuple(written)), shop.contents()


def copied(shop: Shop, name: str) -> Shop:
    """Return a shop with the same files."""
    folder = shop.folder.with_name(name)
    shutil.copytree(shop.folder, folder)
    return Shop(folder)


def test_imports_are_the_same_to_the_byte(later: Path, tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "shop")
    for month in ("2025-01", "2025-02", "2025-03"):
        files = write_month(tmp_path, month, 8)
        late, plain = files[:1], copied(shop, f"plain-{month}")
        for again in (files, late, files):  # new, and what is there already
            with pytest.MonkeyPatch.context() as patched:
                patched.setattr(facts_cache, "LARGE", 1 << 62)
                expected = imported(plain, *again)
            assert imported(shop, *again) == expected
    assert is_used(shop)


def test_what_was_changed_just_before_is_not_kept(caches: Path, shop: Shop) -> None:
    scan_ledger(shop.ledger)

    assert not is_used(shop)
    assert not caches.exists()


def test_ledger_of_small_files_has_no_cache(tmp_path: Path, shop: Shop) -> None:
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
        patched.setattr(facts_cache, "SETTLED", -(10**12))
        assert not is_used(shop)
        assert not (tmp_path / "caches").exists()
        with shop.ledger.open("a") as file:
            file.write("; large\n" * 10_000)
        scan_ledger(shop.ledger)
        assert is_used(shop)


def test_change_that_leaves_size_and_time_is_seen(later: Path, shop: Shop) -> None:
    shop.run(shop.payments("2025-03-04,Sale,W1,x,11.00,0.61,10.39,USD,ch_1"))
    path = shop.folder / MONTH
    scan_ledger(shop.ledger)
    time.sleep(0.05)  # more than a tick of the clock that files are stamped by
    status = path.stat()

    path.write_bytes(path.read_bytes().replace(b"ch_1", b"ch_2"))
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))

    assert path.stat().st_mtime_ns == status.st_mtime_ns
    assert path.stat().st_size == status.st_size
    assert scan_ledger(shop.ledger).source_ids == {"card/ch_2"}


def test_another_file_in_the_same_place_is_seen(later: Path, shop: Shop) -> None:
    shop.run(shop.payments("2025-03-04,Sale,W1,x,11.00,0.61,10.39,USD,ch_1"))
    path = shop.folder / MONTH
    scan_ledger(shop.ledger)
    other = path.with_suffix(".other")
    other.write_bytes(path.read_bytes().replace(b"ch_1", b"ch_2"))
    status = path.stat()
    os.utime(other, ns=(status.st_atime_ns, status.st_mtime_ns))
    os.replace(other, path)

    assert scan_ledger(shop.ledger).source_ids == {"card/ch_2"}


@pytest.mark.parametrize("times", [10**19, -(10**18)])
def test_file_of_impossible_times_is_not_kept(
    later: Path, shop: Shop, monkeypatch: pytest.MonkeyPatch, times: int
) -> None:
    stamp_of = facts_cache.stamp_of
    monkeypatch.setattr(
        "offcut.importers.ledger_files.stamp_of",
        lambda status: stamp_of(status)._replace(changed=times),
    )
    scan_ledger(shop.ledger)

    assert not later.exists()


def test_cache_is_the_users_own_and_has_no_ids_orders_or_amounts(
    later: Path, shop: Shop
) -> None:
    shop.run(
        shop.payments("2025-03-04,Sale,W1042,x,1234.56,0.61,1233.95,USD,ch_77"),
        shop.orders("W1042,2025-03-04,Heron of some,1,1234.56,0,0,0,USD"),
    )
    scan_ledger(shop.ledger)
    (place,) = later.iterdir()
    kept = place.read_bytes()

    assert place.stat().st_mode & 0o777 == 0o600
    assert later.stat().st_mode & 0o777 == 0o700
    assert MONTH.encode() in kept
    for text in (b"1042", b"ch_77", b"1234.56", b"1233.95", b"Heron"):
        assert text not in kept


def test_no_place_to_keep_it(later: Path, shop: Shop) -> None:
    later.parent.write_text("a file where the folder should be")

    for _ in range(2):
        assert scan_ledger(shop.ledger).commodities == {"HERON-STK", "MOTH-STK"}
        assert not is_used(shop)


def test_no_home(later: Path, shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*given: object, **named: object) -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr("platformdirs.user_cache_path", refuse)

    for _ in range(2):
        assert scan_ledger(shop.ledger).commodities == {"HERON-STK", "MOTH-STK"}
        assert not is_used(shop)


def test_disk_that_is_full(
    later: Path, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*given: object) -> int:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(facts_cache, "_open_private", refuse)
        scan_ledger(shop.ledger)
        assert not is_used(shop)
    scan_ledger(shop.ledger)
    assert is_used(shop)


def in_children(*works: Callable[[], object]) -> list[int | None]:
    """Run works in copies of this process; return their exit codes."""
    children = [FORK.Process(target=work) for work in works]
    for child in children:
        child.start()
    for child in children:
        child.join(60)
    return [child.exitcode for child in children]


def test_killed_before_any_step_of_keeping_it(later: Path, shop: Shop) -> None:
    shop.run(shop.payments("2025-03-04,Sale,W1,x,11.00,0.61,10.39,USD,ch_1"))
    shutil.rmtree(later)
    inside, steps = str(later.parent), 0

    def killed(number: int) -> bool:
        calls = iter(range(number, -1, -1))

        def count(event: str, given: tuple[object, ...]) -> None:
            ours = event in ("open", "os.rename", "os.mkdir")
            if ours and any(inside in str(each) for each in given) and next(calls) == 0:
                os.kill(os.getpid(), signal.SIGKILL)

        def work() -> None:
            sys.addaudithook(count)
            scan_ledger(shop.ledger)

        (code,) = in_children(work)
        assert code in (0, -signal.SIGKILL)
        return bool(code)

    while killed(steps):
        assert scan_ledger(shop.ledger).source_ids == {"card/ch_1"}
        shutil.rmtree(later, ignore_errors=True)
        steps += 1
    assert steps > 3


def test_half_written_file_is_none(later: Path, shop: Shop) -> None:
    scan_ledger(shop.ledger)
    (place,) = later.iterdir()
    whole = place.read_bytes()
    for end in range(len(whole)):
        place.write_bytes(whole[:end])
        assert facts_cache._load(place) == {}
    place.write_bytes(whole)
    assert facts_cache._load(place).keys() == {shop.ledger.resolve()}


def test_several_at_once(later: Path, shop: Shop) -> None:
    shop.run(shop.payments("2025-03-04,Sale,W1,x,11.00,0.61,10.39,USD,ch_1"))

    def work() -> None:
        for _ in range(60):
            with pytest.MonkeyPatch.context() as patched:
                # What was there does not count, so that each writes each time.
                patched.setattr(facts_cache, "_load", lambda place: {})
                assert scan_ledger(shop.ledger).source_ids == {"card/ch_1"}
            assert scan_ledger(shop.ledger).source_ids == {"card/ch_1"}

    assert in_children(work, work, work) == [0, 0, 0]
    assert scan_ledger(shop.ledger).source_ids == {"card/ch_1"}
    assert {each.suffix for each in later.iterdir()} <= {".facts", ".new"}

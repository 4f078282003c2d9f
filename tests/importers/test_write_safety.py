"""An import that is killed, meets a full disk, or meets another import does no harm."""

from __future__ import annotations

import errno
import json
import os
import random
import resource
import signal
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from offcut.importers import writing
from offcut.importers.importing import import_files
from offcut.importers.problems import ImportRefused
from tests.importers.generated_month import write_month
from tests.importers.killing import CHANGES, FORK, in_child, killed_at_call, put_back
from tests.importers.shop import Shop, new_shop

SALE = "2025-03-04,Sale,W1042,Web order,11.00,0.61,10.39,USD,ch_1"
MINE = b'\n2025-02-20 * "Mine, typed between two imports"  ; no link, no end of line'


class Begun(NamedTuple):
    """A shop before an import, and what an import of files makes of it undisturbed."""

    shop: Shop
    files: list[Path]
    before: dict[str, bytes]
    after: dict[str, bytes]

    def again(self) -> Shop:
        """Put the shop back to what it was before."""
        put_back(self.shop.folder, self.before)
        return self.shop


def begin(folder: Path, shop: Shop, files: list[Path]) -> Begun:
    """Return a shop with files to import, and what becomes of it undisturbed."""
    before = shop.contents()
    twin = Begun(Shop(folder / "undisturbed"), files, before, {})
    twin.shop.folder.mkdir()
    twin.again().run(*files)
    assert twin.shop.contents() != before
    assert twin.shop.transactions()
    return Begun(shop, files, before, twin.shop.contents())


@pytest.fixture(params=["first", "second"])
def begun(request: pytest.FixtureRequest, tmp_path: Path) -> Begun:
    """A first import of two months, and a second one into what the user has changed."""
    files = write_month(tmp_path, "2025-03", 8) + write_month(tmp_path, "2025-04", 8)
    shop = new_shop(tmp_path / "shop")
    if request.param == "second":
        some = shop.file("some.csv", *files[0].read_text().splitlines()[:9])
        shop.run(*write_month(tmp_path, "2025-02", 8), some)
        month = shop.folder / "imports" / "card-2025-03.beancount"
        month.write_bytes(month.read_bytes().replace(b'"Order W', b'"Changed W') + MINE)
    return begin(tmp_path, shop, files)


def is_made_good(begun: Begun) -> None:
    """Check that a broken-off import left a sound ledger, and that the next ends the same.

    The books are those of an undisturbed import, byte for byte, and nothing is left beside.
    """
    begun.shop.transactions()
    for name, contents in begun.before.items():
        assert (begun.shop.folder / name).read_bytes().startswith(contents), name
    begun.shop.run(*begun.files)
    assert begun.shop.contents() == begun.after
    begun.shop.run(*begun.files)
    assert begun.shop.contents() == begun.after


def killed_at(begun: Begun, number: int, counts: tuple[str, ...]) -> bool:
    """Import in a process that is killed just before one of its calls to the system.

    Returns:
      Whether it came so far.
    """
    shop = begun.again()
    return killed_at_call(
        lambda: import_files(begun.files, shop.ledger), shop.folder, number, counts
    )


def test_killed_before_any_change_of_a_name(begun: Begun) -> None:
    steps = 0
    while killed_at(begun, steps, CHANGES):
        is_made_good(begun)
        steps += 1

    # Each file is put in its place, and beside it first.
    assert steps >= len([n for n in begun.after if begun.before.get(n) != begun.after[n]])


@pytest.mark.slow
def test_killed_before_any_opening_of_a_file(begun: Begun) -> None:
    steps = 0
    while killed_at(begun, steps, (*CHANGES, "open")):
        is_made_good(begun)
        steps += 1

    assert steps > 40


@pytest.mark.parametrize("kills", [10, pytest.param(100, marks=pytest.mark.slow)])
def test_killed_at_random_points(begun: Begun, kills: int) -> None:
    # Both shops together: 20 kills in a quick run, 200 in a slow one. Half of them are
    # anywhere, half of them while files are written, which takes the least of the time.
    draw = random.Random(kills)
    whole, writing_takes = _durations(begun)
    killed = 0
    for number in range(kills):
        shop = begun.again()
        reader, writer = os.pipe()

        def work(shop: Shop = shop, writer: int = writer, late: int = number % 2) -> None:
            label = "writing" if late else "reading"

            def tell(what: str, done: int, total: int) -> None:
                if what.startswith(label):
                    os.write(writer, b".")

            import_files(begun.files, shop.ledger, progress=tell)

        child = in_child(work)
        os.close(writer)
        assert os.read(reader, 1) == b"."
        time.sleep(draw.uniform(0, writing_takes if number % 2 else whole))
        os.kill(child.pid, signal.SIGKILL)
        child.join(60)
        killed += child.exitcode == -signal.SIGKILL
        os.close(reader)
        is_made_good(begun)

    assert killed > kills // 3  # on a busy machine some are done sooner


def _durations(begun: Begun) -> tuple[float, float]:
    """Return the seconds of a whole import, and of its writing."""
    times = {}

    def tell(what: str, done: int, total: int) -> None:
        times.setdefault(what.split()[0], time.perf_counter())

    import_files(begun.files, begun.again().ledger, progress=tell)
    end = time.perf_counter()
    return end - times["reading"], end - times["writing"]


@pytest.mark.parametrize("call", ["fsync", "write", "replace", "mkdir", "chmod", "open"])
def test_disk_that_is_full_at_any_call(
    begun: Begun, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    # ENOSPC at the n-th call, for every n until the import gets through.
    placed: list[str] = []
    for full_at in _counting():
        shop, calls = begun.again(), iter(range(full_at, -1, -1))
        placed.clear()
        with monkeypatch.context() as patched:
            _fill_disk(patched, call, calls, placed, shop.folder)
            try:
                import_files(begun.files, shop.ledger)
            except ImportRefused as refused:
                (problem,) = refused.problems
            else:
                break
        assert "No space left on device" in problem.message
        assert "make room" in problem.message or "permissions" in problem.message
        assert "\n" not in str(problem)
        if not placed:
            assert shop.contents() == begun.before
        assert all(name in problem.message for name in placed)
        is_made_good(begun)
    assert full_at > 0
    assert shop.contents() == begun.after


def _counting() -> Iterator[int]:
    yield from range(200)
    raise AssertionError("an import does not take so many calls")


def _fill_disk(
    patched: pytest.MonkeyPatch,
    call: str,
    calls: Iterator[int],
    placed: list[str],
    folder: Path,
) -> None:
    """Let one call of the system fail as on a full disk; note what was put in place."""

    def failing(real: Callable[..., Any], ours: Callable[..., bool]) -> Callable[..., Any]:
        def called(*given: Any, **named: Any) -> Any:
            if ours(*given) and next(calls, 1) == 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return real(*given, **named)

        return called

    def replace(source: Path, target: Path) -> None:
        if call == "replace" and next(calls, 1) == 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        rename(source, target)
        placed.append(target.name)

    rename = os.replace
    patched.setattr(os, "replace", replace)

    class Full:
        """A file on a disk that is full."""

        def __init__(self, file: Any) -> None:
            self.file = file

        def __getattr__(self, name: str) -> Any:
            return getattr(self.file, name)

        def __enter__(self) -> Any:
            return self

        def __exit__(self, *given: object) -> None:
            self.file.close()

        write = property(lambda self: failing(self.file.write, lambda *_: True))

    if call == "open":
        patched.setattr(
            writing,
            "open",
            failing(open, lambda *_: True),
            raising=False,
        )
    elif call == "write":
        opened = open
        patched.setattr(writing, "open", lambda *given: Full(opened(*given)), raising=False)
    elif call == "mkdir":
        patched.setattr(Path, "mkdir", failing(Path.mkdir, lambda *_: True))
    elif call != "replace":
        patched.setattr(os, call, failing(getattr(os, call), lambda *_: True))


def test_file_that_may_not_grow_further(begun: Begun) -> None:
    # A limit of the system's own: a write beyond it ends with EFBIG, part of it written.
    shop = begun.again()
    most = max(map(len, begun.after.values())) - 10

    def work() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        try:
            import_files(begun.files, shop.ledger)
        except ImportRefused as refused:
            (problem,) = refused.problems
            assert "cannot be written (File too large); make room" in problem.message
            os._exit(7)

    child = in_child(work)
    child.join(60)

    assert child.exitcode == 7
    assert shop.contents() == begun.before
    is_made_good(begun)


def test_two_imports_at_once(begun: Begun) -> None:
    shop, results = begun.again(), FORK.Queue()

    def work(files: list[Path]) -> None:
        results.put([file.booked for file in import_files(files, shop.ledger).files])

    children = [in_child(lambda: work(begun.files)) for _ in range(4)]
    booked = [results.get(timeout=60) for _ in children]
    for child in children:
        child.join(60)

    assert shop.contents() == begun.after
    assert sorted(sum(each) > 0 for each in booked) == [False, False, False, True]


def test_folder_that_may_not_be_written() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        locked_up = new_shop(folder / "shop")
        file = locked_up.payments(SALE)
        # What an import needs is loaded here: nobody may not read everybody's Python.
        import_files([file], locked_up.ledger, dry_run=True)
        result = folder / "result"
        result.touch()
        result.chmod(0o666)
        folder.chmod(0o755)
        locked_up.folder.chmod(0o555)

        def work() -> None:
            if os.geteuid() == 0:
                os.setuid(65534)  # nobody: root may write anywhere
            try:
                import_files([file], locked_up.ledger)
            except ImportRefused as refused:
                result.write_text(json.dumps([str(each) for each in refused.problems]))

        child = in_child(work)
        child.join(60)

        (line,) = json.loads(result.read_text())
        assert line.startswith(
            "main.beancount: its folder cannot be written to (Permission"
        )
        locked_up.folder.chmod(0o755)
        assert sorted(locked_up.contents()) == [
            *("main.beancount", "offcut.toml", "payments.csv"),
        ]


def test_file_that_an_editor_saves_meanwhile_is_not_written_over(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = shop.payments(SALE)
    saved = shop.ledger.read_bytes() + b"; typed while the import ran\n"

    def editor(path: Path, contents: bytes) -> Path:
        shop.ledger.write_bytes(saved)
        return beside(path, contents)

    beside = writing._written_beside
    with monkeypatch.context() as patched:
        patched.setattr(writing, "_written_beside", editor)
        with pytest.raises(ImportRefused, match="another program has changed this file"):
            shop.run(file)

    assert shop.ledger.read_bytes() == saved
    assert not list(shop.folder.glob("imports/*"))
    shop.run(file)
    assert shop.ledger.read_bytes().startswith(saved)


def test_names_are_on_the_disk_before_the_next_file_is_placed(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    # After a loss of power the disk has what was synchronised: so a file's contents go
    # before its name, and its name before the next file's, the main file's last.
    done: list[str] = []
    replace, fsync = os.replace, os.fsync

    def noted_replace(source: Path, target: Path) -> None:
        done.append(f"place {target.name}")
        replace(source, target)

    def noted_fsync(descriptor: int) -> None:
        name = Path(os.readlink(f"/proc/self/fd/{descriptor}")).name
        done.append(f"sync {name[1:].split('.beancount')[0]}" if "." in name else name)
        fsync(descriptor)

    if not Path("/proc/self/fd").exists():
        pytest.skip("needs /proc to name what is synchronised")
    monkeypatch.setattr(os, "replace", noted_replace)
    monkeypatch.setattr(os, "fsync", noted_fsync)

    shop.run(shop.payments(SALE))

    assert done == [
        *("sync accounts", "sync card-2025-03", "sync main"),
        *sorted(["shop", shop.folder.parent.name], key=done.index),
        *("place accounts.beancount", "imports"),
        *("place card-2025-03.beancount", "imports"),
        *("place main.beancount", "shop"),
    ]

"""What is kept of files from one import to the next never changes what is found.

Ledgers of several files are edited, renamed, deleted and appended to at random, and the
cache is spoiled; each time all that an import asks is asked twice: with the cache, and
with files that are all read.
"""

from __future__ import annotations

import os
import random
import re
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers import facts_cache, file_facts, known
from offcut.importers.bank.rows import rows_wait
from offcut.importers.bank.state import WAITING
from offcut.importers.known import list_prices, scan_ledger
from offcut.importers.known_ids import KnownIds
from offcut.importers.layout import shipped_layouts
from offcut.importers.learning.parked_lines import parked_lines
from offcut.importers.month_files import additions
from offcut.importers.opening_balances import begun_in
from offcut.importers.order_states import order_transactions

IDS = ("card/1", "card/2", "card/3", 'card/\\"q\\" \\\\', "card/é", "shop/W1", "shop/W2")
OPENING = "card/opening-2025-01-01-USD/card/1"
DIGESTS = ("card/0123456789abcdef", "card/0123456789abcdef-gox")
ORDERS = ("W1", "W2", "W3")
LINES = (
    *(f'  source-id: "{name}"' for name in (*IDS, OPENING, *DIGESTS)),
    *(f'\tlines-id:   "{name}" ; an order' for name in IDS),
    *(f'2025-03-04 * "{name}" ^order-W1 ^order-W2' for name in ("x", "source-id: ")),
    '2025-03-05 * "hides -id: " ^order-W3',
    '2025-03-05 * "open',
    'over lines -id: "',
    "2025-03-06 ! ^order-W2 ; not settled",
    '  movement: "sale"',
    ';  source-id: "card/3"',
    '  other-source-id: "card/3"',
    '  other-source-id: "card/opening-2025-02-02-EUR/card/2"',
    '  source-id: ""',
    "  Assets:Clearing:Card  4.00 USD",
    '    item-text: "Owl"',
    "    quantity: 1",
    '  parked-id: "shop/W1/1"',
    "  Income:Suspense:Web  -4.00 USD ; ^bank-1",
    "2025-01-01 open Assets:A  USD,EUR",
    "2025/01/01\topen Assets:B",
    "2025-02-01 close Assets:A",
    "2025-01-01 commodity HERON-STK ; ^order-W1",
    '  list-price: 4.00 USD ; "',
    'include "other/*.beancount"',
    'include "imports/a.beancount"',
    "",
)
NAMES = ("main", "other/x", "other/y", "imports/a", "imports/b", "imports/c")
FILES = st.lists(st.sampled_from(LINES), max_size=14)
SPOILS = ("cut", "flip", "garbage", "version", "gone", "empty", "folder", "unreadable")
EDITS = ("write", "append", "swap", "rename", "delete", "crlf", "bom", "binary", "touch")
CHANGES = st.tuples(
    st.sampled_from((*EDITS, *EDITS, "cache")), st.sampled_from(NAMES), FILES, st.randoms()
)


@pytest.fixture(autouse=True)
def eager(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep facts of files of any size, as if some time had passed since they changed."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(facts_cache, "LARGE", 0)
    later = facts_cache.time_ns() + 10**12
    monkeypatch.setattr(facts_cache, "time_ns", lambda: later)


def answers(ledger: Path, draw: random.Random) -> dict[str, Any]:
    """Return all that an import asks of a ledger."""
    there = scan_ledger(ledger)
    asked = [*IDS, *DIGESTS, OPENING, "", "card/9", "shop/W1#2"]
    draw.shuffle(asked)
    if draw.random() < 0.7:
        expected = draw.sample(asked, draw.randrange(len(asked)))
        there.ids.expect(expected, draw.choice((len(expected), 1000)))
    layouts = list(shipped_layouts().values())
    orders = draw.sample(ORDERS, draw.randrange(len(ORDERS)))
    found = {
        "source": {each for each in asked if each in there.source_ids},
        "lines": {each for each in asked if each in there.lines_ids},
        "begun": begun_in(there.source_ids),
        "orders": order_transactions(there, orders),
        "parked": [each._replace(entry=None) for each in parked_lines(there, layouts)],
        "waits": rows_wait(there.files.with_marks(WAITING)),
        "prices": list_prices(there),
        "declared": (there.included, there.commodities, there.accounts, there.limits),
        "added": additions((), {"Assets:C"}, ledger.resolve(), there),
    }
    found["all"] = (set(there.source_ids), set(there.lines_ids), dict(there.files))
    return found


def full(ledger: Path, draw: random.Random) -> dict[str, Any]:
    """Return the same of a ledger whose files are all read."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(facts_cache, "LARGE", 1 << 62)
        assert not isinstance(scan_ledger(ledger).source_ids, KnownIds)
        return answers(ledger, draw)


def spoil(place: Path, how: str, draw: random.Random) -> Iterator[None]:
    """Do something to a cache file, and undo what would keep it from being written."""
    before = place.read_bytes() if place.exists() else b""
    at = draw.randrange(len(before) or 1)
    if how == "cut":
        place.write_bytes(before[:at])
    elif how == "flip" and before:
        place.write_bytes(before[:at] + bytes([before[at] ^ 1]) + before[at + 1 :])
    elif how == "garbage":
        place.write_bytes(draw.randbytes(at))
    elif how == "gone":
        place.unlink(missing_ok=True)
    elif how == "empty":
        place.write_bytes(b"")
    elif how == "folder":
        place.unlink(missing_ok=True)
        place.mkdir()
    elif how == "unreadable":
        place.unlink(missing_ok=True)
        place.symlink_to(place)
    with pytest.MonkeyPatch.context() as patched:
        if how == "version":
            patched.setattr(facts_cache, "_KEY", b"another")
        yield
    if how == "folder":
        place.rmdir()
    elif how == "unreadable":
        place.unlink()


def change(path: Path, how: str, lines: list[str], draw: random.Random) -> None:
    """Change a file, or make it."""
    text = "".join(f"{line}\n" for line in lines).encode()
    before = path.read_bytes() if path.exists() else b""
    if how == "write":
        path.write_bytes(text)
    elif how == "append":
        path.write_bytes(before + text)
    elif how == "swap":  # of the same size
        path.write_bytes(before.replace(b"card/1", b"card/4").replace(b"W2", b"W3"))
    elif how == "rename" and before:
        path.rename(path.with_name("renamed.beancount"))
    elif how == "delete" and path.stem != "main":
        path.unlink(missing_ok=True)
    elif how == "crlf":
        path.write_bytes(before.replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))
    elif how == "bom":
        path.write_bytes(b"\xef\xbb\xbf" + before)
    elif how == "binary":
        at = draw.randrange(len(before) + 1)
        path.write_bytes(before[:at] + draw.choice((b"\xff", b"\0", b'"')) + before[at:])
    elif how == "touch" and before:
        path.touch()


@given(st.lists(FILES, min_size=len(NAMES), max_size=len(NAMES)), st.lists(CHANGES))
def test_what_is_kept_changes_nothing(
    files: list[list[str]], changes: list[tuple[str, str, list[str], random.Random]]
) -> None:
    with TemporaryDirectory() as name:
        folder, draw = Path(name), random.Random(len(files))
        for at, (each, lines) in enumerate(zip(NAMES, files, strict=True)):
            path = folder / f"{each}.beancount"
            path.parent.mkdir(exist_ok=True)
            change(path, "write", lines, draw)
            os.utime(path, ns=(at, 10**18 + at))
        ledger = folder / "main.beancount"
        place = facts_cache._place(ledger.resolve())
        assert place is not None

        changes = [("touch", "main", [], draw), *changes]
        for at, (how, each, lines, own) in enumerate(changes):
            path = folder / f"{each}.beancount"
            if how == "cache":
                spoiled = spoil(place, own.choice(SPOILS), own)
            else:
                change(path, how, lines, own)
                main = folder / "renamed.beancount"
                if not ledger.exists():
                    main.rename(ledger)
                if path.exists():
                    os.utime(path, ns=(at, 10**18 + 100 + at))
                spoiled = iter(())
            next(spoiled, None)
            seed = own.random()
            found, expected = (
                asked(ledger, random.Random(seed)) for asked in (answers, full)
            )
            next(spoiled, None)
            for question, answer in expected.items():
                assert found[question] == answer, question
            for contents in expected["all"][2].values():
                heads = file_facts.heads_of(contents)
                for what in (known._DECLARED, known._INCLUDE):
                    assert what.findall(b"\n" + heads) == what.findall(b"\n" + contents)


def test_kept_facts_are_used_and_only_files_that_may_have_something_are_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "imports").mkdir()
    for each in "abc":
        path = tmp_path / "imports" / f"{each}.beancount"
        path.write_text(f'2025-03-04 * "x" ^order-{each}\n  source-id: "card/{each}"\n')
    ledger = tmp_path / "main.beancount"
    ledger.write_text('include "imports/*"\n')
    scan_ledger(ledger)
    there, read = scan_ledger(ledger), set()
    read_bytes = Path.read_bytes

    def noting(path: Path) -> bytes:
        read.add(path.stem)
        return read_bytes(path)

    monkeypatch.setattr(Path, "read_bytes", noting)
    there.ids.expect((f"card/{each}" for each in "xyz"), 3)
    assert "card/x" not in there.source_ids
    assert len(there.included) == 4
    assert read == set()
    assert order_transactions(there, ["b"]).keys() == {"b"}
    assert read == {"b"}
    assert "card/c" in there.source_ids
    assert read == {"b", "c"}
    assert there.source_ids == {"card/a", "card/b", "card/c"}
    assert read == {"main", "a", "b", "c"}


def test_facts_that_other_expressions_made_are_of_another_version() -> None:
    forms = [each for each in vars(file_facts).values() if isinstance(each, re.Pattern)]

    assert forms
    assert all(repr(form.pattern).encode() in file_facts.MADE_BY for form in forms)

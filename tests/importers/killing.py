"""Kill what writes to a ledger's folder, at each of its steps or at any moment."""

from __future__ import annotations

import multiprocessing
import os
import random
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

FORK = multiprocessing.get_context("fork")
# What a process asks of the system that can change a file, as auditing names it.
CHANGES = ("os.rename", "os.remove", "os.mkdir", "os.chmod")


def in_child(work: Callable[[], object]) -> Any:
    """Start some work in a process that is a copy of this one."""
    child = FORK.Process(target=work)
    child.start()
    return child


def put_back(folder: Path, contents: dict[str, bytes]) -> None:
    """Make a folder have these files and no others."""
    for path in folder.iterdir():
        shutil.rmtree(path) if path.is_dir() else path.unlink()
    for name, text in contents.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text)


def killed_at_call(
    work: Callable[[], object], folder: Path, number: int, calls: tuple[str, ...] = CHANGES
) -> bool:
    """Do some work in a process that is killed just before one of its calls to the system.

    Args:
      work: The work.
      folder: Where the calls are that count.
      number: The number of the call, from 0.
      calls: The calls that count.

    Returns:
      Whether it came so far.
    """
    left, inside = iter(range(number, -1, -1)), str(folder)

    def count(event: str, given: tuple[object, ...]) -> None:
        ours = event in calls and any(inside in str(each) for each in given)
        if ours and next(left) == 0:
            os.kill(os.getpid(), signal.SIGKILL)

    def watched() -> None:
        sys.addaudithook(count)
        work()

    child = in_child(watched)
    child.join(60)
    assert child.exitcode in (0, -signal.SIGKILL)
    return bool(child.exitcode)


def killed_at_moment(
    work: Callable[[], object], seconds: float, draw: random.Random
) -> bool:
    """Do some work in a process that is killed at any moment of so many seconds.

    Returns:
      Whether it was killed before its end.
    """
    reader, writer = os.pipe()

    def begun() -> None:
        os.write(writer, b".")
        work()

    child = in_child(begun)
    os.close(writer)
    assert os.read(reader, 1) == b"."
    time.sleep(draw.uniform(0, seconds))
    os.kill(child.pid, signal.SIGKILL)
    child.join(60)
    os.close(reader)
    return bool(child.exitcode == -signal.SIGKILL)

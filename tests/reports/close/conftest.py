"""Fixtures: the ledger of a test, in a folder of its own, to be closed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.reports.close.closing_desk import Desk


@pytest.fixture
def desk(request: pytest.FixtureRequest, tmp_path: Path) -> Desk:
    """The ledger in the test's docstring, in a folder of its own; March 2025 is closed."""
    return Desk(tmp_path, request.function.__doc__ or "")


@pytest.fixture
def new_desk(tmp_path: Path) -> Callable[..., Desk]:
    """Return what puts a ledger into a folder of its own."""

    def made(text: str, month: str = "2025-03", name: str = "books") -> Desk:
        folder = tmp_path / name
        folder.mkdir()
        return Desk(folder, text, month)

    return made

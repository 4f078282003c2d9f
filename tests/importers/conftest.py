"""Fixtures: a shop to import into."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.importers.shop import Shop, new_shop


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with two products, and rules for their item texts."""
    return new_shop(tmp_path / "shop")


@pytest.fixture
def empty_shop(tmp_path: Path) -> Shop:
    """A shop whose ledger is empty, without rules."""
    return new_shop(tmp_path / "empty", ledger="", settings="")

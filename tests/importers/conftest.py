"""Fixtures: a shop to import into, and how hard hypothesis looks."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

from tests.importers.shop import Shop, new_shop

settings.register_profile("quick", max_examples=25, deadline=None)
settings.register_profile("few", max_examples=5, deadline=None)
settings.register_profile("thorough", max_examples=10_000, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "quick"))


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with two products, and rules for their item texts."""
    return new_shop(tmp_path / "shop")


@pytest.fixture
def empty_shop(tmp_path: Path) -> Shop:
    """A shop whose ledger is empty, without rules."""
    return new_shop(tmp_path / "empty", ledger="", settings="")

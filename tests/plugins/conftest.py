"""Fixtures for ledgers whose stock is costed."""

from __future__ import annotations

from collections.abc import Callable

import pytest


@pytest.fixture
def line_of(request: pytest.FixtureRequest) -> Callable[[str], int]:
    """Return the line of the test's docstring, the first is 1, that holds a text."""

    def find(text: str) -> int:
        lines = request.function.__doc__.splitlines()
        (at,) = (at for at, line in enumerate(lines, start=1) if text in line)
        return at

    return find

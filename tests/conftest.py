"""Fixtures: a test's docstring is its ledger, as in beancount's own tests.

HYPOTHESIS_PROFILE says how many examples property tests try: `few`, `quick`, `thorough`.
"""

from __future__ import annotations

import os
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from beancount import loader
from beancount.core import data
from beancount.ops import validation
from hypothesis import settings

# Here and nowhere below: what is loaded last holds for all tests.
settings.register_profile("few", max_examples=5, deadline=None)
settings.register_profile("quick", max_examples=25, deadline=None)
settings.register_profile("thorough", max_examples=10_000, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "quick"))


class Loaded(NamedTuple):
    """A loaded ledger."""

    entries: data.Directives
    errors: list[Any]
    options: dict[str, Any]


def load_text(text: str) -> Loaded:
    """Load a ledger from text, with the slow validation that `bean-check` runs.

    It is called here and not passed to the loader, which would keep it for every
    later load of the process.
    """
    entries, errors, options = loader.load_string(textwrap.dedent(text))
    errors.extend(validation.validate_data_types(entries, options))
    return Loaded(entries, errors, options)


@pytest.fixture(autouse=True, scope="session")
def cache_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A cache folder of the tests, in the place of the user's."""
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_CACHE_HOME", str(folder))
        yield folder


@pytest.fixture
def ledger(request: pytest.FixtureRequest) -> Loaded:
    """The ledger in the test's docstring."""
    return load_text(request.function.__doc__)


@pytest.fixture
def sound_ledger(ledger: Loaded) -> Loaded:
    """The ledger in the test's docstring, which must load without errors."""
    assert [error.message for error in ledger.errors] == []
    return ledger


@pytest.fixture
def load() -> Callable[[str], Loaded]:
    """Return what loads a ledger that several tests share; it must be sound."""

    def loaded(text: str) -> Loaded:
        ledger = load_text(text)
        assert [error.message for error in ledger.errors] == []
        return ledger

    return loaded

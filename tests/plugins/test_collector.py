"""The pause of the garbage collector: it ends, and small work lets no garbage pile up."""

from __future__ import annotations

import gc

import pytest

from offcut.plugins import collector
from offcut.plugins.collector import collector_paused


@pytest.fixture
def promoted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Collect the calls that make everything count as old."""
    calls: list[str] = []
    monkeypatch.setattr(gc, "freeze", lambda: calls.append("freeze"))
    monkeypatch.setattr(gc, "unfreeze", lambda: calls.append("unfreeze"))
    return calls


def test_the_collector_is_off_inside_and_on_again_after_an_error() -> None:
    with pytest.raises(ZeroDivisionError), collector_paused():
        assert not gc.isenabled()
        raise ZeroDivisionError
    assert gc.isenabled()


def test_a_collector_that_was_off_stays_off() -> None:
    gc.disable()
    try:
        with collector_paused():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_few_new_objects_stay_young(promoted: list[str]) -> None:
    with collector_paused():
        kept = [[] for _ in range(1000)]
    assert len(kept) == 1000
    assert promoted == []


def test_a_great_many_count_as_old(
    promoted: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(collector, "LARGE", 20_000)
    with collector_paused():
        kept = [[] for _ in range(50_000)]
    assert len(kept) == 50_000
    assert promoted == ["freeze", "unfreeze"]

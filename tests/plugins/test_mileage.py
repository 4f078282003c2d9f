"""The log of trips: what it says, and what is wrong with it, at its line."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.plugins.mileage import MileageError, trips
from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints


def test_a_trip_is_read(sound_ledger: Loaded) -> None:
    """
    plugin "offcut.plugins"
    2025-05-24 custom "mileage" 84 "Harbour fair, there and back"
      event: "harbour-fair-2025"
      vehicle: "van"
    2025-06-01 custom "mileage" 3.5 "Post office"
    """
    fair, post = trips(sound_ledger.entries)
    assert (fair.distance, fair.purpose) == (84, "Harbour fair, there and back")
    assert (fair.event, fair.channel, fair.vehicle) == ("harbour-fair-2025", "", "van")
    assert (post.distance, post.event) == (Decimal("3.5"), "")


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        ("", "Write it as custom"),
        (" 84", "Write it as custom"),
        (' "Harbour fair" 84', "Write it as custom"),
        (' 84 "Fair" "van"', "Write it as custom"),
        (' 84 MILES "Fair"', "Write it as custom"),
        (' 0 "Fair"', "The distance must be above zero, here it is 0"),
        (' -3 "Fair"', "The distance must be above zero, here it is -3"),
        (' 84 " "', "The purpose is empty"),
        (' 84 "Fair"\n  event: 2025', 'event must be text in quotes: event: "2025"'),
    ],
)
def test_a_malformed_trip_is_told_at_its_line(words: str, complaint: str) -> None:
    loaded = load_text(
        f'plugin "offcut.plugins"\n; a line\n2025-05-24 custom "mileage"{words}\n'
    )
    # Where nothing follows the type, a plugin of beancount's own stumbles as well.
    (error,) = [each for each in loaded.errors if isinstance(each, MileageError)]
    assert complaint in error.message
    assert error.source["lineno"] == 3
    assert not list(trips(loaded.entries))


@given(st.decimals(min_value="0.001", max_value=10**6, places=3), st.text("ab", min_size=1))
def test_a_log_changes_nothing_in_the_books(distance: Decimal, purpose: str) -> None:
    loaded = load_text(
        f'plugin "offcut.plugins"\n2025-05-24 custom "mileage" {distance} "{purpose}"\n'
    )
    assert complaints(loaded) == []
    (entry,) = loaded.entries
    (trip,) = trips([entry])
    assert (trip.distance, trip.purpose) == (distance, purpose)

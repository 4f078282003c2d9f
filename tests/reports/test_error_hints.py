"""Hints beside beancount's errors: what to do, and never another place or kind."""

from __future__ import annotations

from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data

from offcut.plugins.stock_events import Shortage
from offcut.reports.error_hints import with_hints
from tests.conftest import load_text

OPENS = """\
2025-01-01 open Assets:Cash USD
2025-01-01 open Expenses:Software
"""


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        (
            '2025-02-01 * "x"\n  Assets:Cash  1 USD\n  Assets:Cash\n  Expenses:Software\n',
            "One posting of a transaction may be left without an amount, not more",
        ),
        (
            "2025-02-01 balance Assets:Cash  5.00 USD\n",
            "A row before that day is missing, or is there twice",
        ),
        (
            '2025-02-01 * "x"\n  Assets:Cash  5.00 EUR\n  Expenses:Software\n',
            "Correct the currency, or add it to the open line of the account",
        ),
        (
            '2025-02-01 * "x"\n  Assets:Cash  5.00 USD\n  Expenses:Software  -4.00 USD\n',
            "Its amounts have to add up to zero; what goes out is negative",
        ),
        (
            '2024-02-01 * "x"\n  Assets:Cash  5.00 USD\n  Expenses:Software\n',
            "Correct the date, or that of the account, which is opened on 2025-01-01",
        ),
        ("2025-02-01 open Assets:Cash\n", "already; take one of the two lines out"),
    ],
)
def test_hint_is_added_and_nothing_else_changes(text: str, hint: str) -> None:
    ledger = load_text(OPENS + text)
    assert ledger.errors
    hinted = with_hints(ledger.errors, ledger.entries)
    assert any(error.message.endswith(hint) for error in hinted)
    for before, after in zip(ledger.errors, hinted, strict=True):
        assert type(after) is type(before)
        assert (after.source, after.entry) == (before.source, before.entry)
        assert after.message.startswith(before.message.rstrip())


def test_text_in_another_encoding(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_bytes(
        OPENS.encode() + '2025-02-01 note Assets:Cash "M\xf6we"\n'.encode("latin-1")
    )
    entries, errors, _ = loader.load_file(str(path))
    (error,) = with_hints(errors, entries)
    assert error.message.endswith("Save the file as UTF-8 in your editor")


def test_errors_of_ours_stay_as_they_are() -> None:
    error = Shortage(data.new_metadata("x", 1), "2 short", None, "X", 1, 2)
    assert with_hints([error], []) == [error]


def test_file_that_has_gone_since() -> None:
    """The line is looked up for a hint; where it cannot be, there is a general one."""
    ledger = load_text('02.02.2025 * "x"\n')
    (error,) = [each for each in ledger.errors if "syntax" in each.message][:1]
    gone = error._replace(source=data.new_metadata("/nowhere/main.beancount", 1))
    (hinted,) = with_hints([gone], [])
    assert "dates are 2025-01-31, amounts 1234.50 USD" in hinted.message

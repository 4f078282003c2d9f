"""The `[close]` table of `offcut.toml`."""

from __future__ import annotations

from pathlib import Path

import pytest

from offcut.importers.close_settings import CloseSettings
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import load_settings


def close_of(folder: Path, text: str) -> CloseSettings:
    (folder / "offcut.toml").write_text(text, "utf-8")
    return load_settings(folder / "main.beancount").close


def test_what_is_usual(tmp_path: Path) -> None:
    usual = CloseSettings(3, 30, frozenset())
    assert load_settings(tmp_path / "main.beancount").close == usual
    assert close_of(tmp_path, "[close]\n") == usual


def test_all_that_can_be_set(tmp_path: Path) -> None:
    text = (
        "[close]\ncount-every-months = 6\nreceivable-days = 45\n"
        'not-expected = ["labels", "my-shop"]\n'
    )
    assert close_of(tmp_path, text) == CloseSettings(
        6, 45, frozenset({"labels", "my-shop"})
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[close]\ncount-every-month = 3",
            "[close] unknown key 'count-every-month' (did you mean count-every-months?)",
        ),
        ("[close]\nxyz = 3", "known: count-every-months, receivable-days, not-expected"),
        ("close = 3", "[close]: expected a table"),
        ("[close]\nreceivable-days = 0", "a whole number from 1 to 3660, found 0"),
        ("[close]\nreceivable-days = 1.5", "expected a whole number"),
        ("[close]\nreceivable-days = true", "expected a whole number"),
        ("[close]\ncount-every-months = 100000000000", "a whole number from 1 to 120"),
        ('[close]\ncount-every-months = "3"', "expected a whole number"),
        ('[close]\nnot-expected = "card"', "expected a list of sources"),
        ("[close]\nnot-expected = [3]", "expected a list of sources"),
        ('[close]\nnot-expected = ["Card Shop"]', "expected a list of sources"),
        ("[clos]\nreceivable-days = 3", "unknown table 'clos' (did you mean close?)"),
    ],
)
def test_mistakes_are_told(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(ImportRefused) as refused:
        close_of(tmp_path, text)
    (problem,) = refused.value.problems
    assert message in problem.message

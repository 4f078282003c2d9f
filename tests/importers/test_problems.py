"""Problems are one line each, which says what came of it."""

from __future__ import annotations

import pytest

from offcut.importers.problems import ImportRefused, Problem

WRONG = Problem("a.csv", 3, "Date", "expected a day, found 'x'; correct the row")


def test_an_import_says_that_nothing_was_imported() -> None:
    assert str(WRONG) == (
        "a.csv: row 3, column Date: expected a day, found 'x'; correct the row, nothing "
        "was imported"
    )


@pytest.mark.parametrize(
    ("outcome", "end"),
    [
        ("nothing was booked", "correct the row, nothing was booked"),
        ("", "correct the row"),
    ],
)
def test_other_commands_say_what_came_of_theirs(outcome: str, end: str) -> None:
    assert WRONG.line(outcome).endswith(end)
    assert "imported" not in WRONG.line(outcome)


def test_a_whole_file_has_no_row() -> None:
    line = Problem("a.csv", None, None, "is empty").line("nothing was written")

    assert line == "a.csv: is empty, nothing was written"


def test_what_works_a_terminal_is_not_shown() -> None:
    line = Problem("a\x1b[2J.csv", None, None, "x\ny").line("")

    assert line == "a\ufffd[2J.csv: x\ufffdy"


def test_of_many_the_last_says_how_many_more() -> None:
    refused = ImportRefused([WRONG] * 23)

    assert len(refused.problems) == 21
    assert (
        refused.problems[-1]
        .line("")
        .endswith("and 3 more problems; correct those above first")
    )

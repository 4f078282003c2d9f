"""The guides, run as they are printed, each on the books of the first."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from beancount import loader
from click.testing import CliRunner
from rich.cells import cell_len

from offcut.reports.command import main
from offcut.reports.guides import NAMES, guide_text, guide_title

BLOCK = re.compile(r"^```sh\n(.*?)^```$", re.S | re.M)
# What a guide says that its commands show, and they must.
SHOWN = {
    "first-month": [
        "Barn Owl sticker: 2 lines, 28.00 USD",
        "January 2025 is NOT DONE: 2 points stand between it and done.",
        "2025-02-01 balance Assets:Bank:Checking              108.95 USD",
        "January 2025 is done: nothing is left to do.",
        "Wrote pages/2025-01.html",
    ],
    "fair": ["short 0.50 USD", "harbour-2025 56.00"],
    "manufacturer-order": ["OWL-PIN     100     2.500 250.00"],
    "count": ["Corrected by counts  -0.15", "Taken out otherwise  -0.15"],
    "tax-quarter": [
        "An estimate, not advice",
        "Assets:Bank:TaxReserve                               7.61 USD",
    ],
    "year-end": ["Schedule C (Form 1040)", "Wrote 2025.xlsx"],
    "own-layout": ["Wrote layouts/reader.toml", "3 rows = 3 booked"],
    "own-plugin": ["This bill has no payee"],
}
# Its last lines break a rule, to show what happens.
BREAKS_A_RULE = "own-plugin"


def as_printed(name: str, folder: Path) -> str:
    """Run a guide's blocks in a folder, one after the other; return what they print."""
    blocks = BLOCK.findall(guide_text(name))
    assert blocks
    tools = os.pathsep.join((str(Path(sys.executable).parent), os.environ["PATH"]))
    environment = {**os.environ, "PATH": tools}
    environment.pop("OFFCUT_LEDGER", None)
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", "\n".join(blocks)],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, (done.stdout[-3000:], done.stderr)
    return done.stdout


@pytest.fixture(scope="session")
def first_month(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The books that the first guide founds, and what it printed."""
    folder = tmp_path_factory.mktemp("guide")
    return folder / "books", as_printed("first-month", folder)


def test_first_month_ends_with_a_month_that_is_done(first_month: tuple[Path, str]) -> None:
    books, printed = first_month
    _check(books, printed, "first-month")
    assert (books / "pages" / "2025-01.html").stat().st_size > 1000


@pytest.mark.parametrize("name", NAMES[1:])
def test_guide_runs_as_printed(
    name: str, first_month: tuple[Path, str], tmp_path: Path
) -> None:
    books = tmp_path / "books"
    shutil.copytree(first_month[0], books)
    _check(books, as_printed(name, books), name)


def _check(books: Path, printed: str, name: str) -> None:
    """Check what a guide printed, and the books that it leaves."""
    for text in SHOWN[name]:
        assert text in printed, printed
    for line in printed.splitlines():
        # beancount's own command prints whole paths.
        assert cell_len(line.rstrip()) <= 80 or str(books) in line, line
    _, errors, _ = loader.load_file(str(books / "main.beancount"))
    assert bool(errors) == (name == BREAKS_A_RULE), errors


def test_every_guide_is_listed_and_printed() -> None:
    listed = CliRunner().invoke(main, ["guide"])
    assert listed.exit_code == 0
    for name in NAMES:
        assert f"{name:20} {guide_title(name)}" in listed.stdout
        assert CliRunner().invoke(main, ["guide", name]).stdout == guide_text(name)
    folder = Path(sys.modules["offcut.reports.guides"].__file__ or "").parent
    assert {path.stem for path in folder.glob("*.md")} == set(NAMES)
    assert set(SHOWN) == set(NAMES)


def test_unknown_guide_names_the_others() -> None:
    result = CliRunner().invoke(main, ["guide", "first"])
    assert result.exit_code == 2
    assert "first-month" in result.stderr


@pytest.mark.parametrize("name", NAMES)
def test_guide_is_short_and_names_commands_that_there_are(name: str) -> None:
    text = guide_text(name)
    assert len(text.splitlines()) <= 150
    assert max(map(len, text.splitlines())) <= 80
    for command in re.findall(r"(?:^|`)offcut ([a-z][a-z-]*)", text, re.M):
        assert command in main.commands, command


@pytest.mark.parametrize("name", ["tax-quarter", "year-end"])
def test_guides_with_tax_figures_say_that_they_are_estimates(name: str) -> None:
    text = " ".join(guide_text(name).split())
    assert "an estimate, not advice: rules differ by place" in text
    assert "ask a licensed accountant" in text

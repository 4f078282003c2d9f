"""`offcut items`, from the outside: with answers, without, and at a terminal."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from offcut.importers.importing import import_files
from offcut.reports.command import main

LEDGER = """\
option "operating_currency" "USD"
2025-01-01 commodity HERON-STK
  name: "Heron at Dusk, 3 in sticker"
  stock: "product"
2025-01-01 commodity OWL-STK
  name: "Barn Owl, 3 in sticker"
  stock: "product"
"""
ORDERS = """\
Order,Date,Item,Quantity,Unit price,Discount,Shipping,Sales tax,Currency
W1,2025-03-03,Owl sticker,2,4.00,0.00,0.00,0.00,USD
W2,2025-03-09,Owl sticker,1,4.00,0.00,0.00,0.00,USD
W3,2025-03-04,Wrapping,1,1.00,0.00,0.00,0.00,USD
"""
START = "from offcut.reports.command import main; main(prog_name='offcut')"


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """A ledger with two texts that no rule knows."""
    path = tmp_path / "main.beancount"
    path.write_text(LEDGER, "utf-8")
    orders = tmp_path / "orders.csv"
    orders.write_text(ORDERS, "utf-8")
    import_files([orders], path)
    return path


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["items", *map(str, arguments)])


def test_without_a_terminal_it_lists_and_proposes(ledger: Path) -> None:
    before = sorted((path, path.read_bytes()) for path in ledger.parent.rglob("*.bean*"))
    result = run(ledger)

    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[:3] == [
        "2 item texts wait in suspense:",
        "  Owl sticker: 2 lines, 12.00 USD, latest 2025-03-09, in Income:Suspense:Web",
        "  Wrapping: 1 line, 1.00 USD, latest 2025-03-04, in Income:Suspense:Web",
    ]
    proposed = result.stdout[result.stdout.index("[[items]]") :]
    assert tomllib.loads(proposed)["items"] == [
        {"text": "Owl sticker", "product": "OWL-STK"},
        {"text": "Wrapping", "product": "YOUR-PRODUCT"},
    ]
    assert before == sorted(
        (path, path.read_bytes()) for path in ledger.parent.rglob("*.bean*")
    )


def test_answers_are_learned(ledger: Path) -> None:
    result = run(ledger, "--rule", "Owl*=OWL-STK", "--rule", "Wrapping=Income:Extras:Web")

    assert result.exit_code == 0
    assert result.stdout.splitlines()[0] == "2 rules added, 3 parked lines booked"
    assert tomllib.loads((ledger.parent / "offcut.toml").read_text("utf-8"))["items"] == [
        {"text": "Owl*", "product": "OWL-STK"},
        {"text": "Wrapping", "account": "Income:Extras:Web"},
    ]
    assert run(ledger).stdout == "No item text waits in suspense.\n"


def test_what_is_left_is_said(ledger: Path) -> None:
    result = run(ledger, "--rule", "Owl*=OWL-STK")

    assert result.stdout.splitlines()[-1] == "Still not known: 1 item text"


def test_a_dry_run_says_what_would_be(ledger: Path) -> None:
    result = run(ledger, "--rule", "Owl*=OWL-STK", "--dry-run")

    assert result.stdout.splitlines()[0] == (
        "1 rule would be added, 2 parked lines would be booked"
    )
    assert not (ledger.parent / "offcut.toml").exists()


def test_a_wrong_answer_is_refused_on_one_line(ledger: Path) -> None:
    result = run(ledger, "--rule", "Owl*=OWL-STC")

    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr == (
        "--rule: expected a product of the ledger, found 'OWL-STC'; write OWL-STK if you "
        "mean that, or declare the product in the ledger, nothing was written\n"
    )
    assert not (ledger.parent / "offcut.toml").exists()


def test_a_missing_ledger_is_refused(tmp_path: Path) -> None:
    result = run(tmp_path / "none.beancount")

    assert result.exit_code == 1
    assert result.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_help_fits_a_terminal() -> None:
    output = run("--help").stdout
    assert max(map(len, output.splitlines())) <= 80
    assert "offcut items main.beancount --rule" in output


def at_terminal(ledger: Path, typed: str) -> tuple[int, str]:
    """Run the command at a terminal where somebody types; return code and screen."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", START, "items", str(ledger)],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env=os.environ | {"COLUMNS": "80", "TERM": "dumb"},
        start_new_session=True,
    )
    os.close(theirs)
    shown, waiting, deadline = b"", list(typed), time.monotonic() + 60
    asked = 0
    while time.monotonic() < deadline:
        try:
            read = os.read(ours, 4096)
        except OSError:  # the other end is closed
            break
        if not read:
            break
        shown += read
        while shown.count(b"It is: ") > asked and waiting:
            asked += 1
            line = "".join(waiting[: waiting.index("\n") + 1])
            del waiting[: len(line)]
            os.write(ours, line.encode())
    os.close(ours)
    return process.wait(timeout=60), shown.decode()


def test_at_a_terminal_each_text_is_asked_for(ledger: Path) -> None:
    code, shown = at_terminal(ledger, "1\nIncome:Extras:Web\n")

    assert code == 0, shown
    assert "  1  OWL-STK  Barn Owl, 3 in sticker" in shown
    assert "2 rules added, 3 parked lines booked" in shown
    assert tomllib.loads((ledger.parent / "offcut.toml").read_text("utf-8"))["items"] == [
        {"text": "Owl sticker", "product": "OWL-STK"},
        {"text": "Wrapping", "account": "Income:Extras:Web"},
    ]


def test_a_text_may_be_skipped_and_a_slip_corrected(ledger: Path) -> None:
    code, shown = at_terminal(ledger, "OWL\nOWL-STK\n\n")

    assert code == 0, shown
    assert "expected a product of the ledger, found 'OWL'" in shown
    assert "1 rule added, 2 parked lines booked" in shown
    assert "Still not known: 1 item text" in shown


def test_a_full_stop_leaves_the_rest(ledger: Path) -> None:
    code, shown = at_terminal(ledger, ".\n")

    assert code == 0, shown
    assert "added" not in shown
    assert not (ledger.parent / "offcut.toml").exists()


def test_an_interrupt_writes_nothing(ledger: Path) -> None:
    code, shown = at_terminal(ledger, "1\n\x04\n")

    assert code == 1, shown
    assert not (ledger.parent / "offcut.toml").exists()

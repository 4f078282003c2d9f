"""offcut in its surroundings: terminals, pipes, shells, Windows' line ends, no network."""

from __future__ import annotations

import os
import pty
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from beancount import loader
from click.testing import CliRunner, Result

from offcut.reports.command import main

START = "from offcut.reports.command import main; main(prog_name='offcut')"
COLOUR = re.compile(rb"\x1b\[[0-9;]*\b(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;[0-9;]*)?m")
PAYMENTS = """\
Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference
2025-01-10,Sale,W1,Web order,10.50,0.60,9.90,USD,ch_1
"""
BILL = """
2025-01-05 * "Web host" "One month"
  Expenses:Office:Hosting     12.00 USD
  Liabilities:Suppliers      -12.00 USD
"""
LEDGER = "main.beancount"


@pytest.fixture
def books(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of new books with a bill and a file in the inbox; commands run in it."""
    folder = tmp_path / "books"
    first = ("--currency", "USD", "--first-day", "2025-01-01")
    tax = ("--jurisdiction", "us-federal", "--status", "single")
    result = CliRunner().invoke(main, ["new", str(folder), "--name", "Press", *first, *tax])
    assert result.exit_code == 0
    with (folder / "purchases.beancount").open("a") as file:
        file.write(BILL)
    (folder / "inbox" / "card.csv").write_text(PAYMENTS)
    monkeypatch.chdir(folder)
    monkeypatch.delenv("OFFCUT_LEDGER", raising=False)
    return folder


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def at_a_terminal(*arguments: str, **environment: str) -> bytes:
    """Return what a command writes to a terminal of 80 columns."""
    outer, inner = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", START, *arguments],
        stdin=inner,
        stdout=inner,
        stderr=inner,
        env={**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", **environment},
    )
    os.close(inner)
    seen = b""
    while True:
        try:
            part = os.read(outer, 65536)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        seen += part
    assert process.wait(timeout=60) in (0, 3)
    return seen


@pytest.mark.parametrize(
    "command", [("month", "2025-01"), ("check",), ("profit",), ("tax", "2025")]
)
def test_no_colour_where_none_is_wanted(books: Path, command: tuple[str, ...]) -> None:
    seen = at_a_terminal(*command, NO_COLOR="1")
    assert len(seen) > 100
    assert not COLOUR.search(seen)


@pytest.mark.parametrize(
    "command",
    [("month", "2025-01"), ("check",), ("profit",), ("move-in", "x", "--templates")],
)
def test_no_marks_for_terminals_in_a_pipe(books: Path, command: tuple[str, ...]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", START, *command],
        capture_output=True,
        env={**os.environ, "TERM": "xterm-256color", "FORCE_COLOR": ""},
    )
    assert done.returncode in (0, 3)
    assert done.stdout and b"\x1b" not in done.stdout + done.stderr
    lines = done.stdout.decode().splitlines()
    assert max(len(line.rstrip()) for line in lines) <= 80


@pytest.mark.parametrize("command", [("profit",), ("guide", "fair"), ("month", "2025-01")])
def test_reader_of_a_pipe_that_goes_away(books: Path, command: tuple[str, ...]) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", START, *command],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    process.wait(timeout=60)


def test_windows_line_ends_are_kept_and_read(books: Path) -> None:
    for path in books.rglob("*"):
        if path.is_file():
            path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))

    result = run("month", "2025-01")
    assert (result.exit_code, result.stderr) == (3, "")
    assert run("month", "2025-01").stdout.count("already") >= 1
    checked = run("check")
    assert checked.exit_code == 0
    assert "Imported to   card 2025-01-10" in checked.stdout
    _, errors, _ = loader.load_file(str(books / LEDGER))
    assert errors == []
    written = sorted((books / "imports").glob("*.beancount"))
    assert [path.name for path in written] == [
        "accounts.beancount",
        "card-2025-01.beancount",
    ]
    for path in books.rglob("*.beancount"):
        text = path.read_bytes()
        assert text.count(b"\r\n") == text.count(b"\n"), path


def test_settings_of_windows_are_read(books: Path) -> None:
    """A layout and settings as an editor under Windows saves them, with a mark first."""
    (books / "layouts").mkdir()
    layout = (
        'kind = "payments"\nsource = "reader"\nchannel = "Fair"\ncurrency = "USD"\n'
        '[columns]\ndate = "When"\ngross = "Sum"\nid = "No"\n[types]\ndefault = "sale"\n'
    )
    as_windows = b"\xef\xbb\xbf" + layout.replace("\n", "\r\n").encode()
    (books / "layouts" / "reader.toml").write_bytes(as_windows)
    (books / "r.csv").write_bytes(b"\xef\xbb\xbfWhen,Sum,No\r\n2025-01-10,8.00,T1\r\n")
    result = run("import", "r.csv")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "1 row = 1 booked" in result.stdout


def test_names_with_blanks_and_other_letters(books: Path) -> None:
    folder = books.parent / "Bücher der Möwe (2025)"
    books.rename(folder)
    os.chdir(folder)
    (folder / "inbox" / "card.csv").rename(folder / "inbox" / "Zahlungen März (1).csv")
    result = run("month", "2025-01", str(folder / LEDGER))
    assert (result.exit_code, result.stderr) == (3, "")
    assert "Zahlungen März (1).csv" in result.stdout
    assert (folder / "pages" / "2025-01.html").exists()


def test_no_system_locks(books: Path) -> None:
    """As where Python has no fcntl: two imports still keep out of each other's way."""
    code = f"import sys; sys.modules['fcntl'] = None; {START}"
    done = subprocess.run(
        [sys.executable, "-c", code, "import", "inbox/card.csv"],
        capture_output=True,
        text=True,
    )
    assert (done.returncode, "1 row = 1 booked" in done.stdout) == (0, True), done.stderr
    assert (books / "imports" / "card-2025-01.beancount").exists()


@pytest.mark.parametrize(
    "command",
    [
        ("month", "2025-01"),
        ("check",),
        ("profit",),
        ("report", "--html", "page.html", "--xlsx", "book.xlsx"),
        ("tax", "2025"),
        ("year-end", "2025"),
        ("layout", "inbox/card.csv"),
        ("items",),
        ("new", "../other", "--currency", "USD"),
        ("move-in", "sheets", "--templates"),
        ("guide", "first-month"),
    ],
)
def test_no_network(
    books: Path, monkeypatch: pytest.MonkeyPatch, command: tuple[str, ...]
) -> None:
    def refuse(*arguments: object, **options: object) -> None:
        raise AssertionError(f"the network was asked for: {arguments}")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket.socket, "sendto", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    result = run(*command)
    assert result.exit_code in (0, 3), (result.output, result.exception)
    assert isinstance(result.exception, SystemExit | None)


def test_pages_load_nothing_from_elsewhere(books: Path) -> None:
    run("month", "2025-01")
    page = (books / "pages" / "2025-01.html").read_text("utf-8")
    assert not re.findall(r'(?:src|href)="(?:https?:)?//', page)
    assert not re.findall(r"url\((?!#|data:)", page)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_a_script_of_the_shell(shell: str) -> None:
    result = run("completion", shell)
    assert result.exit_code == 0
    assert f"_OFFCUT_COMPLETE={shell}_complete" in result.stdout


def test_completion_of_an_unknown_shell() -> None:
    result = run("completion", "csh")
    assert result.exit_code == 2
    assert "'bash', 'zsh', 'fish'" in result.stderr


@pytest.mark.parametrize(
    ("words", "at", "expected"),
    [
        ("offcut mo", "1", ["month", "move-in"]),
        ("offcut guide fi", "2", ["first-month"]),
        ("offcut profit --det", "2", ["--detail"]),
    ],
)
def test_words_are_completed(words: str, at: str, expected: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", START],
        env={
            **os.environ,
            "_OFFCUT_COMPLETE": "bash_complete",
            "COMP_WORDS": words,
            "COMP_CWORD": at,
        },
        capture_output=True,
        text=True,
        check=True,
    )
    found = [line.partition(",")[2] for line in done.stdout.splitlines()]
    assert sorted(found) == sorted(expected)


def test_bash_takes_the_script() -> None:
    script = run("completion", "bash").stdout
    done = subprocess.run(
        ["bash", "-c", f"{script}\ncomplete -p offcut"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert "offcut" in done.stdout

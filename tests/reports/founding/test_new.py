"""`offcut new`, from the outside: what it writes loads, is explained, and is refused."""

from __future__ import annotations

import errno
import io
import os
import pty
import re
import subprocess
import sys
import time
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data
from beancount.scripts.format import align_beancount
from click.testing import CliRunner, Result

from offcut.importers.settings import load_settings
from offcut.reports.command import main
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_lines import accepted_words, check_tax_lines
from offcut.reports.tax.tax_settings import tax_settings

START = "from offcut.reports.command import main; main(prog_name='offcut')"
HERE = ("--currency", "USD", "--first-day", "2025-01-01")
TAXED = ("--jurisdiction", "us-federal", "--status", "single")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def found(folder: Path, *options: str) -> Path:
    result = run("new", folder, "--name", "Corner Press", *HERE, *options)
    assert (result.exit_code, result.stderr) == (0, "")
    return folder / "main.beancount"


def uncommented(text: str, mark: str) -> str:
    """Return a text whose examples count: a single mark taken away, as its remarks say."""
    return re.sub(rf"^{mark}(?!{mark})", "", text, flags=re.M)


@pytest.mark.parametrize(
    "options", [(), TAXED, ("--channels", "fair"), ("--channels", "web")]
)
def test_new_books_pass_bean_check_and_are_formatted(
    tmp_path: Path, options: tuple[str, ...]
) -> None:
    ledger = found(tmp_path / "books", *options)

    checked = subprocess.run(
        [sys.executable, "-m", "beancount.scripts.check", str(ledger)],
        capture_output=True,
        text=True,
    )
    assert (checked.returncode, checked.stdout, checked.stderr) == (0, "", "")
    for path in ledger.parent.rglob("*.beancount"):
        text = path.read_text("utf-8")
        assert align_beancount(text) == text, path
        assert max(map(len, text.splitlines())) <= 90


@pytest.mark.parametrize("options", [(), TAXED])
def test_every_report_takes_new_books(tmp_path: Path, options: tuple[str, ...]) -> None:
    ledger = found(tmp_path / "books", *options)

    commands = [
        *(("close", "2025-01"), ("profit",), ("shelf",), ("channels",), ("trend",)),
        *(("years",), ("inventory",), ("report", "--html", tmp_path / "page.html")),
        ("plan", "next-print"),
    ]
    if options:
        commands += [("tax", "2025"), ("year-end", "2025")]
    for command in commands:
        result = run(*command, ledger)
        assert (command, result.exit_code, result.stderr) == (command, 0, "")


@pytest.mark.parametrize("options", [TAXED, ("--channels", "web,fair")])
def test_examples_count_once_their_marks_are_taken_away(
    tmp_path: Path, options: tuple[str, ...]
) -> None:
    ledger = found(tmp_path / "books", *options)
    for path in ledger.parent.rglob("*.beancount"):
        path.write_text(uncommented(path.read_text("utf-8"), ";"), "utf-8")
    settings = ledger.with_name("offcut.toml")
    settings.write_text(uncommented(settings.read_text("utf-8"), "#"), "utf-8")

    entries, errors, _ = loader.load_file(str(ledger))
    assert [error.message for error in errors] == []
    assert sum(isinstance(entry, data.Custom) for entry in entries) == 5
    # 50 sheets at 27.00 with their freight, less 10 of them for 58 pieces and 2 spoiled.
    left = [
        (posting.units.number, posting.units.number * posting.cost.number)
        for entry in data.filter_txns(entries)
        for posting in entry.postings
        if posting.account == "Assets:Materials:VINYL"
    ]
    assert [sum(each) for each in zip(*left, strict=True)] == [
        Decimal(40),
        Decimal("21.60"),
    ]
    read = load_settings(ledger)
    assert [rule.product for rule in read.items] == ["OWL-STK"]
    assert read.packing == {"Web": "letter"}
    assert [rule.account for rule in read.bank] == [
        "Liabilities:Suppliers",
        "Expenses:Fees:Bank",
    ]
    assert tax_settings(ledger).jurisdiction == "us-federal"


@pytest.mark.parametrize(
    ("currency", "name", "status", "day"),
    [
        ("USD", "us-federal", "single", "2025-01-01"),
        ("GBP", "uk-sole-trader", "england", "2025-04-06"),
    ],
)
def test_accounts_have_lines_of_the_tax_form(
    tmp_path: Path, currency: str, name: str, status: str, day: str
) -> None:
    folder = tmp_path / "books"
    result = run(
        *("new", folder, "--name", "Press", "--currency", currency, "--first-day", day),
        *("--jurisdiction", name, "--status", status),
    )
    assert (result.exit_code, result.stderr) == (0, "")

    entries, errors, _ = loader.load_file(str(folder / "main.beancount"))
    assert errors == []
    opens = [entry for entry in entries if isinstance(entry, data.Open)]
    rules = find_rules(name, "2025" if currency == "USD" else "2025-26")
    assert list(check_tax_lines(opens, rules)) == []
    for entry in opens:
        is_flow = entry.account.startswith(("Income:", "Expenses:"))
        assert ("tax-line" in entry.meta) == is_flow, entry.account
        if is_flow:
            assert entry.meta["tax-line"] in accepted_words(rules)
    text = (folder / "accounts.beancount").read_text("utf-8")
    assert "ask a licensed accountant" in " ".join(text.replace(";; ", "").split())


def test_channels_have_accounts_and_no_others(tmp_path: Path) -> None:
    ledger = found(tmp_path / "books", "--channels", "fair, web")
    entries, _, _ = loader.load_file(str(ledger))
    accounts = {entry.account for entry in entries if isinstance(entry, data.Open)}
    assert {"Income:Sales:Web", "Income:Sales:Fair"} == {
        account for account in accounts if account.startswith("Income:Sales:")
    }
    assert not any("Market" in each.split(":") or "Wholesale" in each for each in accounts)


def test_folder_that_is_not_empty_is_left_alone(tmp_path: Path) -> None:
    folder = tmp_path / "books"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    result = run("new", folder, *HERE)
    assert result.exit_code == 1
    assert result.stderr == (
        f"Error: {folder}: the folder is not empty, it has notes.txt; name one that is "
        "empty or not there yet. Nothing was written\n"
    )
    assert [path.name for path in folder.iterdir()] == ["notes.txt"]
    assert [path.name for path in tmp_path.iterdir()] == ["books"]


def test_twice_is_refused_and_changes_nothing(tmp_path: Path) -> None:
    ledger = found(tmp_path / "books")
    before = {
        path: path.read_bytes() for path in ledger.parent.rglob("*") if path.is_file()
    }
    result = run("new", ledger.parent, *HERE)
    assert result.exit_code == 1
    assert "the folder is not empty" in result.stderr
    after = {path: path.read_bytes() for path in ledger.parent.rglob("*") if path.is_file()}
    assert after == before


def test_file_in_the_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "books").write_text("mine")
    result = run("new", tmp_path / "books", *HERE)
    assert (result.exit_code, result.stderr.count("\n")) == (1, 1)
    assert "this is a file" in result.stderr


def test_this_folder_with_what_git_and_python_keep(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / ".git").mkdir()
    (tmp_path / ".venv").mkdir()
    monkeypatch.chdir(tmp_path)
    result = run("new", ".", *HERE)
    assert (result.exit_code, result.stderr) == (0, "")
    _, errors, options = loader.load_file("main.beancount")
    assert errors == []
    assert options["title"] == tmp_path.name.replace("-", " ").replace("_", " ").strip()


@pytest.mark.parametrize("exists", [False, True])
def test_nothing_stays_where_writing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, exists: bool
) -> None:
    """The main file, or the whole folder, is put in its place last: that fails here."""
    folder = tmp_path / "books"
    if exists:
        folder.mkdir()
    rename = Path.rename

    def failing(path: Path, target: Path) -> Path:
        if Path(target).name == ("main.beancount" if exists else "books"):
            raise OSError(28, "No space left on device")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", failing)
    result = run("new", folder, *HERE)
    assert result.exit_code == 1
    assert "cannot be written (No space left on device)" in result.stderr
    assert list(tmp_path.rglob("*")) == ([folder] if exists else [])


def test_place_that_is_not_ones_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refused)
    result = run("new", tmp_path / "books", *HERE)
    assert (result.exit_code, result.stderr.count("\n")) == (1, 1)
    assert "Permission denied" in result.stderr
    assert not list(tmp_path.iterdir())


def test_place_within_a_file(tmp_path: Path) -> None:
    (tmp_path / "notes").write_text("mine")
    result = run("new", tmp_path / "notes" / "books", *HERE)
    assert (result.exit_code, result.stderr.count("\n")) == (1, 1)
    assert (tmp_path / "notes").read_text() == "mine"


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ((), "There is no terminal to ask at: give --currency."),
        (("--currency", "dollars"), "expected the three letters of a currency"),
        ((*HERE[:2], "--first-day", "1.1.2025"), "such as 2025-01-01; found '1.1.2025'"),
        ((*HERE[:2], "--first-day", "2025-02-30"), "found '2025-02-30'"),
        ((*HERE, "--channels", "web,fairs"), "found 'fairs' (did you mean fair?)"),
        ((*HERE, "--channels", " , "), "expected at least one of"),
        ((*HERE, "--name", "\n"), "expected the shop's name"),
        ((*HERE, "--jurisdiction", "us"), "expected uk-sole-trader, us-federal or none"),
        ((*HERE, "--jurisdiction", "uk-sole-trader"), "are in GBP, the books in USD"),
        ((*HERE, *TAXED[:2]), "There is no terminal to ask at: give --status."),
        ((*HERE, *TAXED[:3], "singel"), "found 'singel' (did you mean single?)"),
    ],
)
def test_answers_that_cannot_be_used(
    tmp_path: Path, options: tuple[str, ...], message: str
) -> None:
    result = run("new", tmp_path / "books", *options)
    assert result.exit_code == 2
    assert message in " ".join(result.stderr.split())
    assert list(tmp_path.iterdir()) == []


def test_name_from_outside_is_inert(tmp_path: Path) -> None:
    name = 'A "B" \\ C\n2025-01-01 open Assets:Evil\x1b[31m'
    result = run("new", tmp_path / "books", *HERE, "--name", name)
    assert (result.exit_code, result.stderr) == (0, "")
    assert "\x1b" not in result.stdout
    entries, errors, options = loader.load_file(str(tmp_path / "books" / "main.beancount"))
    assert errors == []
    assert options["title"] == 'A "B" \\ C 2025-01-01 open Assets:Evil [31m'
    assert not any(getattr(entry, "account", "") == "Assets:Evil" for entry in entries)
    tomllib.loads((tmp_path / "books" / "offcut.toml").read_text("utf-8"))


def test_asks_at_a_terminal_until_it_understands(tmp_path: Path) -> None:
    asked, outside = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", START, "new", str(tmp_path / "books")],
        stdin=outside,
        stdout=outside,
        stderr=outside,
    )
    os.close(outside)
    answers = [
        ("Name of the shop", "Corner Press"),
        ("Currency", "dollars"),
        ("Currency", "usd"),
        ("First day", "2025-01-01"),
        ("Where you sell", "web"),
        ("Whose tax rules", "us-federal"),
        ("How you are taxed", "single"),
    ]
    seen = io.StringIO()
    at = 0
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        try:
            text = os.read(asked, 4096).decode()
        except OSError:  # the other end is closed
            break
        if not text:
            break
        seen.write(text)
        for question, reply in answers[:1]:
            if (there := seen.getvalue().find(question, at)) >= 0 and seen.getvalue()[
                there:
            ].rstrip().endswith(":"):
                os.write(asked, f"{reply}\n".encode())
                at = len(seen.getvalue())
                answers.pop(0)
    assert process.wait(timeout=60) == 0
    assert answers == []
    assert "expected the three letters of a currency" in seen.getvalue()
    _, errors, options = loader.load_file(str(tmp_path / "books" / "main.beancount"))
    assert errors == []
    assert (options["title"], options["operating_currency"]) == ("Corner Press", ["USD"])

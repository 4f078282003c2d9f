"""The command `offcut layout`, from the outside."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from offcut.importers.importing import import_files
from offcut.importers.layout import read_layout
from offcut.reports.command import main
from offcut.reports.commands import layout as layout_command

CERTAIN = """\
Date;Type;Order;Gross;Fee;Net;Currency;Reference
31.03.2025;Sale;W1;1.011,00;0,61;1.010,39;EUR;tx_0001
30.03.2025;Sale;W2;4,00;0,30;3,70;EUR;tx_0002
"""
DOUBTFUL = (
    "Date,Text,Amount,Balance\n03/04/2025,Rent,-4.00,6.00\n03/05/2025,Ink,-1.00,5.00\n"
)


def run(*arguments: str | Path, typed: str = "") -> Result:
    return CliRunner(env={"COLUMNS": "80"}).invoke(
        main, ["layout", *map(str, arguments)], input=typed
    )


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    path = tmp_path / "main.beancount"
    path.write_text('option "operating_currency" "USD"\n')
    return path


def written(path: Path, text: str) -> Path:
    path.write_text(text, "utf-8")
    return path


def test_certain_layout_is_written_and_imports_the_file(
    tmp_path: Path, ledger: Path
) -> None:
    file = written(tmp_path / "card.csv", CERTAIN)

    result = run(file, "--into", ledger, "--channel", "Web")

    assert (result.exit_code, result.stderr) == (0, "")
    assert "Gross - Fee = Net in every row" in result.stdout
    assert "Assets:Clearing:Card                              1010.39 EUR" in result.stdout
    layout = tmp_path / "layouts" / "card.toml"
    assert f"Wrote {layout}" in result.stdout
    assert "DOUBT" not in layout.read_text()
    report = import_files([file], ledger)
    assert report.ties
    assert [each.booked for each in report.files] == [2]


def test_a_file_that_is_there_is_never_overwritten(tmp_path: Path, ledger: Path) -> None:
    file = written(tmp_path / "card.csv", CERTAIN)
    own = written(tmp_path / "own.toml", "mine")

    result = run(file, "--output", own, "--channel", "Web")

    assert result.exit_code == 1
    assert "own.toml: the file is there already; give another" in result.stderr
    assert own.read_text() == "mine"


def test_without_a_terminal_doubts_are_marked(tmp_path: Path, ledger: Path) -> None:
    file = written(tmp_path / "bank.csv", DOUBTFUL)

    result = run(file, "--into", ledger)

    assert result.exit_code == 3
    assert "%d/%m/%Y: 03/04/2025 is 3 April 2025" in result.stdout
    text = (tmp_path / "layouts" / "bank.toml").read_text()
    assert "# DOUBT: Every date in Date reads in several ways" in text
    assert read_layout(tmp_path / "layouts" / "bank.toml").kind == "bank"
    lines = [line for line in result.stdout.splitlines() if not line.startswith("Wrote")]
    assert max(map(len, lines)) <= 88  # comments of the layout


def test_at_a_terminal_doubts_are_asked(
    tmp_path: Path, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(layout_command, "_at_a_terminal", lambda: True)
    file = written(tmp_path / "bank.csv", DOUBTFUL)

    result = run(file, "--into", ledger, typed="\nx\n2\n")

    assert result.exit_code == 0
    assert "1  USD: the ledger's own" in result.stdout
    assert "expected 1 to 2" in result.stdout + result.stderr
    layout = read_layout(tmp_path / "layouts" / "bank.toml")
    assert layout.dates == ("%m/%d/%Y",)


def test_without_a_place_nothing_is_written(tmp_path: Path) -> None:
    file = written(tmp_path / "card.csv", CERTAIN)

    result = run(file, "--channel", "Web")

    assert result.exit_code == 0
    assert 'gross = "Gross"  # Gross - Fee = Net in every row' in result.stdout
    assert [path.name for path in tmp_path.iterdir()] == ["card.csv"]


KNOWN = (
    "Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference\n"
    "2025-03-31,Sale,W1,Web order,11.00,0.61,10.39,USD,ch_1\n"
)


def test_a_known_layout_is_named_first(tmp_path: Path) -> None:
    result = run(written(tmp_path / "card.csv", KNOWN), "--channel", "Web")

    assert result.exit_code == 0
    first = "The layout card-payments fits this file; offcut import reads it"
    assert result.stdout.startswith(f"{first}\ncard.csv\n")
    assert '\ngross = "Gross"' in result.stdout


def test_a_layout_of_the_ledger_is_named_before_shipped_ones(
    tmp_path: Path, ledger: Path
) -> None:
    file = written(tmp_path / "card.csv", KNOWN)
    assert run(file, "--into", ledger, "--name", "mine", "--channel", "Web").exit_code == 0

    result = run(file, "--into", ledger, "--name", "other", "--channel", "Web")
    assert result.stdout.startswith("The layout mine fits this file; offcut import reads")
    (tmp_path / "layouts" / "other.toml").rename(tmp_path / "layouts" / "more.toml")
    result = run(file, "--into", ledger, "--name", "other", "--channel", "Web")
    assert result.stdout.startswith("The layouts mine and more fit this file; choose one")


def test_a_known_layout_that_refuses_the_file_is_named_with_the_reason(
    tmp_path: Path,
) -> None:
    file = written(tmp_path / "card.csv", KNOWN.replace("Sale", "Zzz"))

    result = run(file, "--channel", "Web")

    assert result.stdout.startswith(
        "The file has the columns of the layout card-payments, but offcut import refuses "
        "it: card.csv: row 2, column Type: "
    )


def test_what_has_no_answer_does_not_end_the_questions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(layout_command, "_at_a_terminal", lambda: True)
    rows = "02/03/2025,5.00,D,95.00\n03/04/2025,4.00,D,91.00\n"
    file = written(tmp_path / "f.csv", f"Date,Amount,D/C,Balance\n{rows}")

    result = run(file, "--kind", "bank", "--currency", "USD", typed="1\n1\n")

    assert result.exit_code == 3
    assert "Only Balance says which way money goes" in result.stdout.replace("\n    ", " ")
    assert "# DOUBT: D/C says which way money goes" in result.stdout
    assert 'date = "%d/%m/%Y"  # as answered' in result.stdout


@pytest.mark.parametrize(
    ("contents", "expected"),
    [
        (b"", "the file is empty"),
        (b"PK\x03\x04" + b"\0" * 40, "found a zip archive or a spreadsheet"),
        (b"%PDF-1.4\n", "found a PDF"),
        (b"\x01\x00\x00\x07\x00\x02" * 50, "bytes that are no text"),
        (b"Date\n2025-03-01\n", "a table of two columns or more"),
        (b"Town,Amount\nHarbour,1.00\n", "a column with a date in every row"),
        (b"Date,Town\n2025-03-01,Harbour\n", "a column with an amount in every row"),
        (b"Date,Amount\n", "expected rows below the headings"),
        (b'Date,Amount\n2025-03-01,1.00\n2025-03-02,"1', "found"),
    ],
)
def test_what_is_no_table_is_refused(
    tmp_path: Path, contents: bytes, expected: str
) -> None:
    file = tmp_path / "f.csv"
    file.write_bytes(contents)

    result = run(file, "--currency", "USD")

    assert result.exit_code == 1
    assert expected in result.stderr
    assert result.stderr.count("\n") == 1


@pytest.mark.parametrize(
    "options",
    [
        ("--channel", "web"),
        ("--currency", "usd"),
        ("--source", "A b"),
        ("--name", "../up"),
        ("--name", "/etc/x"),
    ],
)
def test_options_have_their_forms(tmp_path: Path, options: tuple[str, str]) -> None:
    result = run(written(tmp_path / "card.csv", CERTAIN), *options)
    assert result.exit_code == 2
    assert "expected" in result.stderr

"""The command `offcut tax`, from the outside."""

from __future__ import annotations

import csv
from pathlib import Path

import openpyxl
import pytest
from beancount import loader
from click.testing import CliRunner, Result
from rich.cells import cell_len

from offcut.reports.command import main
from offcut.reports.tax import CAUTION

DAY = "2025-06-30"
LEDGER = """\
option "title" "Prints"
option "operating_currency" "USD"
2024-01-01 open Assets:Bank:Checking
2024-01-01 open Equity:Drawings:Tax
2024-01-01 open Income:Sales:Web
2025-01-01 * "Sales"
  Income:Sales:Web    -100.00 USD
  Assets:Bank:Checking
2025-04-15 * "The tax office 税務署" "First payment"
  Equity:Drawings:Tax  1000.00 USD
  Assets:Bank:Checking
2025-06-30 * "Sales"
  Income:Sales:Web  -18000.00 USD
  Assets:Bank:Checking
"""
SETTINGS = """\
[tax]
jurisdiction = "us-federal"
status = "single"
reserve = "Assets:Bank:TaxReserve"
bank = "Assets:Bank:Checking"
payments = "Equity:Drawings:Tax"
"""


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """A ledger of half a year, with settings; its tax is worked out in test_set_aside."""
    (tmp_path / "offcut.toml").write_text(SETTINGS, encoding="utf-8")
    path = tmp_path / "main.beancount"
    path.write_text(LEDGER, encoding="utf-8")
    return path


def run(*arguments: str | Path, day: str = DAY) -> Result:
    words = ["tax", "--on", day, *map(str, arguments)]
    return CliRunner().invoke(main, words, env={"COLUMNS": "80"})


def one_line(text: str) -> str:
    return " ".join(text.split())


def settings(ledger: Path, text: str) -> None:
    (ledger.parent / "offcut.toml").write_text(text, encoding="utf-8")


def test_what_to_move_and_what_to_pay_comes_first(ledger: Path) -> None:
    result = run(ledger)
    assert (result.exit_code, result.stderr) == (0, "")
    lines = result.stdout.splitlines()
    assert lines[0] == "Set aside for tax in 2025, on 30 June 2025"
    assert one_line(" ".join(lines[1:3])) == CAUTION
    told = [one_line(line) for line in lines[4:12]]
    assert "Move to the reserve 2,304.23 today" in told
    assert "Overdue to the tax office 1,998.46 was due 16 June 2025" in told
    assert "Next payment to the tax office 1,499.22 15 September 2025" in told
    assert max(map(cell_len, lines)) <= 80
    # Once beside each of the two statements.
    assert one_line(result.stdout).count(CAUTION) == 2
    assert "Total tax Form 1040, line 24 6,663.24" in one_line(result.stdout)


def test_the_entry_printed_settles_what_is_missing(ledger: Path) -> None:
    printed = run(ledger).stdout.splitlines()
    start = next(at for at, line in enumerate(printed) if " open Assets:Bank:Tax" in line)
    entry = [line[4:] for line in printed[start : printed.index("", start)]]
    assert entry[0] == "2025-06-30 open Assets:Bank:TaxReserve USD"
    before = ledger.read_bytes()
    with ledger.open("a", encoding="utf-8") as file:
        file.write("\n".join(["", *entry, ""]))
    _, errors, _ = loader.load_file(str(ledger))
    assert errors == []
    result = run(ledger)
    assert result.exit_code == 0
    told = one_line(result.stdout)
    assert "Move to the reserve 0.00 nothing is missing there" in told
    assert "To be added to the ledger" not in told
    # The command itself wrote nothing.
    assert ledger.read_bytes().startswith(before)
    assert ledger.read_bytes()[len(before) :].decode().split("\n")[1:-1] == entry


def test_year_and_ledger_are_both_optional(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger.parent)
    monkeypatch.delenv("OFFCUT_LEDGER", raising=False)
    whole = run(ledger).stdout
    for arguments in ((), ("2025",), (ledger,), ("2025", ledger)):
        assert run(*arguments).stdout == whole
    monkeypatch.chdir("/")
    monkeypatch.setenv("OFFCUT_LEDGER", str(ledger))
    assert run("2025").stdout == whole


def test_arguments_that_are_not_understood(ledger: Path) -> None:
    for arguments, day in (
        ((ledger, "2025"), DAY),
        (("2025", ledger, "more"), DAY),
        ((ledger,), "2025-02-30"),
        ((ledger,), "tomorrow"),
    ):
        result = run(*arguments, day=day)
        assert result.exit_code == 2
        assert "xpected" in result.stderr


def test_no_settings_at_all_prints_settings_that_work(ledger: Path) -> None:
    (ledger.parent / "offcut.toml").unlink()
    result = run(ledger)
    assert (result.exit_code, result.stdout) == (1, "")
    assert "offcut.toml has no [tax]" in result.stderr
    assert CAUTION in result.stderr
    lines = result.stderr.splitlines()
    assert max(map(len, lines[2:-2])) <= 80
    start = lines.index("[tax]")
    settings(ledger, "\n".join(lines[start : lines.index("", start)]))
    assert run(ledger).exit_code == 0


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[tax]\nstatus = "single"\n', "jurisdiction is missing; add one to [tax]"),
        ('[tax]\njurisdiction = "us-federal"\n', 'add status = "single"'),
        (SETTINGS.replace("single", "singel"), "did you mean single?"),
        (SETTINGS.replace("us-federal", "us-fedral"), "did you mean us-federal?"),
        (SETTINGS + "wages = -1\n", "wages must not be below zero"),
        (SETTINGS + 'method = "quarterly"\n', "tax.method is 'quarterly'"),
        (SETTINGS + "wages = AMOUNT\n", "offcut.toml"),
        ("tax = 1\n", "tax must be a table"),
        (SETTINGS.replace("TaxReserve", "Checking"), "three different accounts"),
    ],
)
def test_settings_that_cannot_be_used(ledger: Path, text: str, told: str) -> None:
    settings(ledger, text)
    result = run(ledger)
    assert (result.exit_code, result.stdout) == (1, "")
    assert told in result.stderr
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("year", "day", "told"),
    [
        ("2019", DAY, "There are no rules of us-federal for 2019; there are 2025, 2026"),
        ("2026", DAY, "2026 has not begun: its first day is 1 January 2026"),
        ("2025-26", DAY, "There are no rules of us-federal for 2025-26"),
    ],
)
def test_years_that_cannot_be_told(ledger: Path, year: str, day: str, told: str) -> None:
    result = run(year, ledger, day=day)
    assert (result.exit_code, result.stdout) == (1, "")
    assert told in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_missing_ledger(tmp_path: Path) -> None:
    result = run(tmp_path / "none.beancount")
    assert result.exit_code == 1
    assert "there is no such file" in result.stderr


def test_payment_for_a_year_that_cannot_be_is_told_at_its_line(ledger: Path) -> None:
    text = LEDGER.replace('"First payment"\n', '"First payment"\n  tax-year: "2027"\n')
    ledger.write_text(text, encoding="utf-8")
    result = run(ledger)
    assert result.exit_code == 3
    told = one_line(result.stdout).replace("\N{REPLACEMENT CHARACTER}", "")
    assert 'tax-year is "2027", but it was paid on 2025-04-15' in told
    assert "No payment counts for this year." in told
    page = ledger.parent / "tax.html"
    result = run(ledger, "--html", page)
    assert result.exit_code == 3
    assert "tax-year" in result.stderr


def test_caution_is_on_each_file(ledger: Path, tmp_path: Path) -> None:
    page, book, folder = tmp_path / "t.html", tmp_path / "t.xlsx", tmp_path / "figures"
    result = run(ledger, "--html", page, "--xlsx", book, "--csv", folder)
    assert (result.exit_code, result.stderr) == (0, "")
    text = page.read_text(encoding="utf-8")
    # Before the first figures too, not only in each of the two statements.
    assert text.count(CAUTION) == 3
    assert text.index(CAUTION) < text.index('<dl class="sum"')
    files = sorted(folder.iterdir())
    assert {"set-aside.csv", "tax-instalments.csv", "tax-working-2025.csv"} <= {
        file.name for file in files
    }
    for file in files:
        with file.open(encoding="utf-8", newline="") as opened:
            rows = list(csv.reader(opened))
        assert rows[0][-1] == "Caution"
        assert {row[-1] for row in rows[1:]} == {CAUTION}
        assert {len(row) for row in rows} == {len(rows[0])}
    sheets = openpyxl.load_workbook(book)
    with_figures = [sheet for sheet in sheets if "Contents" not in sheet.title]
    assert len(with_figures) >= len(files)
    for sheet in with_figures:
        cells = [cell.value for row in sheet.iter_rows(max_row=8) for cell in row]
        assert CAUTION in cells, sheet.title


def test_what_is_not_set_is_said_with_the_line_to_write(ledger: Path) -> None:
    settings(ledger, '[tax]\njurisdiction = "us-federal"\nstatus = "single"\n')
    told = one_line(run(ledger).stdout)
    assert "Move to the reserve 3,304.23 no reserve account is set" in told
    assert 'reserve = "Assets:Bank:TaxReserve"' in told
    assert 'payments = "' in told
    assert "To be added to the ledger" not in told
    settings(ledger, SETTINGS.replace('bank = "Assets:Bank:Checking"\n', ""))
    told = one_line(run(ledger).stdout)
    assert 'bank = "Assets:Bank:Checking"' in told
    assert "To be added to the ledger" not in told


def test_questions_are_asked_until_they_are_answered(ledger: Path) -> None:
    told = run(ledger).stdout
    assert "wages = AMOUNT" in told
    assert "Your own wages from an employer this year" in told
    settings(ledger, SETTINGS + "wages = 0\n")
    assert "wages = AMOUNT" not in run(ledger).stdout


def test_other_currencies_are_named(ledger: Path) -> None:
    with ledger.open("a", encoding="utf-8") as file:
        file.write(
            '2025-05-01 * "Abroad"\n  Income:Sales:Web  -70.00 EUR\n'
            "  Assets:Bank:Checking\n"
            '2025-05-02 * "Office"\n  Equity:Drawings:Tax  5.00 EUR\n'
            "  Assets:Bank:Checking\n"
        )
    told = one_line(run(ledger).stdout)
    assert "the books have 70.00 EUR of net income on these days, which does not" in told
    assert "Besides, 5.00 EUR were paid, which do not count: this tax is in USD." in told
    assert "Move to the reserve 2,304.23 today" in told


def test_both_ways_to_foresee_the_year(ledger: Path) -> None:
    with ledger.open("a", encoding="utf-8") as file:
        for day, amount in (("2024-01-05", 4_000), ("2024-11-05", 6_000)):
            file.write(
                f'{day} * "Sales"\n  Income:Sales:Web  -{amount}.00 USD\n'
                "  Assets:Bank:Checking\n"
            )
    told = one_line(run(ledger).stdout)
    # 18,100 x 365 / 181, and 18,100 x 10,000 / 4,000.
    assert "By its days so far 36,500.00 6,663.24 this counts" in told
    assert "By last year's season 45,250.00" in told
    settings(ledger, SETTINGS + 'projection = "last-year"\n')
    told = one_line(run(ledger).stdout)
    assert "Profit of the year, as foreseen 45,250.00" in told


UK_LEDGER = """\
option "operating_currency" "GBP"
2024-01-01 open Assets:Bank:Checking
2024-01-01 open Equity:Drawings:Tax
2024-01-01 open Income:Sales:Web
2025-05-01 * "Sales"
  Income:Sales:Web  -30000.00 GBP
  Assets:Bank:Checking
2026-01-31 * "First on account"
  tax-year: "2025-26"
  Equity:Drawings:Tax  1000.00 GBP
  Assets:Bank:Checking
2026-07-31 * "Second on account"
  Equity:Drawings:Tax  1000.00 GBP
  Assets:Bank:Checking
2026-10-01 * "Sales"
  Income:Sales:Web  -17900.00 GBP
  Assets:Bank:Checking
"""


def test_a_business_that_began_within_the_year_is_told_of_the_other_method(
    ledger: Path,
) -> None:
    told = "The business began on 30 June 2025; in equal parts, payments due before that"
    assert told not in one_line(run(ledger, day="2025-08-01").stdout)
    ledger.write_text(LEDGER.replace("2025-01-01 * ", "2025-06-30 * "), encoding="utf-8")
    assert told in one_line(run(ledger, day="2025-08-01").stdout)
    settings(ledger, SETTINGS + 'method = "annualised"\n')
    result = one_line(run(ledger, day="2025-08-01").stdout)
    assert told not in result
    assert "First payment 2025-04-15 0.00 1,000.00 0.00 nothing due" in result


def test_equipment_that_nobody_decided_on_is_asked_for(ledger: Path) -> None:
    text = LEDGER + "2024-01-01 open Assets:Equipment:Press\n"
    for day, what, more in (
        ("2024-05-01", "Of another year", ""),
        ("2025-02-01", "Decided", '    election: "expense"\n'),
        ("2025-02-01", "Press", ""),
        ("2025-02-02", "Table", ""),
    ):
        text += f'{day} * "{what}"\n  Assets:Equipment:Press  90.00 USD\n{more}'
        text += "  Assets:Bank:Checking\n"
    ledger.write_text(text, encoding="utf-8")
    told = one_line(run(ledger).stdout)
    assert "deducted yet for equipment without an election: Press and 1 more. " in told
    assert "Profit up to 30 June 2025 18,010.00" in told


def test_few_days_are_said_to_say_little(ledger: Path) -> None:
    assert "A day says little" in one_line(run(ledger, day="2025-01-02").stdout)
    assert "say little" not in one_line(run(ledger).stdout)


def test_what_is_left_for_the_return_has_a_line_of_its_own(ledger: Path) -> None:
    told = one_line(run("2025", ledger, day="2026-02-01").stdout)
    # 6,663.24 is of a whole year like the first half; 18,100 alone: 2,643.15, 90 % of it
    # asked for in the year, 1,000 paid.
    assert "With the return of 2025 264.31 15 April 2026" in told
    told = one_line(run("2025", ledger, day="2026-04-16").stdout)
    assert "With the return of 2025 264.31 was due 15 April 2026" in told
    assert "With the return" not in one_line(run(ledger).stdout)


def test_the_least_deduction_is_explained(ledger: Path) -> None:
    """From 2026 on, 400 are deducted though nothing is left to deduct them from."""
    ledger.write_text(LEDGER.replace("18000.00", "3000.00"), encoding="utf-8")
    told = "The qualified business income deduction is 400 at least, from 1,000 of such"
    assert told not in one_line(run(ledger).stdout)
    ledger.write_text(
        LEDGER.replace("18000.00", "3000.00").replace("2025-", "2026-"), encoding="utf-8"
    )
    assert told in one_line(run(ledger, day="2026-06-30").stdout)


def test_payments_and_refunds_in_another_currency_that_are_nothing(ledger: Path) -> None:
    with ledger.open("a", encoding="utf-8") as file:
        for amount in ("5.00", "-5.00"):
            file.write(f'2025-05-01 * "x"\n  Equity:Drawings:Tax  {amount} EUR\n')
            file.write("  Assets:Bank:Checking\n")
    assert "EUR were paid" not in one_line(run(ledger).stdout)


def test_two_years_in_question_and_one_day_for_both(ledger: Path) -> None:
    ledger.write_text(UK_LEDGER, encoding="utf-8")
    text = SETTINGS.replace("us-federal", "uk-sole-trader").replace("single", "england")
    text += "[tax.years.2025-26]\nlast-year-bill = 2000\n"
    text += "[tax.years.2026-27]\nlast-year-bill = 4531.80\n"
    settings(ledger, text)
    folder = ledger.parent / "figures"
    result = run(ledger, day="2026-10-10")
    assert (result.exit_code, result.stderr) == (0, "")
    told = one_line(result.stdout)
    # 2025-26, of 30,000: 20 % of 17,430 and 6 % of 17,430 (rates of 2025-26 as gov.uk
    # prints them): 4,531.80, less 2,000 paid. For 2026-27 half of that on account.
    assert "Not yet paid for 2025-26 2,531.80" in told
    both = "31 January 2027, for 2025-26 and 2026-27"
    assert f"Next payment to the tax office 4,797.70 {both}" in told
    # To 1 October, the 179th of 365 days: 36,500; 20 % and 6 % of 23,930 are 6,221.80.
    assert "Profit of the year, as foreseen 36,500.00" in told
    assert "Of it on what is earned so far, 49% 3,051.24" in told
    assert "Move to the reserve 5,583.04 today" in told
    # Each table has a file of its own.
    written = run(ledger, "--csv", folder, day="2026-10-10").stdout
    assert written == f"Wrote 12 tables into {folder}\n"
    assert len(list(folder.iterdir())) == 12


FLAT = """\
jurisdiction = "flat-land"
title = "Flat-land, income tax"
calculation = "schedule-only"
year = "2025"
first-day = 2025-01-01
last-day = 2025-12-31
currency = "USD"
statuses = ["person"]
[schedules.income]
rates = [0.10]
edges = { person = [] }
source = "made up"
"""


def test_rules_of_one_s_own_without_payments_in_the_year(ledger: Path) -> None:
    folder = ledger.parent / "taxes"
    folder.mkdir()
    (folder / "flat.toml").write_text(FLAT, encoding="utf-8")
    text = SETTINGS.replace("us-federal", "flat-land").replace('status = "single"\n', "")
    settings(ledger, text)
    result = run(ledger)
    assert (result.exit_code, result.stderr) == (0, "")
    told = one_line(result.stdout)
    # A tenth of 18,100 less 1,000 paid.
    assert "Move to the reserve 810.00 today" in told
    assert "Next payment to the tax office 0.00 none in the course of the year" in told
    assert "Nothing has to be paid in the course of the year." in told


SALE = "  Income:Sales:Web  {} USD\n  Assets:Bank:Checking\n"
OPENS = "".join(LEDGER.splitlines(keepends=True)[:5])


@pytest.mark.parametrize(
    "text",
    [
        "",
        OPENS,
        OPENS + '2025-03-01 * "One sale"\n' + SALE.format("-8.00"),
        OPENS + '2025-03-01 * "Only a refund"\n' + SALE.format("8.00"),
        OPENS + '2025-03-01 * "Loss"\n' + SALE.format("9000.00"),
        OPENS
        + "".join(
            f'{year}-03-01 * "Sales"\n' + SALE.format("-9000.00")
            for year in range(2024, 2036)
        ),
        LEDGER.replace("First payment", "\\u202e فراشة 🦉 " + "long " * 40),
    ],
)
@pytest.mark.parametrize("more", ["", 'method = "annualised"\nwithholding = 50\n'])
@pytest.mark.parametrize("day", ["2025-01-01", DAY, "2026-01-10", "2026-12-31"])
def test_odd_ledgers(ledger: Path, text: str, more: str, day: str) -> None:
    ledger.write_text(text, encoding="utf-8")
    settings(
        ledger,
        SETTINGS + more + '[[tax.local]]\nname = "City"\nbase = "profit"\nrate = 0.01\n',
    )
    result = run(ledger, day=day)
    assert (result.exit_code, result.stderr) == (0, ""), result.output
    assert max(map(cell_len, result.stdout.splitlines())) <= 80
    assert "-0.00" not in result.stdout


def test_loss_is_said(ledger: Path) -> None:
    text = OPENS + '2025-03-01 * "Refund"\n' + SALE.format("800.00")
    ledger.write_text(text, encoding="utf-8")
    told = one_line(run(ledger).stdout)
    assert "The business made a loss of 800.00 USD: no tax is due on it" in told
    assert "Move to the reserve 0.00" in told


def test_text_of_the_ledger_is_inert(ledger: Path) -> None:
    text = LEDGER.replace("First payment", "=1+1 <script>alert(1)</script>")
    ledger.write_text(text, encoding="utf-8")
    page, folder = ledger.parent / "t.html", ledger.parent / "figures"
    assert run(ledger, "--html", page, "--csv", folder).exit_code == 0
    assert "<script>" not in page.read_text(encoding="utf-8")

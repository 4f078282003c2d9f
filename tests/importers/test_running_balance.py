"""The balance beside a file's rows is checked, asserted, and holds in the books."""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.import_report import ImportReport
from tests.importers.shop import Shop, new_shop

ACCOUNT = "Assets:Bank:Main"
OPENING = "Equity:Opening-Balances"
LAYOUT = """\
kind = "bank"
source = "main"
currency = ["USD", "EUR"]
[columns]
date = "Day"
text = "What"
gross = "Sum"
balance = "Balance"
currency = "Money"
id = "Id"
"""
HEADING = "Day,What,Sum,Balance,Money,Id"
JANUARY = [
    "2025-01-05,a,10.00,110.00,USD,1",
    "2025-01-20,b,-30.00,80.00,USD,2",
    "2025-01-31,c,5.00,85.00,USD,3",
]
FEBRUARY = [
    "2025-02-03,d,15.00,100.00,USD,4",
    "2025-02-03,e,-1.00,99.00,USD,5",
    "2025-02-28,f,1.00,100.00,USD,6",
]
MARCH = ["2025-03-01,g,-60.00,40.00,USD,7", "2025-03-30,h,2.00,42.00,USD,8"]


def run(shop: Shop, *files: Sequence[str], dry_run: bool = False) -> ImportReport:
    """Import files of rows in one call."""
    layout = shop.folder / "main.toml"
    layout.write_text(LAYOUT)
    paths = [
        shop.file(f"{number}.csv", HEADING, *rows) for number, rows in enumerate(files)
    ]
    return shop.run(*paths, layouts=[str(layout)], dry_run=dry_run)


def imported(shop: Shop) -> dict[str, bytes]:
    """Return the bytes of the books' files."""
    contents = shop.contents().items()
    return {name: each for name, each in contents if name.endswith(".beancount")}


def assertions(shop: Shop) -> list[tuple[str, str]]:
    """Load the books, which must be sound; return their assertions, sorted."""
    entries, errors, _ = loader.load_file(str(shop.ledger))
    assert [error.message for error in errors] == []
    return sorted(
        (entry.date.isoformat(), entry.amount.to_string())
        for entry in entries
        if isinstance(entry, data.Balance)
    )


def test_opening_balance_and_assertion_of_the_last_days_beginning(shop: Shop) -> None:
    report = run(shop, JANUARY)

    text = shop.text("main-2025-01.beancount")
    assert (
        """\
2025-01-04 * "Opening balance"
  source-id: "main/opening-2025-01-05-USD/1"
  Assets:Bank:Main                                   100.00 USD
  Equity:Opening-Balances                           -100.00 USD
"""
        in text
    )
    assert (
        """\
2025-01-31 balance Assets:Bank:Main                   80.00 USD
  source-id: "main/balance-2025-01-31-USD"
"""
        in text
    )
    assert assertions(shop) == [("2025-01-31", "80.00 USD")]
    assert shop.balances()[ACCOUNT] == Decimal("85.00")
    assert report.files[0].checks == ("running balance of 3 rows agrees",)
    assert report.notes == (
        "0.csv: begins with 100.00 USD that the books have no rows of; booked as opening "
        "balance on 2025-01-04, out of which earlier files will take what they explain",
    )
    written = {each.path.name: each.transactions for each in report.written}
    assert written["main-2025-01.beancount"] == 4  # three rows and the opening balance


def test_again_changes_no_byte(shop: Shop) -> None:
    run(shop, JANUARY)
    before = shop.contents()

    run(shop, JANUARY)

    assert shop.contents() == before


def test_nothing_is_written_in_a_dry_run(shop: Shop) -> None:
    (shop.folder / "main.toml").write_text(LAYOUT)
    shop.file("0.csv", HEADING, *JANUARY)
    before = shop.contents()

    run(shop, JANUARY, dry_run=True)

    assert shop.contents() == before


def test_balance_of_nothing_before_is_asserted_not_booked(shop: Shop) -> None:
    rows = ["2025-01-05,a,10.00,10.00,USD,1", "2025-01-06,b,1.00,11.00,USD,2"]
    run(shop, rows)
    before = shop.contents()
    run(shop, rows)

    assert shop.contents() == before
    assert assertions(shop) == [("2025-01-05", "0.00 USD"), ("2025-01-06", "10.00 USD")]
    assert OPENING not in shop.balances()


def test_newest_first(shop: Shop) -> None:
    run(shop, JANUARY[::-1])

    assert assertions(shop) == [("2025-01-31", "80.00 USD")]
    assert shop.balances()[OPENING] == Decimal(-100)


def test_several_currencies_are_each_by_itself(shop: Shop) -> None:
    euros = ["2025-01-06,x,7.00,57.00,EUR,11", "2025-01-21,y,7.00,64.00,EUR,12"]
    rows = [JANUARY[0], euros[0], JANUARY[1], euros[1], JANUARY[2]]

    report = run(shop, rows)

    assert report.files[0].checks == (
        "running balance of 3 rows in USD agrees",
        "running balance of 2 rows in EUR agrees",
    )
    assert assertions(shop) == [("2025-01-21", "57.00 EUR"), ("2025-01-31", "80.00 USD")]


@pytest.mark.parametrize(
    ("changed", "row", "expected", "found"),
    [
        ((1, "80.00", "81.00"), 3, "80.00", "81.00"),
        ((1, "-30.00", "30.00"), 3, "140.00", "80.00"),
        ((2, "85.00", "85.01"), 4, "85.00", "85.01"),
    ],
)
def test_contradiction_is_refused_at_its_row(
    shop: Shop, changed: tuple[int, str, str], row: int, expected: str, found: str
) -> None:
    (shop.folder / "main.toml").write_text(LAYOUT)
    rows = list(JANUARY)
    at, old, new = changed
    rows[at] = rows[at].replace(old, new)

    (line,) = shop.refused(
        shop.file("0.csv", HEADING, *rows), layouts=[str(shop.folder / "main.toml")]
    )

    assert line == (
        f"0.csv: row {row}, column Balance: expected {expected}, which is what the rows "
        f"come to that lead here, found {found}; a row is missing or wrong, export the "
        "file again, nothing was imported"
    )


def test_row_that_is_missing_is_refused(shop: Shop) -> None:
    (shop.folder / "main.toml").write_text(LAYOUT)

    (line,) = shop.refused(
        shop.file("0.csv", HEADING, JANUARY[0], JANUARY[2]),
        layouts=[str(shop.folder / "main.toml")],
    )

    assert "row 3, column Balance: expected 115.00" in line


def test_blank_cells_are_answered_for_by_the_next(shop: Shop) -> None:
    rows = [JANUARY[0].replace("110.00", ""), JANUARY[1].replace("80.00", ""), JANUARY[2]]
    report = run(shop, rows)

    assert report.files[0].checks == ("running balance of 1 row agrees",)
    assert shop.balances()[OPENING] == Decimal(-100)
    assert assertions(shop) == [("2025-01-31", "80.00 USD")]


def test_no_balance_at_all_says_nothing(shop: Shop) -> None:
    rows = [",".join([*row.split(",")[:3], "", *row.split(",")[4:]]) for row in JANUARY]
    report = run(shop, rows)

    assert report.files[0].checks == ()
    assert assertions(shop) == []


def test_one_day_that_reads_either_way_asserts_nothing(shop: Shop) -> None:
    report = run(
        shop, ["2025-01-05,a,5.00,105.00,USD,1", "2025-01-05,b,-5.00,100.00,USD,2"]
    )

    assert report.files[0].checks == (
        "running balance of 2 rows agrees read from either end: nothing is asserted",
    )
    assert assertions(shop) == []
    assert OPENING not in shop.balances()


def test_later_file_goes_on_from_the_books(shop: Shop) -> None:
    run(shop, JANUARY)
    report = run(shop, FEBRUARY)

    assert report.notes == ()
    assert assertions(shop) == [("2025-01-31", "80.00 USD"), ("2025-02-28", "99.00 USD")]


def test_file_cut_within_its_last_day_and_the_whole_one_after_it(shop: Shop) -> None:
    run(shop, [*JANUARY, FEBRUARY[0]])
    report = run(shop, [*JANUARY, *FEBRUARY])

    assert report.notes == ()
    assert assertions(shop) == [("2025-02-03", "85.00 USD"), ("2025-02-28", "99.00 USD")]


def test_earlier_file_takes_the_opening_balance_apart(shop: Shop) -> None:
    run(shop, FEBRUARY)
    assert shop.balances()[OPENING] == Decimal(-85)

    run(shop, JANUARY)

    assert assertions(shop) == [("2025-01-31", "80.00 USD"), ("2025-02-28", "99.00 USD")]
    assert shop.balances()[OPENING] == Decimal(-100)
    text = shop.text("main-2025-01.beancount")
    assert '2025-02-02 * "Opening balance, less what is booked before it"' in text
    before = imported(shop)
    run(shop, JANUARY)
    run(shop, FEBRUARY)
    assert imported(shop) == before


def test_file_begun_within_a_day_leaves_the_rows_before_to_another(shop: Shop) -> None:
    run(shop, FEBRUARY[1:])
    run(shop, [*JANUARY, FEBRUARY[0]])

    assert shop.balances()[OPENING] == Decimal(-100)
    assert shop.balances()[ACCOUNT] == Decimal(100)
    assert assertions(shop)[-1] == ("2025-02-28", "99.00 USD")


def test_missing_month_is_said_and_not_asserted(shop: Shop) -> None:
    run(shop, JANUARY)
    report = run(shop, MARCH)

    assert report.notes == (
        "0.csv: says 40.00 USD at the beginning of 2025-03-30, and Assets:Bank:Main comes "
        "to 25.00; rows are missing, or are there twice: nothing is asserted until they "
        "agree",
    )
    assert assertions(shop) == [("2025-01-31", "80.00 USD")]
    run(shop, FEBRUARY)
    run(shop, MARCH)
    assert [day for day, _ in assertions(shop)] == [
        "2025-01-31",
        "2025-02-28",
        "2025-03-30",
    ]


def test_balance_typed_by_hand_is_the_opening_balance(shop: Shop) -> None:
    with shop.ledger.open("a") as file:
        file.write(
            "2024-01-01 open Assets:Bank:Main\n2024-01-01 open Equity:Begin\n"
            '2024-12-31 * "Begin"\n  ! Assets:Bank:Main  100.00 USD ; as the letter says\n'
            "  Equity:Begin  -100.00 USD\n"
        )

    report = run(shop, JANUARY)

    assert report.notes == ()
    assert assertions(shop) == [("2025-01-31", "80.00 USD")]
    assert OPENING not in shop.balances()


@pytest.mark.parametrize(
    "typed",
    [
        '2024-12-31 * "Begin"\n  Assets:Bank:Main\n  Equity:Begin  -100.00 USD\n',
        "2024-12-30 pad Assets:Bank:Main Equity:Begin\n"
        "2024-12-31 balance Assets:Bank:Main 100.00 USD\n",
    ],
)
def test_what_the_text_does_not_say_is_not_asserted(shop: Shop, typed: str) -> None:
    with shop.ledger.open("a") as file:
        file.write("2024-01-01 open Assets:Bank:Main\n2024-01-01 open Equity:Begin\n")
        file.write(typed)

    report = run(shop, JANUARY)

    assert len(report.notes) == 1
    assert "cannot be told from its text" in report.notes[0]
    assert ("2025-01-31", "80.00 USD") not in assertions(shop)


def test_gift_card_used_moves_no_balance_of_a_processor(shop: Shop) -> None:
    (shop.folder / "wallet.toml").write_text(
        'kind = "payments"\nsource = "wallet"\nchannel = "Web"\ncurrency = "USD"\n'
        '[columns]\ndate = "Day"\ntype = "Kind"\ngross = "Sum"\nfee = "Fee"\n'
        'balance = "Left"\n[types]\nsale = ["sale"]\n'
        'gift-card-use = ["used"]\npayout = ["payout"]\n'
    )
    file = shop.file(
        "w.csv",
        "Day,Kind,Sum,Fee,Left",
        "2025-03-01,sale,10,0.50,9.50",
        "2025-03-02,used,20,0,9.50",
        "2025-03-03,payout,-9.50,0,0",
    )

    shop.run(file, layouts=[str(shop.folder / "wallet.toml")])

    assert ("2025-03-03", "9.50 USD") in assertions(shop)
    assert "Assets:Clearing:Wallet" not in shop.balances()


@st.composite
def statements(draw: st.DrawFn) -> list[list[str]]:
    """Files that overlap and have all of an account's rows between them."""
    balance = Decimal(draw(st.integers(-500, 500))) / 100
    day = datetime.date(2025, 1, 5)
    rows: list[str] = []
    for number in range(draw(st.integers(1, 7))):
        day += datetime.timedelta(draw(st.sampled_from([0, 0, 1, 25])))
        amount = Decimal(draw(st.integers(-400, 400))) / 100
        balance += amount
        rows.append(f"{day},row,{amount},{balance},USD,{number}")
    days = [row[:10] for row in rows]
    files = []
    covered = 0
    # A file may begin and end within a day where it has more than that day, and a row
    # of another.
    while covered < len(rows):
        end = draw(st.integers(covered + 1, len(rows)))
        starts = [
            start
            for start in range(covered + 1)
            if days[start] != days[end - 1]
            and (start < covered or days[start] != days[start - 1])
        ]
        start = draw(st.sampled_from(starts or [0]))
        newest_first = draw(st.booleans()) and days[start] != days[end - 1]
        files.append(rows[start:end][:: -1 if newest_first else 1])
        covered = end
    return files


@given(files=statements(), data=st.data())
def test_assertions_hold_whatever_is_imported_first(
    files: list[list[str]], data: st.DataObject
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        at_once = new_shop(Path(folder) / "at-once")
        run(at_once, *files)
        piecemeal = new_shop(Path(folder) / "piecemeal")
        for file in data.draw(st.permutations(files)):
            run(piecemeal, file)
            assertions(piecemeal)  # loads without errors

        assert piecemeal.balances() == at_once.balances()
        for file in files:  # a later file may have been what an assertion waited for
            run(piecemeal, file)
        assertions(piecemeal)
        books = imported(piecemeal)
        for file in files:
            run(piecemeal, file)
        assert imported(piecemeal) == books


def test_a_gap_before_a_file_of_one_day_is_noted(shop: Shop) -> None:
    run(shop, JANUARY)
    gap = ["2025-02-28,f,1.00,100.00,USD,6"]
    (note,) = run(shop, gap).notes
    assert "says 99.00 USD at the beginning of 2025-02-28" in note
    assert "comes to 85.00" in note
    assert run(shop, gap).notes == ()  # it is there, and was said


def test_a_file_that_begins_within_a_day_is_no_gap(shop: Shop) -> None:
    run(shop, [*JANUARY, FEBRUARY[0]])
    assert run(shop, [FEBRUARY[1]]).notes == ()

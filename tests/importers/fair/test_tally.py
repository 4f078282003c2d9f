"""A tally sheet becomes lines, or is refused with row and column."""

from __future__ import annotations

import datetime
import tomllib
from decimal import Decimal

import pytest

from offcut.importers.fair.tally import Tally, read_tally
from offcut.importers.layout import Layout, layout_of, shipped_layouts
from offcut.importers.problems import ImportRefused

DAY = datetime.date(2026, 6, 14)
HEADING = "Sold,Count,Price,Reduced by"
DATED = """
kind = "tally"
source = "fair"
channel = "Fair"
currency = ["USD", "EUR"]
[columns]
date = "Day"
item = "What"
quantity = "Pieces"
amount = "Taken"
currency = "Money"
[forms]
date = "%d.%m.%Y"
locale = "de_DE"
"""


def shipped() -> Layout:
    return shipped_layouts()["tally-sheet"]


def dated() -> Layout:
    return layout_of("dated", tomllib.loads(DATED), "dated.toml")


def read(
    *rows: str, layout: Layout | None = None, day: datetime.date | None = DAY
) -> Tally:
    heading = HEADING if layout is None else "Day,What,Pieces,Taken,Money"
    contents = "\n".join([heading, *rows]).encode() + b"\n"
    return read_tally("tally.csv", contents, layout or shipped(), day, "USD")


def refusal(
    *rows: str, layout: Layout | None = None, day: datetime.date | None = DAY
) -> str:
    with pytest.raises(ImportRefused) as caught:
        read(*rows, layout=layout, day=day)
    (problem,) = caught.value.problems
    return str(problem)


def test_a_row_a_design() -> None:
    tally = read('"Heron, 3 in",14,4.00,0.00', "Moth print,2,12.50,5.00")

    assert [line.item for line in tally.lines] == ["Heron, 3 in", "Moth print"]
    assert [line.quantity for line in tally.lines] == [14, 2]
    assert [line.amount for line in tally.lines] == [Decimal("56.00"), Decimal("25.00")]
    assert tally.total == Decimal("76.00")
    assert tally.pieces == 16
    assert (tally.day, tally.currency, tally.rows) == (DAY, "USD", 2)


def test_rows_of_one_text_and_price_are_one_line() -> None:
    tally = read("Heron,1,4.00,", "Moth,1,4.00,", "Heron,2,4.00,0.50", "Heron,1,3.00,")

    assert [(each.item, each.quantity, each.amount) for each in tally.lines] == [
        ("Heron", Decimal(3), Decimal("12.00")),
        ("Moth", Decimal(1), Decimal("4.00")),
        ("Heron", Decimal(1), Decimal("3.00")),
    ]
    assert [each.discount for each in tally.lines] == [Decimal("0.50"), 0, 0]


def test_a_free_piece_is_not_added_to_sold_ones() -> None:
    tally = read("Heron,1,4.00,", "Heron,1,0.00,")

    assert [each.amount for each in tally.lines] == [Decimal("4.00"), 0]


def test_what_nobody_bought_is_left_out_by_the_shipped_layout() -> None:
    tally = read("Heron,1,4.00,", "Moth,0,4.00,", "Owl,,4.00,")

    assert [line.item for line in tally.lines] == ["Heron"]
    assert (tally.rows, tally.other_rows) == (1, 2)


def test_amounts_with_a_sign_of_money_are_read() -> None:
    assert read("Heron,2,$4.00,$1.00").total == Decimal("7.00")


def test_a_dated_sheet_gives_the_rows_of_the_day() -> None:
    rows = ("13.06.2026,Heron,1,4,EUR", '14.06.2026,Moth,3,"12,50",EUR')
    tally = read(*rows, layout=dated())

    assert [(line.item, line.amount) for line in tally.lines] == [
        ("Moth", Decimal("12.50"))
    ]
    assert (tally.currency, tally.other_rows) == ("EUR", 1)


def test_a_sheet_of_one_day_needs_no_date() -> None:
    assert read("14.06.2026,Moth,3,9,EUR", layout=dated(), day=None).day == DAY


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("Heron,-1,4.00,", "row 2, column Count: expected a number of pieces above zero"),
        ("Heron,1,-4.00,", "row 2, column Price: expected zero or more, found -4.00"),
        ("Heron,two,4.00,", "row 2, column Count: expected a number such as"),
        ("Heron,1,,", "row 2, column Price: expected"),
        (",1,4.00,", "row 2, column Sold: expected a text that says what was sold"),
        ("Heron,1,4.00,5.00", "row 2, column Reduced by: expected a reduction from 0 to"),
        ("Heron,1,4.00,-1.00", "row 2, column Reduced by: expected a reduction from 0 to"),
        ("Heron,1000000,4.00,", "row 2, column Count: expected a number of pieces below"),
        ("Heron,1,0.00,", "expected a total above zero, found 0"),
        ("Heron,0,4.00,", "expected rows of what was sold, found none"),
    ],
)
def test_bad_rows_are_refused(row: str, message: str) -> None:
    assert message in refusal(row)


def test_a_return_is_refused_with_what_to_do() -> None:
    assert "take it off the row that sold it, or book the refund" in refusal(
        "Heron,-1,4.00,"
    )


def test_a_zero_count_is_refused_where_no_layout_leaves_it_out() -> None:
    assert "column Pieces: expected a number of pieces above zero" in refusal(
        "14.06.2026,Moth,0,9,EUR", layout=dated()
    )


def test_a_sheet_without_rows_is_refused() -> None:
    assert "expected rows of what was sold, found none" in refusal()


def test_a_missing_day_is_refused() -> None:
    assert "give it by --date" in refusal("Heron,1,4.00,", day=None)


def test_a_day_that_the_sheet_has_not_is_refused() -> None:
    rows = ("12.06.2026,Moth,3,9,EUR", "13.06.2026,Moth,3,9,EUR")
    assert (
        "tally.csv: expected rows of 2026-06-14, found 2026-06-12, 2026-06-13; correct "
        "--date" in refusal(*rows, layout=dated())
    )


def test_several_days_need_a_date() -> None:
    rows = ("12.06.2026,Moth,3,9,EUR", "13.06.2026,Moth,3,9,EUR")
    assert "found rows of 2026-06-12, 2026-06-13; give it by --date" in refusal(
        *rows, layout=dated(), day=None
    )


def test_two_currencies_are_refused() -> None:
    rows = ("14.06.2026,Moth,3,9,EUR", "14.06.2026,Moth,3,9,USD")
    assert "row 3, column Money: expected EUR as in the rows before, found USD" in refusal(
        *rows, layout=dated()
    )

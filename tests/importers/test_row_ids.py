"""Rows without an id of their own are known again, however they are spelled."""

from __future__ import annotations

import random
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beangulp.extract import DUPLICATE
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.csv_importer import LayoutImporter
from offcut.importers.layout import Layout, layout_of, shipped_layouts
from offcut.importers.payments import PaymentFile, read_payments
from offcut.importers.row_ids import with_known_ids
from offcut.importers.settings import load_settings
from offcut.importers.source_file import read_source
from tests.importers.shop import Shop

D = Decimal
HEADING = "Day,What,Sum,Fee,Who,Left"
ROWS = (
    "2025-03-01,Print,1234.50,0,Ann,1234.50",
    "2025-03-01,Print,4.00,0.15,Ann,1238.35",
    "2025-03-01,Print,4.00,0.15,Ben,1242.20",
    "2025-03-02,,-7.25,0,,1234.95",
)
SPELLED = (
    '03/01/25,Print ,"1,234.5",0.00,Ann,1234.50',
    "03/01/25,Print,4,.15,Ann,1238.35",
    "03/01/25,Print,4.0,0.150,Ben,1242.20",
    "03/02/25,,-7.250,,,1234.95",
)
FEW = 'date = "Day", gross = "Sum"'
MORE = f'{FEW}, text = "What", fee = "Fee"'
ALL = f'{MORE}, payee = "Who", balance = "Left"'


def settle(shop: Shop, columns: str) -> None:
    """Give the shop a layout of some columns, and no other one."""
    (shop.folder / "offcut.toml").write_text(
        '[layouts.plain]\nkind = "payments"\nsource = "plain"\nchannel = "Web"\n'
        'currency = "USD"\ntypes = { default = "sale" }\n'
        'forms = { date = ["%Y-%m-%d", "%m/%d/%y"] }\n'
        f"columns = {{ {columns} }}\n",
        "utf-8",
    )


def bring(shop: Shop, *rows: str, name: str = "p.csv") -> tuple[int, int]:
    """Import rows; return how many were booked, and how many there already."""
    (file,) = shop.run(shop.file(name, HEADING, *rows)).files
    return file.booked, file.already_there


def layout(**columns: str) -> Layout:
    """Return a layout of these columns beside the day and the sum."""
    table = {
        "kind": "payments",
        "source": "plain",
        "channel": "Web",
        "currency": ["USD"],
        "columns": {"date": "Day", "gross": "Sum", **columns},
        "types": {"default": "sale"},
    }
    return layout_of("plain", table, "plain.toml")


def read(of: Layout, *rows: str) -> PaymentFile:
    """Return what is read of rows."""
    text = "".join(f"{row}\n" for row in (HEADING, *rows))
    return read_payments(read_source("p.csv", text.encode(), of))


@pytest.mark.parametrize("columns", [FEW, MORE, ALL])
def test_another_spelling_is_the_same_row(shop: Shop, columns: str) -> None:
    settle(shop, columns)
    assert bring(shop, *ROWS) == (4, 0)
    before = shop.contents()

    assert bring(shop, *SPELLED) == (0, 4)
    assert {**shop.contents(), "p.csv": b""} == {**before, "p.csv": b""}


@pytest.mark.parametrize(("then", "now"), [(FEW, MORE), (FEW, ALL), (MORE, ALL)])
def test_layout_may_come_to_name_more_columns(shop: Shop, then: str, now: str) -> None:
    settle(shop, then)
    assert bring(shop, *ROWS[:3]) == (3, 0)
    settle(shop, now)

    assert bring(shop, *SPELLED) == (1, 3)
    before = shop.contents()
    assert bring(shop, *SPELLED) == (0, 4)
    assert shop.contents() == before


def test_rows_that_differ_in_any_column_keep_apart(shop: Shop) -> None:
    """The second file begins with another row of the same day and amount."""
    settle(shop, ALL)
    assert bring(shop, ROWS[1]) == (1, 0)
    assert bring(shop, ROWS[2], ROWS[1].replace("1238.35", "1246.05")) == (2, 0)


def test_equal_rows_are_counted(shop: Shop) -> None:
    settle(shop, MORE)
    assert bring(shop, ROWS[1], ROWS[1]) == (2, 0)
    assert bring(shop, ROWS[1], SPELLED[1], ROWS[1]) == (1, 2)


def test_both_spellings_in_one_import_are_one_row(shop: Shop) -> None:
    settle(shop, MORE)
    one = shop.file("one.csv", HEADING, *ROWS)
    two = shop.file("two.csv", HEADING, *SPELLED)

    report = shop.run(one, two)

    assert [file.booked for file in report.files] == [4, 0]
    assert dict(report.files[1].left_out) == {"in another file too": 4}


def with_old_ids(shop: Shop, *rows: str, of: Layout) -> None:
    """Import rows into a ledger that names them as versions before this one did."""
    assert bring(shop, *rows) == (len(rows), 0)
    found = read(of, *rows)
    assert found.unnamed is not None
    now = [payment.id for payment in found.payments]
    texts = shop.folder / "imports" / "plain-2025-03.beancount"
    text = texts.read_text("utf-8")
    for new, old in zip(now, found.unnamed.ids_by_cells(), strict=True):
        assert f"plain/{new}" in text
        text = text.replace(new, old)
    texts.write_text(text, "utf-8")


def test_rows_of_earlier_versions_are_known_again(shop: Shop) -> None:
    settle(shop, MORE)
    with_old_ids(shop, *ROWS[:3], of=layout(text="What", fee="Fee"))

    assert bring(shop, *ROWS) == (1, 3)
    assert bring(shop, *ROWS) == (0, 4)


def test_id_that_an_earlier_version_wrote() -> None:
    """The id is one that stood in an expected output of these tests before."""
    file = Path(__file__).parent / "golden" / "card-payments.csv"
    source = read_source(file.name, file.read_bytes(), shipped_layouts()["card-payments"])
    found = read_payments(source)

    known = with_known_ids(found.payments, found.unnamed, {"card/9a18957d492ca4a3"})

    assert [each.row for each in known if each.id == "9a18957d492ca4a3"] == [4]
    assert [each.id for each in known if each.row != 4] == [
        each.id for each in found.payments if each.row != 4
    ]


def test_opening_balance_of_an_earlier_version_is_known_again(shop: Shop) -> None:
    settle(shop, ALL)
    rows = (
        "2025-03-01,Print,1234.50,0,Ann,2234.50",
        "2025-03-01,Print,4.00,0.15,Ann,2238.35",
        "2025-03-02,,-7.25,0,,2231.10",
    )
    with_old_ids(
        shop, *rows, of=layout(text="What", fee="Fee", payee="Who", balance="Left")
    )
    assert "opening-2025-03-01-USD/" in shop.text("plain-2025-03.beancount")

    before = "2025-02-28,Print,100.00,0,Ann,1000.00"
    report = shop.run(shop.file("more.csv", HEADING, before, *rows))

    assert (report.files[0].booked, report.files[0].already_there) == (1, 3)
    assert shop.balances()["Assets:Clearing:Plain"] == D("2231.10")
    assert shop.balances()["Equity:Opening-Balances"] == D("-900.00")


def test_account_that_an_earlier_version_began_with_nothing_is_not_begun_again(
    shop: Shop,
) -> None:
    settle(shop, ALL)
    with_old_ids(
        shop, *ROWS, of=layout(text="What", fee="Fee", payee="Who", balance="Left")
    )
    assert "/opening-2025-03-01-USD/" in shop.text("plain-2025-03.beancount")
    before = shop.contents()

    assert bring(shop, *ROWS) == (0, 4)
    assert shop.contents() == before


def test_known_to_the_ecosystems_command_too(shop: Shop) -> None:
    settle(shop, FEW)
    bring(shop, *ROWS)
    settle(shop, ALL)
    settings = load_settings(shop.ledger)
    entries, errors, _ = loader.load_file(str(shop.ledger))
    assert errors == []
    importer = LayoutImporter(settings.layouts["plain"], settings)
    file = shop.file("p.csv", HEADING, *SPELLED)

    found = importer.extract(str(file), entries)
    importer.deduplicate(found, entries)

    rows = [entry for entry in found if "source-id" in entry.meta]
    assert len(rows) >= 4
    assert all(
        DUPLICATE in entry.meta
        for entry in rows
        if not any(word in entry.meta["source-id"] for word in ("opening", "balance"))
    )


AMOUNTS = ("1.50", "2.00", "-1.50")


@st.composite
def days(draw: st.DrawFn) -> list[str]:
    """Rows of a few days, many of them alike."""
    cells = st.tuples(
        st.sampled_from(["2025-03-01", "2025-03-02"]),
        st.sampled_from(["Print", "Card"]),
        st.sampled_from(AMOUNTS),
        st.sampled_from(["0", "0.10"]),
        st.sampled_from(["Ann", "Ben"]),
    )
    found = draw(st.lists(cells, min_size=1, max_size=12))
    return [f"{day},{what},{amount},{fee},{who}," for day, what, amount, fee, who in found]


def respelled(row: str, chance: random.Random) -> str:
    """Return a row with its numbers spelled otherwise."""
    day, what, amount, fee, who, left = row.split(",")
    amount = chance.choice([amount, amount.rstrip("0").rstrip("."), f"{amount}0"])
    fee = chance.choice([fee, f"{fee}0" if "." in fee else f"{fee}.00"])
    return ",".join([day, f" {what}", amount, fee, who, left])


@given(rows=days(), cut=st.integers(0, 12), seed=st.integers(0, 99))
def test_ids_agree_over_spellings_and_files_that_are_cut(
    rows: list[str], cut: int, seed: int
) -> None:
    of = layout(text="What", fee="Fee", payee="Who")
    chance = random.Random(seed)
    first = [each.id for each in read(of, *rows).payments]
    again = [
        each.id for each in read(of, *[respelled(row, chance) for row in rows]).payments
    ]

    assert len(set(first)) == len(first)
    assert again == first
    assert [each.id for each in read(of, *rows[:cut]).payments] == first[:cut]


@given(rows=days(), seed=st.integers(0, 99))
def test_layout_that_names_more_finds_each_row_and_none_twice(
    rows: list[str], seed: int
) -> None:
    chance = random.Random(seed)
    known = {f"plain/{each.id}" for each in read(layout(text="What"), *rows).payments}
    more = read(
        layout(text="What", fee="Fee", payee="Who"),
        *[respelled(row, chance) for row in rows],
        "2025-03-03,Print,1.50,0,Ann,",
    )

    found = with_known_ids(more.payments, more.unnamed, known)

    assert {f"plain/{each.id}" for each in found[:-1]} == known
    assert found[-1] == more.payments[-1]

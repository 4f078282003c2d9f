"""Good tally sheets with something broken in them: booked as they read, or refused.

The oracle is that of `test_mutations`: a reader of RFC 4180's grammar adds up what the
cells say. The money of the day is the same always, so that what the books are over or
short by follows from the sheet alone.
"""

from __future__ import annotations

import datetime
import random
import re
import shutil
from collections import Counter, defaultdict
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest

from offcut.importers.fair.day import FairReport, book_fair
from offcut.importers.fair.papers import FairPapers
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import load_settings
from offcut.importers.values import one_line
from tests.importers.mutations import MUTATIONS, Row, cents, check_refused, number, rows_of
from tests.importers.shop import SETTINGS, Shop, new_shop

DAY = datetime.date(2026, 6, 14)
CASH = Decimal("400.00")
ROUNDS = 60
DATED = """
[layouts.dated]
kind = "tally"
source = "fair"
channel = "Fair"
currency = ["USD", "EUR"]
[layouts.dated.columns]
date = "Day"
item = "What"
quantity = "Pieces"
amount = "Taken"
discount = "Off"
currency = "Money"
[layouts.dated.file]
delimiter = ";"
"""
SHEETS = {
    "tally-sheet": (
        "Sold,Count,Price,Reduced by\n"
        '"Heron at Dusk, 3 in sticker",14,4.00,0.00\n'
        "Moth print,2,12.50,5.00\n"
        '"Moth ""small"" card",3,"$1,002.25",\n'
        "Owl,0,4.00,0.00\n"
        "Gift wrap,1,1.00,\n"
        "Unheard of,7,0.75,0.25\n"
        "Heron print,,9.50,\n"
        "Moth print,1,12.50,0.00\n"
    ),
    "dated": (
        "Day;What;Pieces;Taken;Off;Money\n"
        "2026-06-13;Heron;1;4.00;0.00;USD\n"
        '2026-06-14;"Heron; large";2;25.00;1.00;USD\n'
        "2026-06-14;Moth;12;48.00;;USD\n"
        "2026-06-14;Unheard of;1;0.00;0.00;USD\n"
        "2026-06-14;Gift wrap;3;3.00;;USD\n"
        "2026-06-15;Moth;1;4.00;0.00;USD\n"
    ),
}
# What is not wrong in one row of a sheet.
OF_THE_SHEET = r"expected rows of |expected a total above zero"


def layout_of_sheet(shop: Shop, name: str) -> Layout:
    return {**shipped_layouts(), **load_settings(shop.ledger).layouts}[name]


def sold_rows(rows: Sequence[Row], layout: Layout) -> list[dict[str, str]]:
    """Return the cells of the rows that count, by the names that a layout has for them."""
    found = []
    for row in rows:
        cells = {
            key: row.get(header, "").strip() for key, (header,) in layout.columns.items()
        }
        nothing = layout.name == "tally-sheet" and cells["quantity"] in ("", "0")
        # A day may be written without the nought before its month.
        if not nothing and cells.get("date", str(DAY)).replace("-6-", "-06-") == str(DAY):
            found.append(cells)
    return found


def check_booked(shop: Shop, report: FairReport, contents: bytes, name: str) -> None:
    """Check that what was booked is what the sheet says."""
    layout = layout_of_sheet(shop, name)
    rows = rows_of(contents, layout)
    read = sold_rows(rows, layout)
    tally = report.fair.tally
    assert (tally.rows, tally.other_rows) == (len(read), len(rows) - len(read))

    pieces = sum((number(each["quantity"]) for each in read), Decimal(0))
    off = sum((number(each["discount"]) for each in read), Decimal(0))
    gross = Decimal(0)
    for cells in read:
        if "amount" in cells:
            gross += number(cells["amount"])
        else:
            gross += cents(number(cells["quantity"]) * number(cells["unit-price"]))
    assert (tally.pieces, tally.total) == (pieces, gross - off)
    assert {line.item for line in tally.lines} == {one_line(each["item"]) for each in read}

    booked: dict[str, Decimal] = defaultdict(Decimal)
    counted = Decimal(0)
    for transaction in shop.transactions():
        assert transaction.date == DAY
        for posting in transaction.postings:
            assert posting.units.currency == tally.currency
            booked[posting.account] += posting.units.number
            counted += (posting.meta or {}).get("quantity", Decimal(0))
    assert booked.pop("Assets:Cash") == CASH
    assert booked.pop("Assets:Clearing:Fair") == 0
    assert booked.pop("Expenses:Fairs:CashOverShort", Decimal(0)) == gross - off - CASH
    assert sum(booked.values()) == off - gross
    assert all(account.startswith("Income:") for account in booked)
    assert counted <= pieces


def papers(path: Path) -> FairPapers:
    return FairPapers("harbour-fair-2026", path, DAY, str(CASH), None, None)


@pytest.mark.parametrize("name", SHEETS)
def test_good_sheets_are_booked(tmp_path: Path, name: str) -> None:
    shop = new_shop(tmp_path / "shop", settings=SETTINGS + DATED)
    path = shop.folder / "tally.csv"
    path.write_text(SHEETS[name], "utf-8")

    report = book_fair(papers(path), shop.ledger)

    check_booked(shop, report, path.read_bytes(), name)


@pytest.mark.parametrize(
    "rounds", [range(ROUNDS), pytest.param(range(ROUNDS, 1000), marks=pytest.mark.slow)]
)
@pytest.mark.parametrize("name", SHEETS)
def test_mutations_of_tallies(tmp_path: Path, name: str, rounds: range) -> None:
    outcomes: Counter[str] = Counter()
    for seed in rounds:
        draw = random.Random(f"{name} {seed}")
        mutation = MUTATIONS[seed % len(MUTATIONS)]
        mutated = mutation(draw, SHEETS[name].encode())
        shop = new_shop(tmp_path / "shop", settings=SETTINGS + DATED)
        path = shop.folder / "tally.csv"
        path.write_bytes(mutated)
        before = shop.contents()
        try:
            report = book_fair(papers(path), shop.ledger)
        except ImportRefused as refused:
            outcomes["refused"] += 1
            assert shop.contents() == before, (seed, mutation)
            if not re.search(OF_THE_SHEET, str(refused.problems[0])):
                check_refused(refused, path.name)
        else:
            outcomes["booked"] += 1
            try:
                check_booked(shop, report, mutated, name)
                after = shop.contents()
                assert book_fair(papers(path), shop.ledger).already_there
                assert shop.contents() == after
            except Exception as error:
                error.add_note(f"seed {seed}, {mutation.__name__}")
                raise
        shutil.rmtree(shop.folder)

    # Both happen: neither is everything refused nor everything taken.
    assert min(outcomes["refused"], outcomes["booked"]) > len(rounds) // 10, outcomes

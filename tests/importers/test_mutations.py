"""Good files with something broken in them: booked exactly as they read, or refused.

The oracle reads the broken file by itself: a reader of RFC 4180's grammar, written out
here, adds up what the cells say. Where an import takes the file, its report and the
balances of the ledger are those sums; where it refuses it, it says where, and no byte of
the ledger has changed. Each mutation has its seed in its name.
"""

from __future__ import annotations

import random
import shutil
from collections import Counter, defaultdict
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest
from beancount.core import convert

from offcut.importers.import_report import ImportReport
from offcut.importers.importing import import_files
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.problems import ImportRefused
from offcut.importers.records import order_key
from offcut.importers.values import one_line
from tests.importers.generated_month import write_month
from tests.importers.mutations import (
    MUTATIONS,
    Row,
    cents,
    check_refused,
    number,
    rows_of,
)
from tests.importers.shop import Shop, new_shop

GOLDEN = Path(__file__).parent / "golden"
# A tally is no file by itself: `offcut fair` reads it.
LAYOUTS = [layout.name for layout in shipped_layouts().values() if layout.kind != "tally"]
ROUNDS = 100
Sums = dict[str, Decimal]


class Cells:
    """The cells of a row by the names that its layout has for them; blank without one."""

    def __init__(self, row: Row, layout: Layout) -> None:
        self.row = row
        self.layout = layout

    def __getitem__(self, key: str) -> str:
        headers = self.layout.columns.get(key, ())
        return self.row[headers[0]].strip() if headers else ""

    def number(self, key: str) -> Decimal:
        return number(self[key].removesuffix("%"))


def rows_read(rows: Sequence[Row], layout: Layout) -> list[Cells]:
    """Return the rows that are read: none that is there already, or that is ignored."""
    read: list[Cells] = []
    seen: set[tuple[str, ...]] = set()
    statuses: dict[str, str] = {}
    for row in rows:
        cells = Cells(row, layout)
        if cells["id"] and tuple(row.values()) in seen:
            continue
        seen.add(tuple(row.values()))
        if "status" in layout.columns:  # an invoice as sent, and again as paid
            order = order_key(one_line(cells["order"]))
            if statuses.setdefault(order, cells["status"]) != cells["status"]:
                continue
        if layout.types.get(cells["type"].casefold(), "sale") is not None:
            read.append(cells)
    return read


def moved(cells: Cells) -> Decimal:
    """Return what the account of a row gains by it."""
    columns = cells.layout.columns
    if "net" in columns:
        return cells.number("net")
    if "gross" in columns:
        fee = cells.layout.fee_sign * cells.number("fee")
        return cells.number("gross") - fee
    return cells.number("credit") - cells.number("debit")


def sums_of(rows: Sequence[Cells], layout: Layout) -> Sums:
    """Return what a file says that its account gains, or its buyers owe, by currency."""
    sums: Sums = defaultdict(Decimal)
    orders: set[str] = set()
    for cells in rows:
        currency = cells["currency"].upper()
        if layout.kind != "order-lines":
            sums[currency] += moved(cells)
            continue
        amount = cents(cells.number("quantity") * cells.number("unit-price"))
        off = cents(amount * cells.number("discount-rate") / 100)
        sums[currency] += amount - off - cells.number("discount")
        order = order_key(one_line(cells["order"]), layout.prefix)
        if order not in orders:
            orders.add(order)
            sums[currency] += cells.number("shipping") + cells.number("tax")
    return {currency: amount for currency, amount in sums.items() if amount}


def openings(rows: Sequence[Cells], currency: str) -> set[Decimal]:
    """Return what an account may have had before its rows, by the balances beside them.

    Rows stand in the order of time or against it.
    """
    found = {Decimal(0)}
    of_currency = [each for each in rows if each["currency"].upper() == currency]
    for in_order in (of_currency, of_currency[::-1]):
        gained = Decimal(0)
        for cells in in_order:
            gained += moved(cells)
            if cells["balance"]:
                found.add(cells.number("balance") - gained)
                break
    return found


def account_of(layout: Layout) -> str:
    """Return the account that has the sum of a file alone."""
    accounts = layout.accounts
    return accounts.receivable if layout.kind == "order-lines" else accounts.clearing


def check_booked(shop: Shop, report: ImportReport, contents: bytes) -> None:
    """Check that what was booked is what the file says."""
    (file,) = report.files
    layout = shipped_layouts()[file.layout]
    assert report.ties
    rows = rows_of(contents, layout)
    assert file.rows == len(rows)
    read = rows_read(rows, layout)
    sums = sums_of(read, layout)

    booked: Sums = defaultdict(Decimal)
    everything: Sums = defaultdict(Decimal)
    for transaction in shop.transactions():
        for posting in transaction.postings:
            weight = convert.get_weight(posting)
            everything[weight.currency] += weight.number
            account = posting.account
            if account == account_of(layout) or account.startswith(
                f"{account_of(layout)}:"
            ):
                booked[posting.units.currency] += posting.units.number
    assert not any(everything.values())
    elsewhere: Sums = defaultdict(Decimal)
    for cells in read:
        if layout.types.get(cells["type"].casefold()) == "gift-card-use":
            elsewhere[cells["currency"].upper()] += moved(cells)  # paid by what is owed
    for currency in sums.keys() | booked.keys():
        gained = sums.get(currency, Decimal(0)) - elsewhere[currency]
        before = booked[currency] - gained
        assert before in openings(read, currency), (currency, dict(booked), sums)

    reported: Sums = defaultdict(Decimal)
    for total in file.totals:
        reported[total.currency] += total.net
    assert {key: amount for key, amount in reported.items() if amount} == sums


def good_files(folder: Path) -> dict[str, bytes]:
    """Return good files by a name: a golden one of each shipped layout, and a month's."""
    golden = {f"{name}.csv": (GOLDEN / f"{name}.csv") for name in LAYOUTS}
    month = {path.name: path for path in write_month(folder, orders=6)}
    return {name: path.read_bytes() for name, path in {**golden, **month}.items()}


def test_good_files_are_booked(tmp_path: Path) -> None:
    for name, contents in good_files(tmp_path).items():
        shop = new_shop(tmp_path / f"{name}-shop")
        path = shop.folder / name
        path.write_bytes(contents)
        check_booked(shop, import_files([path], shop.ledger), contents)


@pytest.mark.parametrize(
    "rounds", [range(ROUNDS), pytest.param(range(ROUNDS, 1000), marks=pytest.mark.slow)]
)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_mutations(tmp_path: Path, layout: str, rounds: range) -> None:
    outcomes: Counter[str] = Counter()
    of_layout = [
        (name, contents)
        for name, contents in good_files(tmp_path).items()
        if LAYOUT_OF.get(name, name.removesuffix(".csv")) == layout
    ]
    for seed in rounds:
        name, contents = of_layout[seed % len(of_layout)]
        draw = random.Random(f"{layout} {seed}")
        mutation = MUTATIONS[seed % len(MUTATIONS)]
        mutated = mutation(draw, contents)
        shop = new_shop(tmp_path / "shop")
        path = shop.folder / name
        path.write_bytes(mutated)
        before = shop.contents()
        try:
            report = import_files([path], shop.ledger)
        except ImportRefused as refused:
            outcomes["refused"] += 1
            assert shop.contents() == before, (seed, mutation)
            check_refused(refused, name)
        else:
            outcomes["booked"] += 1
            try:
                check_booked(shop, report, mutated)
            except Exception as error:
                error.add_note(f"seed {seed}, {mutation.__name__}")
                raise
        shutil.rmtree(shop.folder)

    # Both happen: neither is everything refused nor everything taken.
    assert min(outcomes["refused"], outcomes["booked"]) > len(rounds) // 10, outcomes


LAYOUT_OF = {
    "payments-2025-03.csv": "card-payments",
    "orders-2025-03.csv": "shop-orders",
    "market-payments-2025-03.csv": "market-payments",
    "market-orders-2025-03.csv": "market-orders",
}

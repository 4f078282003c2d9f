"""The example comes out as it is committed, loads without errors, and tells its story."""

from __future__ import annotations

import datetime
import os
import re
import shutil
import subprocess
import sys
from collections import defaultdict
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data
from beancount.ops import validation
from click.testing import CliRunner

from offcut.importers.importing import import_files
from offcut.plugins.catalogue import read_catalogue
from offcut.reports.command import main as command
from tests.conftest import Loaded

EXAMPLE = Path(__file__).parents[2] / "example_ledger"
LAST_MONTH = "2026-10"
UNKNOWN = "Surprise pack — five vinyl stickers"


@pytest.fixture(scope="module")
def remade(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example made anew, with another seed of Python's own hashing than usual."""
    folder = tmp_path_factory.mktemp("example")
    subprocess.run(
        [sys.executable, EXAMPLE / "make_example.py", "--to", folder],
        check=True,
        env={**os.environ, "PYTHONHASHSEED": "1"},
    )
    return folder


@pytest.fixture(scope="module")
def example(remade: Path) -> Loaded:
    """The ledger before its last month is imported, with the checks of bean-check."""
    return load(remade)


@pytest.fixture
def copy(remade: Path, tmp_path: Path) -> Path:
    """A copy of the example to import into."""
    return Path(shutil.copytree(remade, tmp_path / "copy"))


def load(folder: Path) -> Loaded:
    """Load an example's ledger."""
    entries, errors, options = loader.load_file(str(folder / "main.beancount"))
    errors.extend(validation.validate_data_types(entries, options))
    return Loaded(entries, errors, options)


def files_of(folder: Path) -> dict[str, bytes]:
    """Return the files that the script makes, by path; not what an import added."""
    patterns = ("*.beancount", "offcut.toml", "*/*.beancount", "*/*.csv", "receipts/*.txt")
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for pattern in patterns
        for path in folder.glob(pattern)
        if not path.match(f"imports/*{LAST_MONTH}.beancount")
    }


def inbox(folder: Path) -> list[Path]:
    """Return the files of the last month, which are not imported yet."""
    return sorted((folder / "inbox").iterdir())


def transactions(example: Loaded) -> list[data.Transaction]:
    """Return the ledger's transactions."""
    return [entry for entry in example.entries if isinstance(entry, data.Transaction)]


def customs(example: Loaded, kind: str) -> list[data.Custom]:
    """Return the custom directives of one type."""
    return [
        entry
        for entry in example.entries
        if isinstance(entry, data.Custom) and entry.type == kind
    ]


def change(entry: data.Transaction, *roots: str) -> Decimal:
    """Return what a transaction adds to the accounts under some roots, in dollars."""
    return sum(
        (
            posting.units.number
            for posting in entry.postings
            if posting.account.startswith(roots) and posting.units.currency == "USD"
        ),
        Decimal(0),
    )


def with_movement(example: Loaded, movement: str) -> list[data.Transaction]:
    """Return the imported transactions of one movement."""
    return [
        entry for entry in transactions(example) if entry.meta.get("movement") == movement
    ]


def test_making_it_anew_gives_the_committed_files(remade: Path) -> None:
    made, committed = files_of(remade), files_of(EXAMPLE)
    assert sorted(made) == sorted(committed)
    assert [name for name in made if made[name] != committed[name]] == []


def test_making_it_in_place_takes_out_an_earlier_import(copy: Path) -> None:
    before = files_of(copy)
    import_files(inbox(copy), copy / "main.beancount")
    (copy / "notes.txt").write_text("the reader's own")
    subprocess.run([sys.executable, EXAMPLE / "make_example.py", "--to", copy], check=True)
    assert list(copy.glob(f"imports/*{LAST_MONTH}.beancount")) == []
    assert files_of(copy) == before
    assert (copy / "notes.txt").read_text() == "the reader's own"


def test_it_is_small(remade: Path) -> None:
    exports = sum(path.stat().st_size for path in (remade / "exports").iterdir())
    assert exports < 1_000_000
    assert sum(map(len, files_of(remade).values())) < 2_500_000


def test_it_loads_without_errors(example: Loaded) -> None:
    assert [(error.source, error.message) for error in example.errors] == []


def test_it_loads_without_the_plugins_too(copy: Path) -> None:
    main = copy / "main.beancount"
    lines = main.read_text("utf-8").splitlines(keepends=True)
    without = [line for line in lines if not line.startswith("plugin ")]
    assert len(without) == len(lines) - 1
    main.write_text("".join(without), "utf-8")
    assert load(copy).errors == []


def test_it_keeps_24_months(example: Loaded, remade: Path) -> None:
    months = {entry.date.isoformat()[:7] for entry in transactions(example)}
    assert (min(months), max(months), len(months)) == ("2024-11", LAST_MONTH, 24)
    assert len(list((remade / "exports").glob("*.csv"))) == 4 * 23
    assert [path.name for path in inbox(remade)] == [
        f"{name}-{LAST_MONTH}.csv"
        for name in ("card-payments", "market-orders", "market-payments", "shop-orders")
    ]


def test_it_has_14_designs_in_22_products(example: Loaded) -> None:
    products = [
        item for item in read_catalogue(example.entries).values() if item.kind == "product"
    ]
    assert len({product.design for product in products}) == 14
    assert len(products) == 22
    assert {product.format for product in products} >= {"sticker-3in", "print-letter"}


def test_every_product_is_sold(example: Loaded) -> None:
    sold = {
        posting.meta["item"]
        for entry in transactions(example)
        for posting in entry.postings
        if posting.account.startswith("Income:Sales:") and "item" in posting.meta
    }
    catalogue = read_catalogue(example.entries)
    assert sold == {code for code, item in catalogue.items() if item.kind == "product"}


def test_it_sells_on_five_channels(example: Loaded) -> None:
    sales: dict[str, Decimal] = defaultdict(Decimal)
    for entry in transactions(example):
        for posting in entry.postings:
            if posting.account.startswith("Income:Sales:"):
                sales[posting.account.split(":")[2]] -= posting.units.number
    assert set(sales) == {"Web", "Market", "Fair", "Wholesale", "Commission"}
    assert min(sales.values()) > 500


def test_one_of_four_fairs_loses_money(example: Loaded) -> None:
    earned: dict[str, Decimal] = defaultdict(Decimal)
    for entry in transactions(example):
        for tag in entry.tags:
            earned[tag] -= change(entry, "Income:", "Expenses:")
    losing = {event for event, amount in earned.items() if amount < 0}
    assert len(earned) == 4
    assert losing == {"event-inland-craft-day-2026"}


def test_wholesale_is_at_half_of_retail_and_paid_a_month_later(example: Loaded) -> None:
    catalogue = read_catalogue(example.entries)
    invoiced: dict[str, datetime.date] = {}
    waits = []
    for entry in transactions(example):
        link = next(iter(entry.links), "")
        if change(entry, "Assets:Receivable:Wholesale") > 0:
            invoiced[link] = entry.date
            for posting in entry.postings:
                if posting.account == "Income:Sales:Wholesale":
                    list_price = catalogue[posting.meta["item"]].list_price
                    assert list_price is not None
                    half = posting.meta["quantity"] * list_price.number / 2
                    assert -posting.units.number == half
        elif change(entry, "Assets:Receivable:Wholesale") < 0:
            waits.append((entry.date - invoiced.pop(link)).days)
    assert len(waits) == 12
    assert min(waits) >= 30
    assert list(invoiced) == ["order-S13"]


def test_refunds_stay_out_or_come_back_to_the_shelf(example: Loaded) -> None:
    refunds = with_movement(example, "refund")
    returned = [
        posting
        for entry in transactions(example)
        for posting in entry.postings
        if posting.account.startswith("Income:Refunds:") and "quantity" in posting.meta
    ]
    assert len(refunds) > len(returned) > 0
    assert {entry.meta["channel"] for entry in refunds} == {"Web", "Market"}


def test_a_dispute_is_decided_well_but_its_fee_is_lost(example: Loaded) -> None:
    (dispute,) = with_movement(example, "dispute")
    (reversal,) = with_movement(example, "reversal")
    assert dispute.links == reversal.links
    assert change(dispute, "Income:") + change(reversal, "Income:") == 0
    assert change(dispute, "Expenses:Fees:Card") == 15
    assert change(reversal, "Expenses:") == 0


def test_a_misprinted_run_is_an_expense(example: Loaded) -> None:
    worst = max(customs(example, "print-run"), key=lambda run: run.meta.get("spoiled", 0))
    assert worst.meta["spoiled"] == 20
    spoilage = {
        posting.account: entry.date
        for entry in transactions(example)
        for posting in entry.postings
        if posting.account.startswith("Expenses:Spoilage:")
    }
    # No other run spoils more than is normal for its format.
    assert spoilage == {"Expenses:Spoilage:PIER-PRT": worst.date}


def test_the_manufacturer_s_set_up_and_freight_are_in_the_pieces_cost(
    example: Loaded,
) -> None:
    # 400 pieces at 0.42, 38.00 for set-up and, from a later bill, 26.00 for freight:
    # all of it is in what is still here and in what the pieces sold by then have cost.
    late_bill = datetime.date(2025, 3, 4)
    shelf, goods, freight = Decimal(0), Decimal(0), Decimal(0)
    for entry in transactions(example):
        for posting in entry.postings if entry.date <= late_bill else ():
            if posting.account == "Assets:Stock:FOG-HOL":
                shelf += posting.units.number * posting.cost.number
            elif posting.account == "Expenses:COGS:FOG-HOL":
                goods += posting.units.number
            elif posting.account.startswith("Expenses:Inbound:"):
                freight += posting.units.number
    assert goods > 0
    assert shelf + goods == 400 * Decimal("0.42") + 38 + 26
    assert freight == 0


def test_stamps_are_bought_and_used_at_two_prices(example: Loaded) -> None:
    bought: dict[str, set[Decimal]] = defaultdict(set)
    used: dict[str, set[Decimal]] = defaultdict(set)
    for entry in transactions(example):
        for posting in entry.postings:
            if posting.account.startswith("Assets:Stamps:"):
                prices = used if posting.units.number < 0 else bought
                prices[posting.units.currency].add(posting.cost.number)
    assert bought["STAMP-LETTER"] == {Decimal("0.78"), Decimal("0.82")}
    assert bought["STAMP-FLAT"] == {Decimal("1.63"), Decimal("1.71")}
    assert used == bought


def test_accounts_are_costed_by_both_methods(example: Loaded) -> None:
    averaged = {
        entry.currencies[0]
        for entry in example.entries
        if isinstance(entry, data.Open) and entry.booking == data.Booking.AVERAGE
    }
    assert averaged == {"INK-ML", "CAT-SHT"}


def test_sales_tax_is_paid_to_the_cent(example: Loaded) -> None:
    """What was charged up to September 2026 is what was paid by October."""
    end = datetime.date(2026, 10, 1)
    charged = paid = Decimal(0)
    for entry in transactions(example):
        amount = change(entry, "Liabilities:SalesTax")
        if amount > 0:
            paid += amount
        elif entry.date < end:
            charged -= amount
    assert paid == charged > 0


def test_income_tax_is_paid_in_time_and_partly_set_aside(copy: Path) -> None:
    """2025 is settled to the dollar; of 2026 nothing is overdue, and some is to move."""
    main = str(copy / "main.beancount")
    run = CliRunner().invoke
    year = run(command, ["tax", "2025", main, "--on", "2026-11-02"])
    assert (year.exit_code, year.stderr) == (0, "")
    assert re.search("Paid so far for 2025 +-1,626.00", year.stdout)
    assert re.search("The tax office's today +0.00", year.stdout)
    year = run(command, ["tax", main, "--on", "2026-11-02"])
    assert (year.exit_code, year.stderr) == (0, "")
    assert "overdue" not in year.stdout.lower()
    assert re.search(r"Move to the reserve +[1-9][0-9.]* +today", year.stdout)
    assert re.search(r"In the reserve +-64\.00", year.stdout)


def test_the_printer_and_the_miles_of_2025_are_deducted(copy: Path) -> None:
    """480.00 for the printer, and 100 miles at 0.70: the steps from net income say so."""
    main = str(copy / "main.beancount")
    year = CliRunner().invoke(command, ["year-end", "2025", main])
    assert (year.exit_code, year.stderr) == (0, "")
    assert re.search(r"Equipment, as you elected +-480\.00", year.stdout)
    assert re.search(r"Mileage allowance +-70\.00", year.stdout)
    assert "The steps lead to the last line of the form, to the cent." in year.stdout


def test_receipts_show_what_was_booked_and_some_are_missing(
    copy: Path, example: Loaded
) -> None:
    booked = {
        (entry.date.isoformat(), -change(entry, "Assets:Bank:Checking"))
        for entry in transactions(example)
    }
    receipts = sorted((copy / "receipts").iterdir())
    for path in receipts:
        total = re.search(r"Total (\S+) USD", path.read_text())
        assert total is not None
        assert (path.name[:10], Decimal(total[1])) in booked
    filed = {
        Path(entry.filename).name
        for entry in example.entries
        if isinstance(entry, data.Document)
    }
    named = {
        Path(posting.meta["document"]).name
        for entry in transactions(example)
        for posting in entry.postings
        if "document" in posting.meta
    }
    assert filed | named == {path.name for path in receipts}
    assert filed
    assert named

    year = CliRunner().invoke(command, ["year-end", "2025", str(copy / "main.beancount")])
    without = year.stdout.partition("Expenses without a receipt")[2].partition("\n\n")[0]
    assert "The post office" in without
    assert not re.search("printer|harbour trust|insurer|manufacturer", without)


def test_clearing_accounts_are_paid_out(example: Loaded) -> None:
    """Nothing is left with others at the end of September, but for the last payout."""
    end = datetime.date(2026, 10, 1)
    for account in ("Card", "Market", "Reader"):
        left = sum(
            change(entry, f"Assets:Clearing:{account}")
            for entry in transactions(example)
            if entry.date < end
        )
        assert left == 0
    assert (
        sum(change(entry, "Assets:Clearing:Payouts") for entry in transactions(example))
        == 0
    )


def test_the_last_month_imports_once(copy: Path) -> None:
    main = copy / "main.beancount"
    before = files_of(copy)

    first = import_files(inbox(copy), main)
    assert first.ties
    assert all(file.booked == file.rows for file in first.files)
    assert [item.text for item in first.unknown_items] == [UNKNOWN]
    assert sorted(written.path.name for written in first.written) == [
        f"card-{LAST_MONTH}.beancount",
        f"market-{LAST_MONTH}.beancount",
    ]
    imported = {path: path.read_bytes() for path in (copy / "imports").iterdir()}
    assert load(copy).errors == []

    second = import_files(inbox(copy), main)
    assert second.ties
    assert all(file.already_there == file.rows for file in second.files)
    assert second.written == ()
    assert imported == {path: path.read_bytes() for path in (copy / "imports").iterdir()}
    assert files_of(copy) == before


def test_the_months_before_are_all_imported(copy: Path) -> None:
    """Their files, all at once and with the last month's, add that month alone."""
    files = sorted((copy / "exports").iterdir())
    report = import_files(files, copy / "main.beancount")
    assert report.ties
    assert all(file.already_there == file.rows for file in report.files)
    assert report.unknown_items == ()
    assert report.written == ()


def test_orders_of_a_month_s_last_evening_are_paid_for_in_the_next(
    example: Loaded,
) -> None:
    account = "Assets:Receivable:Market"
    changes = [
        (entry.date, amount)
        for entry in transactions(example)
        if (amount := change(entry, account))
    ]
    owed = {date for date, amount in changes if amount > 0}
    settled = {date for date, amount in changes if amount < 0}
    assert sum(amount for _, amount in changes) == 0
    assert settled == {date + datetime.timedelta(days=1) for date in owed} != set()
    assert {date.day for date in settled} == {1}

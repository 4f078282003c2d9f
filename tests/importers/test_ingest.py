"""The shipped import configuration, under beangulp's command and in the viewer."""

from __future__ import annotations

import contextlib
import re
import shutil
import subprocess
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from beancount import loader
from beancount.core import data
from beancount.parser import parser
from fava.application import create_app
from werkzeug.serving import make_server

from offcut.importers import ingest_config
from offcut.importers.csv_importer import importers
from offcut.importers.layout import shipped_layouts
from tests.importers.shop import Shop

GOLDEN = Path(__file__).parent / "golden"
CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
SALE = "2025-03-04,Sale,W1,,4.00,0.40,3.60,USD,ch_1"
REFUND = '2025-03-05,Refund,W1,"A ""quoted"" text",-4.00,0.00,-4.00,USD,re_1'
LINES = "W1,2025-03-03,Heron,1,4.00,0,0,0,USD"
ACCOUNTS = (
    *("Assets:Clearing:Card", "Assets:Receivable:Web", "Expenses:Fees:Card"),
    *("Income:Refunds:Web", "Income:Sales:Web", "Income:Suspense:Web"),
)
# Files of these kinds are imported by other commands.
NAMES = sorted(
    layout.name for layout in shipped_layouts().values() if layout.kind != "tally"
)


@pytest.fixture
def downloads(shop: Shop) -> Path:
    """A folder of downloads beside the ledger: a good file of each layout, and others."""
    folder = shop.folder / "downloads"
    folder.mkdir()
    for name in NAMES:
        shutil.copy(GOLDEN / f"{name}.csv", folder / f"{name}-march.csv")
    (folder / "notes.txt").write_text("Call the printer.\n")
    (folder / "photo.jpg").write_bytes(bytes(range(256)) * 20)
    (folder / "empty.csv").touch()
    return folder


def ingest(shop: Shop, *arguments: str, copy: bool = False) -> str:
    """Run the shipped configuration in the ledger's folder; return what it prints."""
    command = ["-m", "offcut.importers.ingest_config"]
    if copy:
        shutil.copy(str(ingest_config.__file__), shop.folder / "import.py")
        command = ["import.py"]
    done = subprocess.run(
        [sys.executable, *command, *arguments],
        cwd=shop.folder,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("copy", [False, True])
def test_identify(shop: Shop, downloads: Path, copy: bool) -> None:
    printed = ingest(shop, "identify", "downloads", copy=copy)

    found = re.findall(r"^\* .*/(.+)-march\.csv \.\.\. OK\n  (\S+)$", printed, re.M)
    assert dict(found) == {name: f"offcut.{name}" for name in NAMES}
    assert printed.count("offcut.") == len(found)


def test_extract_gives_what_the_import_writes(shop: Shop, downloads: Path) -> None:
    printed = ingest(shop, "extract", "-e", "main.beancount", "downloads")

    entries, errors, _ = parser.parse_string(printed)
    assert errors == []
    transactions = [entry for entry in entries if isinstance(entry, data.Transaction)]
    ids = {each.meta.get("source-id") or each.meta.get("lines-id") for each in transactions}
    shop.run(*(downloads / f"{name}-march.csv" for name in NAMES))
    written = {
        entry.meta[key]
        for entry in shop.transactions()
        for key in ("source-id", "lines-id")
        if key in entry.meta
    }
    assert ids - {None} == written
    assert len(ids) > 15


@pytest.mark.parametrize("names", [("a", "b"), ("b", "a")])
def test_extract_lets_an_orders_halves_meet(shop: Shop, names: tuple[str, str]) -> None:
    folder = shop.folder / "downloads"
    folder.mkdir()
    files = shop.payments(SALE), shop.orders(LINES)
    for file, name in zip(files, names, strict=True):
        file.rename(folder / f"{name}.csv")

    printed = ingest(shop, "extract", "-e", "main.beancount", "downloads")

    shop.run(*(folder / f"{name}.csv" for name in names))
    at_once = shop.balances()
    opens = shop.text("accounts.beancount")
    entries, _, _ = parser.parse_string(opens + printed)
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for entry in entries:
        for posting in getattr(entry, "postings", ()):
            sums[posting.account] += posting.units.number
    assert {account: total for account, total in sums.items() if total} == at_once


def test_extract_marks_what_the_ledger_has(shop: Shop) -> None:
    file = shop.payments(SALE, REFUND)
    shop.run(file)

    printed = ingest(shop, "extract", "-e", "main.beancount", file.name)

    # beangulp comments a duplicate out.
    assert parser.parse_string(printed)[0] == []
    assert len(re.findall(r"^; \d{4}-\d\d-\d\d \* ", printed, re.M)) == 2


def test_extract_with_the_settings_beside_the_ledger(shop: Shop) -> None:
    file = shop.orders(LINES, LINES.replace("Heron", "Gift wrap"))

    printed = ingest(shop, "extract", "-e", "main.beancount", file.name)

    assert 'item: "HERON-STK"' in printed
    assert "Income:Extras:Web" in printed
    assert "Suspense" not in printed


def test_extract_of_a_wrong_file_says_what_is_wrong(shop: Shop) -> None:
    file = shop.payments(SALE.replace("4.00", "four"))

    done = subprocess.run(
        [sys.executable, "-m", "offcut.importers.ingest_config", "extract", file.name],
        cwd=shop.folder,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode != 0
    assert "payments.csv: row 2, column Gross: expected a number" in done.stderr
    assert "Traceback" not in done.stderr


def test_archive_files_by_account_and_day(shop: Shop) -> None:
    (shop.folder / "documents").mkdir()
    payments, orders = shop.payments(SALE, REFUND), shop.orders(LINES)
    contents = payments.read_bytes()

    ingest(shop, "archive", "-o", "documents", payments.name, orders.name)

    card = shop.folder / "documents" / "Assets" / "Clearing" / "Card"
    owed = shop.folder / "documents" / "Assets" / "Receivable" / "Web"
    assert (card / "2025-03-05.card-payments.csv").read_bytes() == contents
    assert [path.name for path in owed.iterdir()] == ["2025-03-03.shop-orders.csv"]
    assert not payments.exists()


def test_file_that_cannot_be_read_has_no_day_of_its_own(shop: Shop) -> None:
    # The viewer asks every file in its folder for its day before it shows any of them.
    file = shop.payments(SALE.replace("2025-03-04", "yesterday"))
    (importer,) = (each for each in importers(shop.ledger) if each.identify(str(file)))

    assert importer.date(str(file)) is None


class Viewer:
    """The viewer over a shop's ledger, with the shipped configuration beside it."""

    def __init__(self, shop: Shop) -> None:
        shutil.copy(str(ingest_config.__file__), shop.folder / "import.py")
        with shop.ledger.open("a") as main:
            main.write('option "title" "Shop"\n')
            main.write("".join(f"2025-01-01 open {account}\n" for account in ACCOUNTS))
            main.write('2025-01-01 custom "fava-option" "import-config" "import.py"\n')
            main.write('2025-01-01 custom "fava-option" "import-dirs" "downloads"\n')
        (shop.folder / "downloads").mkdir(exist_ok=True)
        self.app = create_app([str(shop.ledger)], load=True)
        self.client = self.app.test_client()

    def call(self, name: str, **query: str) -> Any:
        """Return what the import page is told."""
        answer = self.client.get(f"/shop/api/{name}", query_string=query)
        assert answer.status_code == 200, answer.get_json()
        return answer.get_json()["data"]


def test_import_page_lists_files_whatever_lies_beside_them(
    shop: Shop, downloads: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir("/")  # the viewer may be started anywhere
    (downloads / "wrong.csv").write_bytes(
        (GOLDEN / "card-payments.csv").read_bytes().replace(b"2025-03-04", b"yesterday")
    )

    listed = Viewer(shop).call("imports")

    found = {
        each["basename"]: [by["importer_name"] for by in each["importers"]]
        for each in listed
    }
    assert found == {
        **{f"{name}-march.csv": [f"offcut.{name}"] for name in NAMES},
        **{"empty.csv": [], "notes.txt": [], "photo.jpg": []},
        "wrong.csv": ["offcut.card-payments"],
    }


@pytest.mark.parametrize("name", NAMES)
def test_import_page_saves_what_every_layout_gives(
    shop: Shop, downloads: Path, name: str
) -> None:
    viewer = Viewer(shop)
    file = downloads / f"{name}-march.csv"

    extracted = viewer.call("extract", filename=str(file), importer=f"offcut.{name}")
    saved = viewer.client.put("/shop/api/add_entries", json={"entries": extracted})

    assert saved.status_code == 200, saved.get_json()
    entries, _, _ = loader.load_file(str(shop.ledger))  # it opens few of the accounts
    transactions = list(data.filter_txns(entries))
    assert len(transactions) == len([e for e in extracted if e["t"] == "Transaction"]) > 0
    ids = {entry.meta.get("source-id") or entry.meta["lines-id"] for entry in transactions}
    assert len(ids) == len(transactions)
    # What was saved there is known here.
    report = shop.run(file, layouts=[name])
    assert report.files[0].booked == 0


@pytest.fixture
def browser(tmp_path: Path) -> Iterator[Any]:
    """Chromium without a window."""
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is missing")
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for argument in ("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run"):
        options.add_argument(argument)
    options.add_argument(f"--user-data-dir={tmp_path / 'profile'}")
    options.add_argument("--window-size=1400,1000")
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    yield driver
    driver.quit()


@contextlib.contextmanager
def served(app: Any) -> Iterator[str]:
    """Serve an app on this machine; yield its address."""
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()


def until(found: Callable[[], Any], seconds: float = 30) -> Any:
    """Return what is found as soon as it is."""
    end = time.monotonic() + seconds
    while not (result := found()):
        assert time.monotonic() < end, "the page does not come to show it"
        time.sleep(0.1)
    return result


@pytest.mark.browser
@pytest.mark.skipif(
    not (CHROMIUM and DRIVER), reason="chromium and chromedriver are not installed"
)
def test_import_page_in_a_browser(shop: Shop, browser: Any) -> None:
    viewer = Viewer(shop)
    shop.orders(LINES, name="downloads/orders.csv")

    def button(text: str) -> Callable[[], Any]:
        script = (
            "return [...document.querySelectorAll('button')]"
            ".filter(each => each.textContent.trim().includes(arguments[0]))[0]"
        )
        return lambda: browser.execute_script(script, text)

    with served(viewer.app) as address:
        browser.get(f"{address}/shop/import/")
        until(button("Extract")).click()
        until(lambda: "Income:Sales:Web" in _typed(browser))
        until(button("Save")).click()
        until(lambda: "lines-id" in shop.ledger.read_text())

    (transaction,) = shop.transactions()
    assert transaction.meta["lines-id"] == "shop-orders/W1"
    (sold,) = (each for each in transaction.postings if each.account == "Income:Sales:Web")
    assert (sold.meta["item"], sold.meta["quantity"]) == ("HERON-STK", "1")


def _typed(browser: Any) -> str:
    """Return what stands in the page's fields."""
    script = "return [...document.querySelectorAll('input')].map(each => each.value).join()"
    return str(browser.execute_script(script))

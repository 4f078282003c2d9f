"""Layouts under beangulp's command and in the viewer's import page.

The files in `golden/` are beangulp's own form of a test: `X.csv` and what is expected of
it, `X.csv.beancount`. To make the expected ones anew, and then to read the difference:

    python tests/importers/test_csv_importer.py generate -f tests/importers/golden/X.csv
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from beancount import loader
from beangulp import exceptions, extract, testing
from fava.application import create_app

from offcut.importers import layout as layout_module
from offcut.importers.csv_importer import LayoutImporter, importers
from offcut.importers.layout import shipped_layouts
from offcut.importers.settings import ItemRule, Settings
from tests.importers.shop import Shop

GOLDEN = Path(__file__).parent / "golden"
SETTINGS = Settings(
    items=(
        ItemRule("Heron*", "HERON-STK", ""),
        ItemRule("Moth*", "MOTH-PRT", ""),
        ItemRule("Gift wrap", "", "Income:Extras:Web"),
    ),
    packing={"Web": "letter"},
)
# A tally sheet is booked by its own command, with the money of its fair.
NAMES = [name for name, each in shipped_layouts().items() if each.kind != "tally"]
SALE = "2025-03-04,Sale,W1,,4.00,0.40,3.60,USD,ch_1"
NAME = "offcut.shop-orders"
ACCOUNTS = ("Assets:Receivable:Web", "Income:Sales:Web")
LINES = "W1,2025-03-03,Heron,1,4.00,0,0,0,USD"


def shipped(name: str) -> LayoutImporter:
    """Return the importer of a shipped layout."""
    return LayoutImporter(shipped_layouts()[name], SETTINGS)


@pytest.mark.parametrize("name", NAMES)
def test_expected_output(name: str) -> None:
    document = GOLDEN / f"{name}.csv"

    result = testing.run_importer(shipped(name), str(document))

    assert testing.compare_expected(f"{document}.beancount", *result) == []


@pytest.mark.parametrize("name", NAMES)
def test_only_its_own_files_are_identified(name: str, tmp_path: Path) -> None:
    importer = shipped(name)
    (tmp_path / "empty.csv").touch()

    found = {path.stem: importer.identify(str(path)) for path in GOLDEN.glob("*.csv")}

    assert found == {other: other == name for other in NAMES}
    assert importer.identify(str(tmp_path)) is False
    assert importer.identify(str(tmp_path / "none.csv")) is False
    assert importer.identify(str(tmp_path / "empty.csv")) is False


def test_names_are_one_a_layout(shop: Shop) -> None:
    (shop.folder / "layouts").mkdir()
    own = shop.folder / "layouts" / "own.toml"
    own.write_text(
        'kind = "payments"\nsource = "own"\nchannel = "Web"\ncurrency = "USD"\n'
        '[columns]\ndate = "Day"\ngross = "Sum"\n[types]\ndefault = "sale"\n'
    )

    names = [importer.name for importer in importers(shop.ledger)]

    assert sorted(names) == [
        "offcut.bank-statement",
        "offcut.card-payments",
        "offcut.label-purchases",
        "offcut.market-orders",
        "offcut.market-payments",
        "offcut.own",
        "offcut.shop-orders",
        "offcut.wholesale-invoices",
    ]


def test_what_the_ledger_has_is_marked_by_its_id_only(shop: Shop) -> None:
    shop.run(shop.payments(SALE), shop.orders(LINES))
    existing, _, _ = loader.load_file(str(shop.ledger))
    same_amount = SALE.replace("ch_1", "ch_2").replace("W1", "W2")
    importer = shipped("card-payments")

    path = str(shop.payments(SALE, same_amount))
    entries = extract.extract_from_file(importer, path, existing)
    importer.deduplicate(entries, existing)

    assert [entry.meta.get(extract.DUPLICATE) is not None for entry in entries] == [
        True,
        False,
    ]


def test_other_half_of_an_order_is_found_in_the_ledger(shop: Shop) -> None:
    shop.run(shop.orders(LINES))
    existing, _, _ = loader.load_file(str(shop.ledger))

    (entry,) = shipped("card-payments").extract(str(shop.payments(SALE)), existing)

    assert [posting.account for posting in entry.postings] == [
        "Assets:Clearing:Card",
        "Expenses:Fees:Card",
        "Assets:Receivable:Web",
    ]


def test_wrong_file_is_an_error_of_the_users_not_ours(shop: Shop) -> None:
    path = str(shop.payments(SALE.replace("4.00", "four")))

    with pytest.raises(exceptions.Error, match="row 2, column Gross: expected a number"):
        shipped("card-payments").extract(path, [])


def test_beangulps_command_extracts(shop: Shop) -> None:
    script = shop.file(
        "import.py",
        "from pathlib import Path",
        "import beangulp",
        "from offcut.importers.csv_importer import importers",
        "CONFIG = importers(Path('main.beancount'))",
        "if __name__ == '__main__':",
        "    beangulp.Ingest(CONFIG)()",
    )
    file = shop.payments(SALE)

    done = subprocess.run(
        [sys.executable, script.name, "extract", "-e", "main.beancount", file.name],
        cwd=shop.folder,
        capture_output=True,
        text=True,
        check=True,
    )

    assert 'source-id: "card/ch_1"' in done.stdout


def test_the_viewers_import_page_can_save_what_is_extracted(shop: Shop) -> None:
    with shop.ledger.open("a") as main:
        main.write('option "title" "Shop"\n')
        main.write("".join(f"2025-01-01 open {account}\n" for account in ACCOUNTS))
        main.write('2025-01-01 custom "fava-option" "import-config" "import.py"\n')
        main.write('2025-01-01 custom "fava-option" "import-dirs" "inbox"\n')
    shop.file(
        "import.py",
        "from pathlib import Path",
        "from offcut.importers.csv_importer import importers",
        f"CONFIG = importers(Path({str(shop.ledger)!r}))",
    )
    (shop.folder / "inbox").mkdir()
    file = shop.orders(LINES, name="inbox/orders.csv")
    client = create_app([str(shop.ledger)], load=True).test_client()

    extracted = client.get(
        "/shop/api/extract", query_string={"filename": str(file), "importer": NAME}
    ).get_json()["data"]
    saved = client.put("/shop/api/add_entries", json={"entries": extracted})

    assert saved.status_code == 200, saved.get_json()
    (transaction,) = shop.transactions()
    assert transaction.meta["lines-id"] == "shop-orders/W1"
    assert transaction.postings[1].meta["quantity"] == "1"


if __name__ == "__main__":
    named = next(
        (name for name in shipped_layouts() if f"{name}.csv" in " ".join(sys.argv)), ""
    )
    testing.main(shipped(named or "card-payments"))


def test_copy_of_a_shipped_layout_stands_in_its_place(shop: Shop) -> None:
    shipped = Path(layout_module.__file__).parent / "layouts" / "card-payments.toml"
    own = shop.folder / "layouts"
    own.mkdir()
    (own / "my-card.toml").write_bytes(shipped.read_bytes())

    names = [each.name for each in importers(shop.ledger)]

    assert "offcut.my-card" in names and "offcut.card-payments" not in names
    assert "offcut.shop-orders" in names

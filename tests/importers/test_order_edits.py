"""Of orders that change after they were imported, the difference is booked."""

from __future__ import annotations

import tempfile
from collections import Counter, defaultdict
from decimal import Decimal
from pathlib import Path

import pytest
from beancount import loader
from beancount.core import data
from beangulp.extract import DUPLICATE
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.csv_importer import LayoutImporter
from offcut.importers.import_report import REFUSED, ImportReport
from offcut.importers.layout import shipped_layouts
from offcut.importers.settings import load_settings
from tests.importers.shop import LEDGER, Shop, new_shop

D = Decimal
HERON = "W1,2025-03-03,Heron,2,4.00,0.50,2.50,0.50,USD"
MOTH = "W1,2025-03-03,Moth,1,3.00,0,2.50,0.50,USD"
BOX = "W1,2025-03-03,A box,1,2.00,0,2.50,0.50,USD"
WRAP = "W1,2025-03-03,Gift wrap,1,1.00,0,2.50,0.50,USD"
PAID = "2025-03-04,Sale,W1,,10.50,0.60,9.90,USD,ch_1"
STOCKED = f"""\
plugin "offcut.plugins"
{LEDGER}
2025-01-01 open Assets:Bank
2025-01-02 * "Bought"
  Assets:Stock:HERON-STK  50 HERON-STK {{1.00 USD}}
  Assets:Stock:MOTH-STK   50 MOTH-STK {{1.00 USD}}
  Assets:Bank  -100.00 USD
"""
# What is posted whether an order is edited, or imported as it is in the end: what was
# cancelled was a sale and a refund of it.
SALES = ("Income:Sales:Web", "Income:Refunds:Web")


def books(shop: Shop) -> dict[str, Decimal]:
    """Return the balances, sales and refunds added up."""
    balances = shop.balances()
    net = sum((balances.pop(account, D(0)) for account in SALES), D(0))
    return {**balances, "Income": net} if net else balances


def edit(shop: Shop, *files: Path) -> ImportReport:
    """Import files that the user says are newer than what the ledger has."""
    return shop.run(*files, are_newer=True)


def bodies(shop: Shop) -> dict[str, bytes]:
    """Return the bytes of the ledger's files."""
    return {
        name: contents
        for name, contents in shop.contents().items()
        if name.endswith(".beancount")
    }


def expected(folder: Path, *rows: str, paid: str = PAID) -> dict[str, Decimal]:
    """Return the books of a shop that imports an order as it is in the end."""
    shop = new_shop(folder / "expected")
    shop.run(shop.orders(*rows), *([shop.payments(paid)] if paid else []))
    return books(shop)


@pytest.mark.parametrize(
    ("rows", "difference"),
    [
        ((HERON, MOTH), "3.00"),
        ((HERON.replace(",2,4.00", ",3,4.00"),), "4.00"),
        ((HERON.replace(",2,4.00,0.50", ",1,4.00,0.50"),), "-4.00"),
        ((HERON.replace("0.50,2.50", "1.50,2.50"),), "-1.00"),
        ((HERON.replace("2.50,0.50", "4.00,0.70"),), "1.70"),
        ((HERON.replace("2.50,0.50", "0,0"),), "-3.00"),
        ((HERON.replace(",2,", ",1,"), MOTH.replace("1,3.00", "1,4.00")), "0.00"),
        ((HERON, BOX), "2.00"),
        ((HERON, WRAP, MOTH), "4.00"),
        ((HERON, "W1,2025-03-08,Heron,-1,4.00,0,2.50,0.50,USD"), "-4.00"),
        ((HERON, MOTH.replace("1,3.00", "1,0.00")), "0.00"),
    ],
)
def test_difference_is_booked_and_the_books_are_those_of_the_order_in_the_end(
    shop: Shop, tmp_path: Path, rows: tuple[str, ...], difference: str
) -> None:
    shop.run(shop.orders(HERON), shop.payments(PAID))
    before = bodies(shop)

    report = edit(shop, shop.orders(*rows))

    assert books(shop) == expected(tmp_path, *rows)
    edits = [each for each in shop.transactions() if "#2" in each.meta["lines-id"]]
    assert [each.meta["lines-id"] for each in edits] == ["shop-orders/W1#2"]
    assert edits[0].links == {"order-W1"}
    assert f"the difference of {difference} is booked" in report.notes[0]
    for name, contents in before.items():
        assert bodies(shop)[name].startswith(contents)
    assert len(report.notes) == 1


def test_third_import_of_the_same_file_changes_no_byte(shop: Shop) -> None:
    shop.run(shop.orders(HERON), shop.payments(PAID))
    edited = shop.orders(HERON.replace(",2,4.00", ",3,4.00"), MOTH, name="edited.csv")
    edit(shop, edited)
    before = shop.contents()

    report = edit(shop, edited)

    assert shop.contents() == before
    assert report.notes == ()


def test_older_file_is_known_as_such_and_undoes_nothing(shop: Shop) -> None:
    old = shop.orders(HERON)
    shop.run(old)
    edit(shop, shop.orders(HERON, MOTH, name="edited.csv"))
    before = shop.contents()

    report = shop.run(old)

    assert shop.contents() == before
    assert report.notes == (
        "Web order W1: orders.csv has it as it was before it was edited, and is taken for "
        "the older word; nothing was booked, import it again with --newer if the edit was "
        "undone",
    )


def test_each_edit_is_counted(shop: Shop) -> None:
    shop.run(shop.orders(HERON))
    edit(shop, shop.orders(HERON, MOTH))
    edit(shop, shop.orders(MOTH, WRAP))

    ids = [each.meta["lines-id"] for each in shop.transactions()]
    assert ids == ["shop-orders/W1", "shop-orders/W1#2", "shop-orders/W1#3"]
    assert shop.balances() == {
        "Assets:Receivable:Web": D("7.00"),
        "Income:Extras:Web": D("-1.00"),
        "Income:Refunds:Web": D("8.00"),
        "Income:Sales:Web": D("-11.00"),
        "Income:Shipping:Web": D("-2.50"),
        "Liabilities:SalesTax": D("-0.50"),
    }


def test_cancelled_line_is_a_refund_and_its_pieces_are_on_the_shelf(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "stocked", STOCKED)
    shop.run(
        shop.orders(HERON, MOTH),
        shop.payments(PAID.replace("10.50", "13.50").replace("9.90", "12.90")),
    )
    edit(shop, shop.orders(MOTH.replace("2.50,0.50", "2.50,0.20")))

    units = {
        item: sum(
            posting.units.number
            for each in shop.transactions()
            for posting in each.postings
            if posting.units.currency == item
        )
        for item in ("HERON-STK", "MOTH-STK")
    }
    assert units == {"HERON-STK": 50, "MOTH-STK": 49}
    balances = shop.balances()
    assert balances["Income:Refunds:Web"] == D("8.00")
    assert balances.get("Income:Discounts:Web") is None
    assert "Expenses:COGS:HERON-STK" not in balances
    # What the buyer is to get back: 8.00 less the discount of 0.50, and 0.30 of tax.
    assert balances["Income:Suspense:Web"] == D("-7.80")


@pytest.mark.parametrize("refund_first", [True, False])
def test_refund_of_what_was_cancelled_closes_it(shop: Shop, refund_first: bool) -> None:
    paid = PAID.replace("10.50", "13.50").replace("9.90", "12.90")
    shop.run(shop.orders(HERON, MOTH), shop.payments(paid))
    refund = shop.payments("2025-03-09,Refund,W1,,-3.00,0,-3.00,USD,re_1", name="r.csv")
    cancelled = shop.orders(HERON, name="edited.csv")

    for file in (refund, cancelled) if refund_first else (cancelled, refund):
        edit(shop, file)

    balances = shop.balances()
    assert balances["Income:Refunds:Web"] == D("3.00")
    assert "Income:Suspense:Web" not in balances
    assert "Assets:Receivable:Web" not in balances


def test_edit_and_refund_in_one_import_close_each_other(shop: Shop) -> None:
    paid = PAID.replace("10.50", "13.50").replace("9.90", "12.90")
    shop.run(shop.orders(HERON, MOTH), shop.payments(paid))
    refund = shop.payments("2025-03-09,Refund,W1,,-3.00,0,-3.00,USD,re_1", name="r.csv")

    edit(shop, refund, shop.orders(HERON, name="edited.csv"))

    balances = shop.balances()
    assert balances["Income:Refunds:Web"] == D("3.00")
    assert "Income:Suspense:Web" not in balances


def test_second_payment_of_what_was_added_closes_it(shop: Shop) -> None:
    shop.run(shop.orders(HERON), shop.payments(PAID))
    report = edit(shop, shop.orders(HERON, MOTH, name="edited.csv"))
    assert shop.balances()["Assets:Receivable:Web"] == D("3.00")
    assert report.notes == (
        "Web order W1 was edited: its lines come to 13.50 USD in edited.csv and came to "
        "10.50; the difference of 3.00 is booked, and 3.00 is in Assets:Receivable:Web now",
    )

    report = edit(
        shop, shop.payments("2025-03-20,Sale,W1,,3.00,0,3.00,USD,ch_2", name="more.csv")
    )
    assert "Assets:Receivable:Web" not in shop.balances()
    assert report.notes == ()


def test_whole_order_is_cancelled(shop: Shop) -> None:
    shop.run(shop.orders(HERON), shop.payments(PAID))
    nothing = "W1,2025-03-03,Heron,2,4.00,0.50,0,0,USD"
    back = "W1,2025-03-09,Heron,-2,4.00,-0.50,0,0,USD"
    shop.run(shop.orders(nothing, back, name="edited.csv"))
    shop.run(shop.payments("2025-03-09,Refund,W1,,-10.50,0,-10.50,USD,re_1", name="r.csv"))

    balances = shop.balances()
    assert {name: amount for name, amount in balances.items() if "Income" in name} == {
        "Income:Refunds:Web": D("8.00"),
        "Income:Sales:Web": D("-8.00"),
    }
    assert "Liabilities:SalesTax" not in balances


def test_added_line_that_no_rule_knows_is_listed(shop: Shop) -> None:
    shop.run(shop.orders(HERON))
    report = edit(shop, shop.orders(HERON, BOX))

    assert [each.text for each in report.unknown_items] == ["A box"]


def test_edited_by_hand_so_that_the_lines_cannot_be_told_is_noted_only(shop: Shop) -> None:
    shop.run(shop.orders(HERON))
    file = shop.folder / "imports" / "shop-orders-2025-03.beancount"
    by_hand = [
        ("Income:Shipping:Web ", "Income:Other:Web "),
        ("Income:Sales:Web ", "Income:Other:Web "),
        ("Liabilities:SalesTax", "Liabilities:Other"),
        ("quantity: 2", "quantity: 1 + 1"),
    ]
    shop.ledger.write_text(
        shop.ledger.read_text("utf-8")
        + "2025-01-01 open Income:Other:Web\n2025-01-01 open Liabilities:Other\n",
        "utf-8",
    )
    sound = file.read_text("utf-8")
    for old, new in by_hand:
        assert old in sound
        file.write_text(sound.replace(old, new), "utf-8")
        before = bodies(shop)

        report = shop.run(shop.orders(HERON, MOTH))

        assert bodies(shop) == before, old
        assert len(report.notes) == 1, old
        assert "in the ledger, which was not changed; correct it there" in report.notes[0]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"Web order W1"', '"Two herons for my aunt"'),
        ("  Income:Shipping:Web", "  ; carriage\n  Income:Shipping:Web"),
        ("    quantity: 2\n", '    quantity: 2 ; as ever\n    place: "aunt"\n'),
        ("\n", "\r\n"),
        ("  Income", "      Income"),
        ("-2.50 USD", ""),  # beancount fills it in
    ],
)
def test_what_else_was_changed_by_hand_does_not_matter(
    shop: Shop, old: str, new: str
) -> None:
    file = shop.orders(HERON)
    shop.run(file)
    path = shop.folder / "imports" / "shop-orders-2025-03.beancount"
    sound = path.read_text("utf-8")
    assert old in sound
    path.write_text(sound.replace(old, new), "utf-8", newline="")
    before = bodies(shop)

    assert edit(shop, file).notes == ()
    assert bodies(shop) == before

    edit(shop, shop.orders(HERON, MOTH))
    assert bodies(shop) != before


def test_other_product_of_the_same_pieces_and_price_is_noted_only(shop: Shop) -> None:
    shop.run(shop.orders(HERON))
    before = bodies(shop)

    report = shop.run(shop.orders(HERON.replace("Heron", "Moth"), name="edited.csv"))

    assert bodies(shop) == before
    assert report.notes == (
        "Web order W1: edited.csv names MOTH-STK, and the ledger other products of the "
        "same pieces and amounts; it was not changed, correct it there if the file is "
        "right",
    )


def test_rule_that_is_new_since_is_no_edit(shop: Shop) -> None:
    file = shop.orders(HERON, BOX)
    shop.run(file)
    rules = shop.folder / "offcut.toml"
    rules.write_text(
        rules.read_text("utf-8") + '[[items]]\ntext = "A box"\nproduct = "MOTH-STK"\n',
        "utf-8",
    )
    shop.run(file)
    report = shop.run(file)

    assert "#2" not in shop.text("shop-orders-2025-03.beancount")
    assert report.notes == ()


def test_line_that_was_parked_and_learned_is_cancelled_as_what_it_is(shop: Shop) -> None:
    file = shop.orders(HERON, BOX)
    shop.run(file)
    rules = shop.folder / "offcut.toml"
    rules.write_text(
        rules.read_text("utf-8") + '[[items]]\ntext = "A box"\nproduct = "MOTH-STK"\n',
        "utf-8",
    )
    shop.run(file)
    edit(shop, shop.orders(HERON, name="edited.csv"))

    edited = next(e for e in shop.transactions() if "#2" in e.meta.get("lines-id", ""))
    gone = [p for p in edited.postings if "item" in (p.meta or {})]
    assert [(p.account, p.units.number, p.meta["item"]) for p in gone] == [
        ("Income:Refunds:Web", D("2.00"), "MOTH-STK")
    ]
    assert shop.balances()["Assets:Receivable:Web"] == D("10.50")
    assert "Income:Suspense:Web" not in shop.balances()


def test_two_files_of_one_import_with_different_edits_are_refused(shop: Shop) -> None:
    shop.run(shop.orders(HERON))
    one = shop.orders(HERON, MOTH, LATER, name="one.csv")
    two = shop.orders(HERON, WRAP, LATER, name="two.csv")

    (line,) = shop.refused(one, two)

    assert line.startswith("two.csv: row 2: expected the same order as in one.csv, row 2")


def test_two_files_of_one_import_with_the_same_edit_are_one(shop: Shop) -> None:
    shop.run(shop.orders(HERON))
    edit(
        shop,
        shop.orders(HERON, MOTH, name="one.csv"),
        shop.orders(HERON, MOTH, name="two.csv"),
    )

    assert shop.balances()["Assets:Receivable:Web"] == D("13.50")


def test_untouched_orders_beside_an_edited_one_are_left_alone(shop: Shop) -> None:
    others = [HERON.replace("W1", f"W{number}") for number in range(2, 9)]
    shop.run(shop.orders(HERON, *others))
    report = edit(shop, shop.orders(HERON, MOTH, *others))

    assert shop.text("shop-orders-2025-03.beancount").count("#2") == 1
    assert len(report.notes) == 1


# --- discounts that move -----------------------------------------------------------


def test_discount_that_moves_to_another_product_is_booked(
    shop: Shop, tmp_path: Path
) -> None:
    rows = (HERON, MOTH)
    moved = (HERON.replace("0.50,2.50", "0,2.50"), MOTH.replace("0,2.50", "0.50,2.50"))
    shop.run(shop.orders(*rows))
    assert discounts_by_product(shop) == {"HERON-STK": D("0.50")}

    report = edit(shop, shop.orders(*moved, name="edited.csv"))

    assert discounts_by_product(shop) == {"MOTH-STK": D("0.50")}
    assert report.files[0].changed == 2
    assert "the difference of 0.00 is booked" in report.notes[0]
    before = bodies(shop)
    assert edit(shop, shop.orders(*moved, name="edited.csv")).notes == ()
    assert bodies(shop) == before


def test_discount_that_moves_to_a_line_of_no_product_is_booked(shop: Shop) -> None:
    shop.run(shop.orders(HERON, WRAP))
    edit(
        shop,
        shop.orders(
            HERON.replace("0.50,2.50", "0,2.50"), WRAP.replace("0,2.50", "0.50,2.50")
        ),
    )

    assert discounts_by_product(shop) == {"": D("0.50")}


def test_discount_of_a_line_that_was_learned_is_no_edit(shop: Shop) -> None:
    box = BOX.replace("2.00,0,", "2.00,0.30,")
    file = shop.orders(HERON, box)
    shop.run(file)
    assert discounts_by_product(shop) == {"HERON-STK": D("0.50"), "": D("0.30")}
    learn_box(shop)
    for _ in range(2):
        assert edit(shop, file).notes == ()

    assert "#2" not in shop.text("shop-orders-2025-03.beancount")
    edit(shop, shop.orders(HERON, box.replace("0.30", "0.40"), name="edited.csv"))
    assert discounts_by_product(shop) == {"HERON-STK": D("0.50"), "MOTH-STK": D("0.40")}


def learn_box(shop: Shop) -> None:
    """Say that a box is a moth."""
    rules = shop.folder / "offcut.toml"
    rules.write_text(
        rules.read_text("utf-8") + '[[items]]\ntext = "A box"\nproduct = "MOTH-STK"\n',
        "utf-8",
    )


BUNDLE = """\
[[items]]
text = "Pair"
products = ["HERON-STK", "MOTH-STK"]
"""
PAIR = "W1,2025-03-03,Pair,1,6.00,1.00,0,0,USD"


def priced(heron: str, moth: str) -> str:
    """Return a ledger with the list prices of two products."""
    ledger = LEDGER
    for name, price in (("HERON-STK", heron), ("MOTH-STK", moth)):
        was = f'commodity {name}\n  stock: "product"\n'
        assert was in ledger
        ledger = ledger.replace(was, f"{was}  list-price: {price} USD\n")
    return ledger


def price_anew(shop: Shop, heron: str, moth: str) -> None:
    """Change the list prices of a shop's products."""
    text = shop.ledger.read_text("utf-8")
    shop.ledger.write_text(priced(heron, moth) + text[text.index("include") :], "utf-8")


def test_list_prices_that_changed_move_no_discount(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "bundles", priced("4.00", "4.00"), BUNDLE)
    file = shop.orders(PAIR, "W1,2025-03-03,Pair,2,6.00,0,0,0,USD")
    shop.run(file)
    there = {"HERON-STK": D("0.50"), "MOTH-STK": D("0.50")}
    assert discounts_by_product(shop) == there
    price_anew(shop, "5.00", "1.00")
    before = bodies(shop)

    assert edit(shop, file).notes == ()
    assert bodies(shop) == before

    edit(shop, shop.orders(PAIR.replace("1.00", "1.50")))
    assert sum(discounts_by_product(shop).values()) == D("1.50")


def test_cents_that_a_bundle_s_discount_was_rounded_to_are_no_edit(tmp_path: Path) -> None:
    """At 1 to 2, 0.04 are 0.01 and 0.03, and by what the parts came to 0.02 each."""
    shop = new_shop(tmp_path / "bundles", priced("1.00", "2.00"), BUNDLE)
    file = shop.orders("W1,2025-03-03,Pair,1,0.05,0.04,0,0,USD")
    shop.run(file)
    assert discounts_by_product(shop) == {"HERON-STK": D("0.01"), "MOTH-STK": D("0.03")}
    price_anew(shop, "5.00", "1.00")
    before = bodies(shop)

    assert shop.run(file).notes == ()
    assert bodies(shop) == before


def test_discount_of_a_line_whose_rule_changed_stays_where_it_is(shop: Shop) -> None:
    file = shop.orders(HERON, MOTH)
    shop.run(file)
    rules = shop.folder / "offcut.toml"
    rules.write_text(rules.read_text("utf-8").replace('"HERON-STK"', '"MOTH-STK"'), "utf-8")
    before = bodies(shop)

    assert "names MOTH-STK" in edit(shop, file).notes[0]
    assert bodies(shop) == before

    more = HERON.replace("0.50,2.50", "0.70,2.50")
    report = edit(shop, shop.orders(more, MOTH, name="edited.csv"))
    assert discounts_by_product(shop) == {"HERON-STK": D("0.70")}
    assert "which were not changed: correct them there" in report.notes[0]


# --- parts of orders ---------------------------------------------------------------


def test_other_lines_of_an_order_are_not_booked_as_an_edit(shop: Shop) -> None:
    shop.run(shop.orders(HERON), shop.payments(PAID))
    before = bodies(shop)

    report = shop.run(shop.orders(MOTH, name="second.csv"))

    assert bodies(shop) == before
    assert report.notes == (
        "Web order W1: second.csv has none of the lines that the ledger has, and nothing "
        "was booked: what it has comes to 6.00 USD, what the ledger has to 10.50; if it "
        "has a part of the order, import a file with all lines of it, or else correct the "
        "ledger",
    )
    (of_file,) = report.files
    assert (of_file.booked, of_file.changed, of_file.already_there) == (0, 0, 0)
    assert of_file.left_out == {REFUSED: 1}
    assert of_file.ties


def test_file_with_all_lines_brings_what_was_noted_and_its_parts_change_nothing(
    shop: Shop, tmp_path: Path
) -> None:
    first, second = shop.orders(HERON, name="1.csv"), shop.orders(MOTH, BOX, name="2.csv")
    shop.run(first, shop.payments(PAID))
    assert len(shop.run(second).notes) == 1
    whole = shop.orders(HERON, MOTH, BOX, name="whole.csv")
    edit(shop, whole)
    assert books(shop) == expected(tmp_path, HERON, MOTH, BOX)
    before = bodies(shop)

    for file, said in (
        (first, "as it was before it was edited"),
        (second, "only lines that an edit has added"),
    ):
        (note,) = shop.run(file).notes
        assert said in note
    assert shop.run(whole).notes == ()
    assert bodies(shop) == before


def test_other_product_of_one_price_with_more_is_no_edit(shop: Shop) -> None:
    """In a shop in which most cost the same, parts of an order look alike."""
    shop.run(shop.orders("W1,2025-03-03,Heron,1,3.00,0,0,0,USD"))
    before = bodies(shop)

    report = shop.run(shop.orders(MOTH, BOX, name="second.csv"))

    assert "none of the lines that the ledger has" in report.notes[0]
    assert bodies(shop) == before


def test_cancelled_lines_by_themselves_are_not_booked_twice(shop: Shop) -> None:
    shop.run(shop.orders(HERON, MOTH))
    back = "W1,2025-03-08,Heron,-2,4.00,-0.50,2.50,0.50,USD"
    before = bodies(shop)

    report = shop.run(shop.orders(back, name="returns.csv"))

    assert "has cancelled lines of what it does not list" in report.notes[0]
    assert bodies(shop) == before

    shop.run(shop.orders(HERON, MOTH, back, name="whole.csv"))
    assert shop.balances()["Income:Refunds:Web"] == D("8.00")
    before = bodies(shop)
    assert len(shop.run(shop.orders(back, name="returns.csv")).notes) == 1
    assert bodies(shop) == before


def test_two_files_of_one_import_with_parts_of_an_order_are_refused(shop: Shop) -> None:
    one, two = shop.orders(HERON, name="one.csv"), shop.orders(MOTH, name="two.csv")

    (line,) = shop.refused(one, two)

    assert line == (
        "two.csv: row 2: expected the same contents as in one.csv, row 2, which has the "
        "same id; correct the files, or import the one that is right; put the lines of an "
        "order that is split over both into one file, nothing was imported"
    )


# --- which file is newer -----------------------------------------------------------


def test_file_without_the_cancelled_lines_is_older_without_a_word(shop: Shop) -> None:
    back = "W1,2025-03-08,Heron,-1,4.00,-0.25,0,0,USD"
    whole = HERON.replace("2.50,0.50", "0,0")
    cancelled = shop.orders(whole, back, MOTH.replace("2.50,0.50", "0,0"))
    older = shop.orders(HERON.replace("2.50,0.50", "2.50,0.50"), MOTH, name="older.csv")
    shop.run(cancelled)
    before = bodies(shop)

    report = shop.run(older)

    assert report.notes == ()
    assert bodies(shop) == before
    assert report.files[0].already_there == 2


LATER = "W2,2025-03-09,Moth,1,3.00,0,0,0,USD"


def test_edit_that_a_file_with_later_orders_undoes_is_undone(
    shop: Shop, tmp_path: Path
) -> None:
    shop.run(shop.orders(HERON, name="1.csv"), shop.payments(PAID))
    edit(shop, shop.orders(HERON, MOTH, name="2.csv"))

    report = shop.run(shop.orders(HERON, LATER, name="3.csv"))

    assert report.notes == (
        "Web order W1 was edited: its lines come to 10.50 USD in 3.csv and came to 13.50; "
        "the difference of -3.00 is booked; it is as it was before it was edited, and the "
        "file is taken for the newer word",
    )
    (of_file,) = report.files
    assert (of_file.booked, of_file.changed, of_file.already_there) == (1, 1, 0)
    assert books(shop) == expected(tmp_path, HERON, LATER)
    before = bodies(shop)
    for name in ("1.csv", "3.csv"):
        assert shop.run(shop.folder / name).notes == ()
    (note,) = shop.run(shop.folder / "2.csv").notes
    assert "is taken for the older word" in note
    assert bodies(shop) == before


@pytest.mark.parametrize("day", ["2025-03-03", "2025-03-04"])
def test_order_of_the_last_day_is_a_later_one_whenever_the_last_was_paid(
    shop: Shop, day: str
) -> None:
    shop.run(shop.orders(HERON), shop.payments(PAID))

    later = LATER.replace("2025-03-09", day)
    (note,) = shop.run(shop.orders(HERON, MOTH, later, name="2.csv")).notes

    assert "was edited" in note


def test_order_of_the_last_day_that_is_not_in_a_file_is_no_later_one(shop: Shop) -> None:
    """Its day may be that of its payment."""
    other = LATER.replace("2025-03-09", "2025-03-04").replace("W2", "W3")
    shop.run(shop.orders(HERON, LATER.replace("2025-03-09", "2025-03-04")))
    before = bodies(shop)

    (note,) = shop.run(shop.orders(HERON, MOTH, name="2.csv")).notes
    assert "which has later orders than the file" in note
    assert bodies(shop) == before
    (note,) = shop.run(shop.orders(HERON, MOTH, other, name="3.csv")).notes
    assert "was edited" in note


@pytest.mark.parametrize("day", ["2025-03-01", "2025-03-02"])
def test_file_without_later_orders_does_not_undo(shop: Shop, day: str) -> None:
    shop.run(shop.orders(HERON), shop.payments(PAID))
    edit(shop, shop.orders(HERON, MOTH, name="2.csv"))

    report = shop.run(shop.orders(HERON, LATER.replace("2025-03-09", day), name="3.csv"))

    assert "is taken for the older word" in report.notes[0]
    assert "#3" not in shop.text("shop-orders-2025-03.beancount")


@pytest.mark.parametrize("left", [HERON, MOTH])
def test_file_that_ends_before_the_ledger_takes_no_line_away(shop: Shop, left: str) -> None:
    later = LATER.replace("2025-03-09", "2025-03-10")
    newer = shop.orders(HERON, MOTH, later, name="2.csv")
    shop.run(newer, shop.payments(PAID))
    before = bodies(shop)

    (note,) = shop.run(shop.orders(left, name="1.csv")).notes

    assert "the ledger, which has later orders than the file and is taken for the" in note
    assert bodies(shop) == before
    assert shop.run(newer).notes == ()
    assert bodies(shop) == before


@pytest.mark.parametrize(
    "row", [HERON.replace(",2,", ",3,"), HERON.replace(",0.50,2", ",0,2")]
)
@pytest.mark.parametrize("other", [(), (MOTH,)])
def test_what_a_file_without_later_orders_has_otherwise_is_told_and_not_booked(
    shop: Shop, row: str, other: tuple[str, ...]
) -> None:
    newer = shop.orders(HERON, LATER, name="newer.csv")
    shop.run(newer, shop.payments(PAID))
    before = bodies(shop)

    (note,) = shop.run(shop.orders(row, *other, LATER, name="2.csv")).notes

    assert note.startswith("Web order W1: it comes to ")
    assert note.endswith(
        "and to 10.50 in the ledger; which is newer cannot be told, as the file has no "
        "later order than the ledger; nothing was booked, import it again with --newer if "
        "the file is newer"
    )
    assert bodies(shop) == before
    assert shop.run(newer).notes == ()
    assert bodies(shop) == before


def test_file_that_ends_before_the_ledger_and_says_more_is_told_only(shop: Shop) -> None:
    shop.run(shop.orders(HERON, LATER))
    before = bodies(shop)

    (note,) = shop.run(shop.orders(HERON, MOTH, name="2.csv")).notes

    assert "which has later orders than the file" in note
    assert bodies(shop) == before


def test_ledger_that_has_an_older_word_is_put_right_by_the_newer_file(
    shop: Shop, tmp_path: Path
) -> None:
    newer = shop.orders(HERON, MOTH, name="newer.csv")
    older = shop.orders(HERON, name="older.csv")
    shop.run(newer, shop.payments(PAID))
    edit(shop, older)  # it was not so
    assert "import it again with --newer" in shop.run(newer).notes[0]

    report = edit(shop, newer)

    assert "and the file is taken for the newer word" in report.notes[0]
    assert books(shop) == expected(tmp_path, HERON, MOTH)
    before = bodies(shop)
    edit(shop, newer)
    assert "is taken for the older word" in shop.run(older).notes[0]
    assert bodies(shop) == before


def test_cancelled_line_needs_no_later_order(shop: Shop) -> None:
    shop.run(shop.orders(HERON, LATER))

    back = "W1,2025-03-08,Heron,-2,4.00,-0.50,2.50,0.50,USD"
    (note,) = shop.run(shop.orders(HERON, back)).notes

    assert "the difference of -7.50 is booked" in note


# --- any row of edits --------------------------------------------------------------

ITEMS = ("Heron", "Moth", "A box of things", "Gift wrap")


@st.composite
def versions(draw: st.DrawFn) -> list[list[str]]:
    """An order as a shop exports it again and again, each time otherwise.

    No two prices, or sums of them, are the same: a line of the same pieces and amount is
    taken for the same line.
    """
    found: list[list[str]] = []
    lines: list[str] = []
    cents = 1
    for version in range(draw(st.integers(2, 4))):
        lines = [line for line in lines if draw(st.booleans())]
        for _ in range(draw(st.integers(1, 4))):
            item, quantity = draw(st.sampled_from(ITEMS)), draw(st.sampled_from([1, 2, -1]))
            off = draw(st.sampled_from(["0", "0.05"]))
            lines = [*lines, f"{item},{quantity},{D(cents) / 100},{off}"]
            cents *= 5
        shipping, tax = version + D("0.10"), draw(st.sampled_from(["0.20", "0.30"]))
        found.append([f"W1,2025-03-03,{line},{shipping},{tax},USD" for line in lines])
    return found


@st.composite
def exports(draw: st.DrawFn) -> list[list[str]]:
    """What a shop exports day by day: each time an order more, and some of them edited."""
    found: list[list[str]] = []
    orders: dict[int, tuple[int, list[str]]] = {}
    cents = 1
    for day in range(1, draw(st.integers(2, 4)) + 1):
        orders[day] = (0, [])
        for number, (shipping, lines) in orders.items():
            if number < day and not draw(st.booleans()):
                continue
            lines = [line for line in lines if draw(st.booleans())]
            for _ in range(draw(st.integers(0, 2))):
                item, off = (
                    draw(st.sampled_from(ITEMS)),
                    draw(st.sampled_from(["0", "0.05"])),
                )
                lines = [*lines, f"{item},{draw(st.integers(1, 2))},{D(cents) / 100},{off}"]
                cents *= 5
            orders[number] = shipping + draw(st.integers(0, 1)), lines
        found.append(
            [
                f"W{number},2025-03-{number:02},{line},{shipping},0.20,USD"
                for number, (shipping, lines) in orders.items()
                for line in ("Heron,1,9000.00,0", *lines)
            ]
        )
    return found


@given(days=exports(), drawn=st.data())
def test_exports_of_day_after_day_end_as_the_last_one_in_any_order(
    days: list[list[str]], drawn: st.DataObject
) -> None:
    order = drawn.draw(st.permutations(range(len(days))))
    order += drawn.draw(st.lists(st.sampled_from(range(len(days))), max_size=2))
    paid = [drawn.draw(st.integers(4, 9)) for _ in days]
    payments = [
        f"2025-03-{day:02},Sale,W{number},,7.00,0.60,6.40,USD,c{number}"
        for number, day in enumerate(paid, 1)
    ]
    with tempfile.TemporaryDirectory() as folder:
        shop, last = new_shop(Path(folder) / "all"), new_shop(Path(folder) / "last")
        for number in order:
            shop.run(shop.orders(*days[number], name=f"{number}.csv"))
            if drawn.draw(st.booleans()):
                shop.run(shop.payments(*payments))
        for each in (shop, last):
            each.run(each.payments(*payments))
        last.run(last.orders(*days[-1]))

        assert books(shop) == books(last)
        assert discounts_by_product(shop) == discounts_by_product(last)
        before = bodies(shop)
        for number in range(len(days)):
            shop.run(shop.folder / f"{number}.csv")
        assert bodies(shop) == before


@given(edits=versions(), drawn=st.data())
def test_exports_in_any_order_are_booked_as_the_last_word_or_noted(
    edits: list[list[str]], drawn: st.DataObject
) -> None:
    """And the same file again changes no byte; nothing goes without a word."""
    order = drawn.draw(st.permutations(range(len(edits))))
    order += drawn.draw(st.lists(st.sampled_from(range(len(edits))), max_size=3))
    with tempfile.TemporaryDirectory() as folder:
        shop = new_shop(Path(folder) / "edited")
        current = order[0]
        booked: list[int] = []
        for number in order:
            file = shop.orders(*edits[number], name=f"{number}.csv")
            before = bodies(shop)
            is_newer = drawn.draw(st.booleans())
            report = shop.run(file, are_newer=is_newer)
            after = bodies(shop)
            (of_file,) = report.files
            if after != before:
                assert of_file.changed == (len(edits[number]) if booked else 0)
                assert bool(booked) is any("was edited" in note for note in report.notes)
                booked.append(number)
                current = number
            elif report.notes:
                (note,) = report.notes
                rows = edits[number]
                assert why_noted(note, rows, edits[current], booked, number, is_newer)
            else:
                assert only_cancelled(edits[current], edits[number])
            shop.run(file, are_newer=is_newer)
            assert bodies(shop) == after
        last = new_shop(Path(folder) / "last")
        last.run(last.orders(*edits[current]))

        assert receivable_and_tax(shop) == receivable_and_tax(last)
        assert discounts_by_product(shop) == discounts_by_product(last)


def why_noted(
    note: str,
    rows: list[str],
    there: list[str],
    booked: list[int],
    number: int,
    is_newer: bool,
) -> bool:
    """Return whether there is the reason that a note gives."""
    if "as it was before it was edited" in note:
        return number in booked and not is_newer
    if "which is newer cannot be told" in note:
        return not is_newer
    if "none of the lines that the ledger has" in note:
        return items_of(rows).keys().isdisjoint(items_of(there))
    if "cancelled lines of what it does not list" in note:
        return any(pieces < 0 for pieces in items_of(rows).values())
    return "only lines that an edit has added" in note and len(booked) > 1


def items_of(rows: list[str]) -> dict[str, int]:
    """Return the pieces of each item of an order."""
    found: Counter[str] = Counter()
    for row in rows:
        _, _, item, pieces, *_ = row.split(",")
        found[item] += int(pieces)
    return dict(found)


def only_cancelled(there: list[str], rows: list[str]) -> bool:
    """Return whether the rows are all that is there, or all but cancelled lines."""
    lines, now = (
        Counter(tuple(row.split(",")[2:6]) for row in each) for each in (there, rows)
    )
    return not now - lines and all(line[1].startswith("-") for line in lines - now)


def discounts_by_product(shop: Shop) -> dict[str, Decimal]:
    """Return what was taken off each product."""
    found: dict[str, Decimal] = defaultdict(Decimal)
    for transaction in shop.transactions():
        for posting in transaction.postings:
            if posting.account == "Income:Discounts:Web":
                found[(posting.meta or {}).get("item", "")] += posting.units.number
    return {item: amount for item, amount in found.items() if amount}


def receivable_and_tax(shop: Shop) -> dict[str, Decimal]:
    """Return what the buyer owes, what is income of it, and the tax."""
    balances = shop.balances()
    return {
        "owed": sum(
            (amount for name, amount in balances.items() if "Receivable" in name), D(0)
        ),
        "tax": balances["Liabilities:SalesTax"],
        "shipping": balances["Income:Shipping:Web"],
        "extras": balances.get("Income:Extras:Web", D(0)),
        "unknown": balances.get("Income:Suspense:Web", D(0)),
        "discounts": balances.get("Income:Discounts:Web", D(0)),
    }


def test_edit_is_seen_by_the_ecosystems_command_too(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    shop = new_shop(tmp_path / "stocked", STOCKED)
    shop.run(shop.orders(HERON, MOTH))
    row = HERON.replace(",2,4.00", ",1,4.00")
    file = shop.orders(row, LATER, name="edited.csv")
    entries, errors, _ = loader.load_file(str(shop.ledger))
    assert errors == []
    importer = LayoutImporter(shipped_layouts()["shop-orders"], load_settings(shop.ledger))

    def new(file: Path) -> list[data.Transaction]:
        found = importer.extract(str(file), entries)
        importer.deduplicate(found, entries)
        return [entry for entry in found if DUPLICATE not in entry.meta]

    assert new(shop.orders(row, name="older.csv")) == []
    (told,) = [record.message for record in caplog.records]
    assert "which is newer cannot be told" in told
    edited, later = new(file)
    assert later.meta["lines-id"] == "shop-orders/W2"
    assert edited.meta["lines-id"] == "shop-orders/W1#2"
    assert [(p.account, str(p.units.number)) for p in edited.postings] == [
        ("Assets:Receivable:Web", "-7.00"),
        ("Income:Refunds:Web", "8.00"),
        ("Income:Refunds:Web", "3.00"),
        ("Income:Sales:Web", "-4.00"),
    ]
    assert importer.extract(str(shop.orders(HERON, MOTH)), entries)[1:] == []


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ('"Poster",1,10.00', "Poster"),
        ('"Gift wrap",1,10.00', "Gift wrap"),
        ('"Poster",5,2.00', "Poster"),
    ],
)
def test_line_replaced_by_one_of_no_product_is_noted(
    shop: Shop, line: str, name: str
) -> None:
    end = ",0.00,0.00,0.00,USD"
    if ",5," in line:  # the sum of two lines
        first = [f'W1,2025-03-04,"Heron",1,4.00{end}', f'W1,2025-03-04,"Moth",1,6.00{end}']
    else:
        first = [f'W1,2025-03-04,"Heron",1,10.00{end}']
    shop.run(shop.orders(*first))
    before = shop.text("shop-orders-2025-03.beancount")

    report = shop.run(shop.orders(f"W1,2025-03-04,{line}{end}", name="newer.csv"))

    (note,) = report.notes
    assert note.startswith(f"Web order W1: newer.csv names {name}, and the ledger other")
    assert shop.text("shop-orders-2025-03.beancount") == before


def test_order_in_another_currency_than_before_is_noted(shop: Shop) -> None:
    line = 'W1,2025-03-04,"Heron",1,10.00,0.00,0.00,0.00,'
    shop.run(shop.orders(f"{line}USD"))
    before = shop.text("shop-orders-2025-03.beancount")

    report = shop.run(shop.orders(f"{line}EUR", name="newer.csv"))

    (note,) = report.notes
    assert note.startswith("Web order W1: its lines come to 10.00 EUR in newer.csv")
    assert shop.text("shop-orders-2025-03.beancount") == before

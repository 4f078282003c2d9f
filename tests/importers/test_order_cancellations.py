"""Of orders that a file marks as cancelled by a word of its status only."""

from __future__ import annotations

import tempfile
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.importers.shop import Shop, new_shop

D = Decimal
LAYOUT = """\
kind = "order-lines"
source = "shop-orders"
channel = "Web"
currency = ["USD", "JPY"]
[columns]
order = "No"
date = "Day"
item = "Item"
quantity = "Pieces"
unit-price = "Each"
discount = "Off"
shipping = "Post"
tax = "Tax"
status = "State"
[orders]
amounts = "{amounts}"
cancelled = ["Cancelled", "void"]
"""
HEADER = "No,Day,Item,Pieces,Each,Off,Post,Tax,State"
HERON = "W1,2025-03-03,Heron,2,4.00,0.50,2.50,0.50"
MOTH = "W1,2025-03-03,Moth,1,3.00,0,2.50,0.50"
BOX = "W1,2025-03-03,A box,1,2.00,0,2.50,0.50"
OTHER = "W2,2025-03-05,Moth,1,3.00,0,0,0"
PAID = "2025-03-04,Sale,W1,,13.50,0.70,12.80,USD,ch_1"
REFUND = "2025-03-10,Refund,W1,,-13.50,0,-13.50,USD,re_1"
DEPOSIT = PAID.replace("Sale", "Deposit")
PART = "2025-03-10,Refund,W1,,-3.50,0,-3.50,USD,re_1"
SOLD = "Income:Sales:Web", "Income:Refunds:Web"
STOCKED = """\
plugin "offcut.plugins"
2025-01-01 commodity HERON-STK
  stock: "product"
2025-01-01 commodity MOTH-STK
  stock: "product"
2025-01-01 open Assets:Bank
2025-01-02 * "Bought"
  Assets:Stock:HERON-STK  50 HERON-STK {1.00 USD}
  Assets:Stock:MOTH-STK   50 MOTH-STK {1.00 USD}
  Assets:Bank  -100.00 USD
"""


def own(shop: Shop, amounts: str = "every-line") -> list[str]:
    """Write a layout with a status; return it, and that of payments."""
    text = LAYOUT.format(amounts=amounts)
    return [str(shop.file("studio.toml", *text.splitlines())), "card-payments"]


def orders(shop: Shop, *rows: str, name: str = "orders.csv") -> Path:
    """Write a file of orders, each row with its status."""
    return shop.file(name, HEADER, *rows)


def books(shop: Shop) -> dict[str, Decimal]:
    """Return the balances, sales and refunds of them added up."""
    balances = shop.balances()
    net = sum((balances.pop(account, D(0)) for account in SOLD), D(0))
    return {**balances, "Income": net} if net else balances


def ledger_bytes(shop: Shop) -> dict[str, bytes]:
    """Return the bytes of the ledger's files."""
    return {
        name: contents
        for name, contents in shop.contents().items()
        if name.endswith(".beancount")
    }


# --- the first that is heard of it -------------------------------------------------


@pytest.mark.parametrize("word", ["cancelled", "CANCELLED", " Void "])
def test_order_that_is_cancelled_is_not_sold(shop: Shop, word: str) -> None:
    file = orders(shop, f"{HERON},{word}", f"{MOTH},{word}", f"{OTHER},sent")

    report = shop.run(file, layouts=own(shop))

    (of_file,) = report.files
    assert (of_file.rows, of_file.booked, of_file.left_out) == (3, 1, {"cancelled": 2})
    assert shop.balances() == {
        "Assets:Receivable:Web": D("3.00"),
        "Income:Sales:Web": D("-3.00"),
    }
    before = shop.contents()
    again = shop.run(file, layouts=own(shop))
    assert again.files[0].left_out == {"cancelled": 2}
    assert again.notes == ()
    assert shop.contents() == before


def test_word_that_the_layout_does_not_name_cancels_nothing(shop: Shop) -> None:
    report = shop.run(orders(shop, f"{HERON},on hold"), layouts=own(shop))

    assert report.files[0].booked == 1


def test_order_in_a_currency_without_minor_unit(shop: Shop) -> None:
    text = LAYOUT.replace('["USD", "JPY"]', '"JPY"').format(amounts="every-line")
    layout = str(shop.file("studio.toml", *text.splitlines()))

    shop.run(orders(shop, "W1,2025-03-03,Heron,2,400,0,0,0,void"), layouts=[layout])

    assert " 0 JPY\n" in shop.text("shop-orders-2025-03.beancount")


def test_order_listed_again_as_cancelled_is(shop: Shop) -> None:
    file = orders(
        shop,
        f"{HERON},paid",
        f"{MOTH},paid",
        f"{MOTH},cancelled",
        f"{HERON.replace(',2,', ',0,')},cancelled",
    )

    report = shop.run(file, layouts=own(shop))

    assert report.files[0].left_out == {"cancelled": 4}
    assert shop.balances() == {}


def test_line_that_is_cancelled_is_left_out_and_the_others_are_the_order(
    shop: Shop,
) -> None:
    report = shop.run(orders(shop, f"{HERON},paid", f"{MOTH},cancelled"), layouts=own(shop))

    (of_file,) = report.files
    assert (of_file.booked, of_file.left_out) == (1, {"cancelled": 1})
    assert shop.balances()["Assets:Receivable:Web"] == D("10.50")


def test_cancelled_row_of_an_item_that_is_sold_as_well_is_refused(shop: Shop) -> None:
    file = orders(shop, f"{HERON},paid", f"{MOTH},paid", f"{MOTH},cancelled")

    (line,) = shop.refused(file, layouts=own(shop))

    assert line.startswith(
        "orders.csv: row 4, column State: expected the lines of order W1"
    )


@pytest.mark.parametrize("word", ["paid", "cancelled"])
def test_number_that_says_what_is_cancelled_says_it_once(shop: Shop, word: str) -> None:
    back = "W1,2025-03-08,Heron,-2,4.00,-0.50,2.50,0.50,cancelled"
    file = orders(shop, f"{HERON},{word}", f"{MOTH},{word}", back)

    report = shop.run(file, layouts=own(shop))

    assert report.files[0].booked == 3
    assert books(shop)["Income"] == D("-3.00")
    assert books(shop)["Assets:Receivable:Web"] == D("6.00")


def test_day_that_is_none_is_named_though_the_order_is_cancelled(shop: Shop) -> None:
    row = HERON.replace("2025-03-03", "soon")
    (line,) = shop.refused(orders(shop, f"{row},void"), layouts=own(shop))

    assert line.startswith("orders.csv: row 2, column Day: expected a date")


def test_words_need_the_column(shop: Shop) -> None:
    text = LAYOUT.replace('status = "State"\n', "").format(amounts="every-line")
    layout = str(shop.file("studio.toml", *text.splitlines()))

    (line,) = shop.refused(orders(shop, f"{HERON},void"), layouts=[layout])

    assert "[orders] cancelled has its place beside [columns] status" in line


# --- it was booked before ----------------------------------------------------------


def test_lines_that_were_booked_are_taken_back(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "stocked", ledger=STOCKED)
    stocked = shop.balances()
    shop.run(
        orders(shop, f"{HERON},paid", f"{MOTH},paid", f"{BOX},paid"), layouts=own(shop)
    )
    before = ledger_bytes(shop)

    file = orders(shop, f"{HERON},void", f"{MOTH},void", f"{BOX},void", name="later.csv")
    report = shop.run(file, layouts=own(shop))

    assert report.notes == (
        "Web order W1 was cancelled by later.csv: its lines came to 15.50 USD, and are "
        "taken back",
    )
    assert report.files[0].left_out == {"cancelled": 3}
    assert books(shop) == stocked
    for name, contents in before.items():
        assert ledger_bytes(shop)[name].startswith(contents)
    after = ledger_bytes(shop)
    assert shop.run(file, layouts=own(shop)).notes == ()
    assert ledger_bytes(shop) == after


def test_pieces_come_back_at_the_cost_that_they_left_with(tmp_path: Path) -> None:
    """They left on the day of the payment, and do not come back before."""
    dearer = (
        '2025-01-03 * "Bought dearer"\n  Assets:Stock:HERON-STK  9 HERON-STK {3.00 USD}\n'
        "  Assets:Bank  -27.00 USD\n"
    )
    shop = new_shop(tmp_path / "stocked", ledger=STOCKED + dearer)
    stocked = shop.balances()
    sold = orders(shop, f"{HERON},paid", f"{MOTH},paid")
    shop.run(sold, shop.payments(PAID), layouts=own(shop))
    shop.run(orders(shop, f"{HERON},void", f"{MOTH},void"), layouts=own(shop))
    shop.run(shop.payments(REFUND), layouts=own(shop))

    (gone,) = [
        each for each in shop.transactions() if "#2" in each.meta.get("lines-id", "")
    ]
    assert gone.date.isoformat() == "2025-03-04"
    costs = {
        account: amount
        for account, amount in books(shop).items()
        if account not in ("Assets:Clearing:Card", "Expenses:Fees:Card")
    }
    assert costs == stocked
    assert "Expenses:COGS:HERON-STK" not in shop.balances()


def test_packing_that_was_used_is_told(shop: Shop) -> None:
    """Nothing says whether it was sent before it was cancelled."""
    with (shop.folder / "offcut.toml").open("a") as settings:
        settings.write('[packing]\nWeb = "letter"\n')
    shop.run(orders(shop, f"{HERON},paid"), layouts=own(shop))

    (note,) = shop.run(orders(shop, f"{HERON},void"), layouts=own(shop)).notes

    assert note.endswith(
        "taken back; take packing out of its transaction if no letter was sent"
    )
    other = new_shop(shop.folder / "other", settings='[packing]\nWeb = "letter"\n')
    other.run(orders(other, f"{HERON},void"), layouts=own(other))
    assert "packing" not in other.text("shop-orders-2025-03.beancount")


def test_line_that_was_booked_is_taken_back(shop: Shop) -> None:
    shop.run(orders(shop, f"{HERON},paid", f"{MOTH},paid"), layouts=own(shop))

    report = shop.run(orders(shop, f"{HERON},sent", f"{MOTH},void"), layouts=own(shop))

    assert "the difference of -3.00 is booked" in report.notes[0]
    assert books(shop)["Assets:Receivable:Web"] == D("10.50")


def test_older_file_does_not_bring_the_order_back(shop: Shop) -> None:
    shop.run(orders(shop, f"{HERON},void", f"{OTHER},paid"), layouts=own(shop))
    before = ledger_bytes(shop)

    report = shop.run(
        orders(shop, f"{HERON},paid", f"{OTHER},paid", name="older.csv"), layouts=own(shop)
    )

    assert ledger_bytes(shop) == before
    assert len(report.notes) == 1


def test_file_with_it_as_cancelled_is_the_later_word_in_one_import(shop: Shop) -> None:
    for names in permutations(["paid", "void"]):
        one = new_shop(shop.folder / names[0])
        files = [
            orders(one, f"{HERON},{name}", f"{MOTH},{name}", name=f"{at}.csv")
            for at, name in enumerate(names)
        ]
        report = one.run(*files, layouts=own(one))
        assert one.balances() == {}
        assert sorted(str(each.left_out) for each in report.files) == [
            "{'cancelled': 2}",
            "{'in another file too': 2}",
        ]
        before = ledger_bytes(one)
        one.run(*files, layouts=own(one))
        assert ledger_bytes(one) == before


def test_file_with_lines_as_cancelled_is_the_later_word_in_one_import(shop: Shop) -> None:
    whole = orders(shop, f"{HERON},paid", f"{MOTH},paid", name="1.csv")
    part = orders(shop, f"{HERON},paid", f"{MOTH},void", name="2.csv")

    shop.run(whole, part, layouts=own(shop))

    assert shop.balances()["Assets:Receivable:Web"] == D("10.50")
    other = orders(shop, "W3,2025-03-03,Heron,1,4.00,0,0,0,paid", name="3.csv")
    void = orders(shop, "W3,2025-03-03,Moth,1,4.00,0,0,0,void", name="4.csv")
    part = orders(shop, "W3,2025-03-03,Moth,1,4.00,0,0,0,paid", name="5.csv")
    (line,) = shop.refused(other, part, layouts=own(shop))
    assert "expected the same contents as in 3.csv" in line
    assert shop.run(other, void, layouts=own(shop)).ties


# --- with its money ----------------------------------------------------------------


def test_paid_cancelled_and_refunded_ends_at_nothing(shop: Shop) -> None:
    shop.run(shop.payments(PAID, REFUND), layouts=["card-payments"])
    report = shop.run(orders(shop, f"{HERON},void", f"{MOTH},void"), layouts=own(shop))

    assert report.notes == ()
    # Of the money the fee is left, which the processor keeps.
    assert shop.balances() == {
        "Assets:Clearing:Card": D("-0.70"),
        "Expenses:Fees:Card": D("0.70"),
    }


def test_what_was_paid_and_not_refunded_waits_and_is_told(shop: Shop) -> None:
    void = orders(shop, f"{HERON},void", f"{MOTH},void")
    report = shop.run(void, shop.payments(PAID), layouts=own(shop))

    assert report.notes == (
        "Web order W1: paid 13.50, owed 0.00 USD; the difference of 13.50 is in "
        "Income:Suspense:Web",
    )
    assert shop.balances()["Income:Suspense:Web"] == D("-13.50")


def test_what_was_paid_waits_where_the_order_is_cancelled_later(shop: Shop) -> None:
    shop.run(
        orders(shop, f"{HERON},paid", f"{MOTH},paid"),
        shop.payments(PAID),
        layouts=own(shop),
    )
    report = shop.run(orders(shop, f"{HERON},void", f"{MOTH},void"), layouts=own(shop))

    assert report.notes == (
        "Web order W1 was cancelled by orders.csv: its lines came to 13.50 USD, and are "
        "taken back, and -13.50 is in Income:Suspense:Web now",
    )


@pytest.mark.parametrize(
    ("paid", "refund"),
    [
        (PAID, REFUND),
        (DEPOSIT, PART),
        *[
            pytest.param(paid, refund, marks=pytest.mark.slow)
            for paid, refund in (
                *((PAID, PART), (PAID, ""), (DEPOSIT, REFUND), (DEPOSIT, "")),
                *(("", REFUND), ("", PART), ("", "")),
            )
        ],
    ],
)
def test_files_in_any_order_end_in_the_same_books(
    tmp_path: Path, paid: str, refund: str
) -> None:
    """The order as it was sold, its payment, its refund and its cancellation."""
    found = []
    for at, order in enumerate(permutations(["sold", "void", "paid", "refund"])):
        shop = new_shop(tmp_path / str(at), ledger=STOCKED)
        files = {
            "sold": orders(shop, f"{HERON},sold", f"{MOTH},sold", name="sold.csv"),
            "void": orders(shop, f"{HERON},void", f"{MOTH},void", name="void.csv"),
            "paid": shop.payments(*filter(None, [paid]), name="paid.csv"),
            "refund": shop.payments(*filter(None, [refund]), name="refund.csv"),
        }
        for name in order:
            shop.run(files[name], layouts=own(shop))
        found.append(books(shop))
        before = ledger_bytes(shop)
        for name in order:
            shop.run(files[name], layouts=own(shop))
        assert ledger_bytes(shop) == before
    assert all(each == found[0] for each in found)
    assert found[0].get("Income:Suspense:Web", D(0)) == (
        D("-13.50") * bool(paid) + {"": 0, REFUND: D("13.50"), PART: D("3.50")}[refund]
        if paid
        else 0
    )


@st.composite
def exports(draw: st.DrawFn) -> list[list[str]]:
    """Two exports of a few orders; of some, the second has lines as cancelled."""
    first, second = [], []
    for number in range(draw(st.integers(1, 3))):
        items = draw(
            st.lists(
                st.sampled_from(["Heron", "Moth", "A box", "Gift wrap"]),
                min_size=1,
                max_size=3,
                unique=True,
            )
        )
        shipping, tax = (
            draw(st.sampled_from(["0", "2.50"])),
            draw(st.sampled_from(["0", "0.50"])),
        )
        whole = draw(st.booleans())
        gone = [whole or draw(st.booleans()) for _ in items]
        for at, item in enumerate(items):
            row = f"W{number},2025-03-0{number + 3},{item},{at + 1},{number + 3}.00,0.25"
            row = f"{row},{shipping},{tax}"
            first.append(f"{row},sold")
            second.append(f"{row},{'cancelled' if gone[at] else 'sold'}")
    return [first, second]


@given(rows=exports(), together=st.booleans())
def test_cancellations_end_in_the_same_books_whichever_file_is_first(
    rows: list[list[str]], together: bool
) -> None:
    found = []
    with tempfile.TemporaryDirectory() as folder:
        for order in ((0, 1), (1, 0), (1,)):
            shop = new_shop(Path(folder) / "-".join(map(str, order)), ledger=STOCKED)
            payments = shop.payments(
                *[f"2025-03-04,Sale,W{n},,5.00,0.30,4.70,USD,ch_{n}" for n in range(3)]
            )
            for number in order:
                shop.run(
                    orders(shop, *rows[number], name=f"{number}.csv"), layouts=own(shop)
                )
                if together:
                    shop.run(payments, layouts=own(shop))
            shop.run(payments, layouts=own(shop))
            found.append(books(shop))
    assert found[0] == found[1] == found[2]

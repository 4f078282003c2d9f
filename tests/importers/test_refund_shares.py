"""What a refund that names no item gives back, and the tax that is in it."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from offcut.importers.refund_shares import OrderTotals, Shares, refund_shares
from tests.importers.shop import Shop, new_shop

D = Decimal
COIN = D("0.01")
TAXED = "W1,2025-03-03,Heron,2,5.00,0,0,1.00,USD"  # 11.00, of which 1.00 is tax
PAID = "2025-03-04,Sale,W1,,11.00,0,11.00,USD,ch_1"
BACK = "2025-03-09,Refund,W1,,-{0},0,-{0},USD,re_{1}"
REFUNDS, TAX, SUSPENSE = "Income:Refunds:Web", "Liabilities:SalesTax", "Income:Suspense:Web"
REMITTED = "Assets:Clearing:RemittedTax:Web"
EACH_ORDER = [*permutations(range(3)), (None,)]


def shares(order: OrderTotals, owed: str = "0", ahead: str = "0") -> Shares:
    """Return the shares of one order's refunds."""
    return refund_shares({"W1": order}, D(owed), D(ahead), False, COIN)


def totals(refunds: str, **more: Decimal) -> OrderTotals:
    """Return an order of 11.00, of which 1.00 is tax, that was refunded in part."""
    return OrderTotals(D("11.00"), D("1.00"), refunds=D(refunds), **more)


@pytest.mark.parametrize(
    ("refunds", "tax"),
    [
        ("11.00", "1.00"),  # the whole order, all its tax
        ("5.50", "0.50"),
        ("4.00", "0.36"),  # 0.3636
        ("0.06", "0.01"),  # 0.0055: halves up
        ("10.99", "1.00"),
        ("12.00", "1.00"),  # never more than there is
    ],
)
def test_tax_in_proportion(refunds: str, tax: str) -> None:
    assert shares(totals(refunds)) == (D(refunds) - D(tax), D(tax), D(0))


def test_what_the_row_says_comes_first_and_the_rest_in_proportion() -> None:
    said = totals("6.00", saying=D("2.00"), said_tax=D("0.30"))

    assert shares(said) == (D("6.00") - D("0.66"), D("0.66"), D(0))  # 4.00 has 0.36


@pytest.mark.parametrize(("said", "tax"), [("0.25", "0.25"), ("1.20", "1.00")])
def test_row_says_at_most_the_tax_that_there_is(said: str, tax: str) -> None:
    order = totals("11.00", saying=D("11.00"), said_tax=D(said))

    assert shares(order).tax == D(tax)


def test_without_lines_only_what_the_row_says() -> None:
    order = OrderTotals(refunds=D("4.00"))
    assert shares(order) == (D("4.00"), D(0), D(0))

    order.refund(D("3.00"), D("0.27"), D(0))
    assert shares(order) == (D("6.73"), D("0.27"), D(0))


def test_refund_of_what_was_paid_too_much_has_no_tax() -> None:
    assert shares(totals("11.00"), owed="-11.00") == (D(0), D(0), D(0))
    assert shares(totals("13.00"), owed="-11.00") == (D("1.82"), D("0.18"), D(0))


def test_of_what_is_not_paid_in_full_the_deposit_goes_back_first() -> None:
    assert shares(totals("5.00"), owed="6.00", ahead="4.00") == (D("0.91"), D("0.09"), D(0))
    assert shares(totals("5.00"), owed="6.00") == (D("4.55"), D("0.45"), D(0))


def test_two_orders_each_give_back_their_own_tax() -> None:
    plain = OrderTotals(D("5.00"), refunds=D("5.00"))
    found = refund_shares({"W1": totals("11.00"), "W2": plain}, D(0), D(0), False, COIN)

    assert found == (D("15.00"), D("1.00"), D(0))


# --- from files to the books --------------------------------------------------------


def in_calls(shop: Shop, files: Sequence[Path], order: Sequence[int | None]) -> None:
    """Import files one by one in an order, or all at once."""
    for each in order:
        shop.run(*(files if each is None else [files[each]]))


@pytest.mark.parametrize("order", EACH_ORDER)
def test_full_refund_leaves_no_tax_owed(shop: Shop, order: tuple[int | None, ...]) -> None:
    files = [
        shop.payments(PAID, name="march.csv"),
        shop.payments(BACK.format("11.00", 1), name="april.csv"),
        shop.orders(TAXED),
    ]
    in_calls(shop, files, order)

    assert shop.balances() == {
        "Income:Sales:Web": D("-10.00"),
        REFUNDS: D("10.00"),
    }


@pytest.mark.parametrize("order", EACH_ORDER)
def test_last_refund_takes_the_rest_of_the_tax(
    shop: Shop, order: tuple[int | None, ...]
) -> None:
    parts = ("3.33", "3.33", "4.34")
    files = [
        shop.payments(BACK.format(part, number), name=f"{number}.csv")
        for number, part in enumerate(parts)
    ]
    shop.run(shop.payments(PAID), shop.orders(TAXED))
    in_calls(shop, files, order)

    assert TAX not in shop.balances()
    assert shop.balances()[REFUNDS] == D("10.00")


def test_posting_of_the_tax_says_what_it_is(shop: Shop) -> None:
    shop.run(shop.payments(PAID), shop.orders(TAXED))
    shop.run(shop.payments(BACK.format("4.00", 1), name="back.csv"))

    _, refund = shop.text("card-2025-03.beancount").split("2025-03-09")
    assert refund.endswith(
        """\
  Assets:Clearing:Card                                -4.00 USD
  Income:Refunds:Web                                   3.64 USD
  Liabilities:SalesTax                                 0.36 USD
    note: "sales tax in the refund"
"""
    )


OWN = """\
kind = "payments"
source = "till"
channel = "Web"
currency = "USD"
[columns]
date = "Date"
type = "Type"
order = "Order"
gross = "Gross"
tax = "Tax"
tax-remitted = "Kept"
id = "Id"
[types]
sale = ["Sale"]
refund = ["Refund"]
tax-remitted = ["Tax"]
"""
BOOK = """\
kind = "order-lines"
source = "book"
channel = "Web"
currency = "USD"
[columns]
order = "No"
date = "Day"
item = "Item"
quantity = "Pieces"
unit-price = "Each"
tax = "Tax"
"""
REMITS = BOOK + '[orders]\ntax = "remitted"\n'


def market(folder: Path, book: str) -> Shop:
    """Make a shop whose payments say their tax, with orders of such a layout."""
    shop = new_shop(folder)
    (shop.folder / "layouts").mkdir()
    for name, text in (("till", OWN), ("book", book)):
        (shop.folder / "layouts" / f"{name}.toml").write_text(text, "utf-8")
    return shop


def till(shop: Shop, *rows: str, name: str = "till.csv") -> Path:
    """Write a file of payments."""
    return shop.file(name, "Date,Type,Order,Gross,Tax,Kept,Id", *rows)


def book(shop: Shop, *rows: str, name: str = "book.csv") -> Path:
    """Write a file of orders."""
    return shop.file(name, "No,Day,Item,Pieces,Each,Tax", *rows)


@pytest.mark.parametrize("order", EACH_ORDER)
def test_tax_that_the_row_says_goes_back(
    tmp_path: Path, order: tuple[int | None, ...]
) -> None:
    shop = market(tmp_path, BOOK)
    files = [
        till(shop, "2025-03-04,Sale,A1,11.00,1.00,,s1", name="1.csv"),
        till(shop, "2025-03-09,Refund,A1,-4.00,-0.25,,r1", name="2.csv"),
        book(shop, "A1,2025-03-03,Heron,2,5.00,1.00"),
    ]
    in_calls(shop, files, order)

    assert shop.balances() == {
        "Assets:Clearing:Till": D("7.00"),
        "Income:Sales:Web": D("-10.00"),
        REFUNDS: D("3.75"),
        TAX: D("-0.75"),
    }


@pytest.mark.parametrize("order", EACH_ORDER)
def test_tax_that_the_marketplace_pays_over_goes_back_to_its_account(
    tmp_path: Path, order: tuple[int | None, ...]
) -> None:
    shop = market(tmp_path, REMITS)
    files = [
        till(shop, "2025-03-04,Sale,A1,11.00,,1.00,s1", name="1.csv"),
        till(shop, "2025-03-09,Refund,A1,-5.50,,,r1", name="2.csv"),
        book(shop, "A1,2025-03-03,Heron,2,5.00,1.00"),
    ]
    in_calls(shop, files, order)
    assert shop.balances() == {
        "Assets:Clearing:Till": D("4.50"),
        REMITTED: D("0.50"),
        "Income:Sales:Web": D("-10.00"),
        REFUNDS: D("5.00"),
    }

    # And the marketplace gives it back to the maker.
    shop.run(till(shop, "2025-03-10,Tax,A1,0.50,,,x1", name="3.csv"))
    assert REMITTED not in shop.balances()


# --- paid twice ---------------------------------------------------------------------


@pytest.mark.parametrize("order", [*permutations(range(4)), (None,)])
def test_refund_of_an_order_paid_twice_clears_suspense(
    shop: Shop, order: tuple[int | None, ...]
) -> None:
    files = [
        shop.payments(PAID, name="march.csv"),
        shop.payments(PAID.replace("ch_1", "ch_2"), name="twice.csv"),
        shop.payments(BACK.format("11.00", 1), name="april.csv"),
        shop.orders(TAXED),
    ]
    for each in order:
        report = shop.run(*(files if each is None else [files[each]]))

    assert report.notes == ()
    assert shop.balances() == {
        "Assets:Clearing:Card": D("11.00"),
        "Income:Sales:Web": D("-10.00"),
        TAX: D("-1.00"),
    }


def test_refund_of_a_part_of_what_was_too_much_is_noted(shop: Shop) -> None:
    shop.run(shop.payments(PAID, PAID.replace("ch_1", "ch_2")), shop.orders(TAXED))
    report = shop.run(shop.payments(BACK.format("4.00", 1), name="back.csv"))

    assert shop.balances()[SUSPENSE] == D("-7.00")
    assert REFUNDS not in shop.balances()
    assert report.notes == (
        "Web order W1: paid -4.00, owed -11.00 USD; the difference of 7.00 is in "
        "Income:Suspense:Web",
    )


# --- any trade ----------------------------------------------------------------------


# Files are drawn between the imports, which the check takes for slow drawing.
@settings(suppress_health_check=[HealthCheck.too_slow])
@given(
    remits=st.booleans(),
    sales=st.integers(0, 2),
    shared=st.booleans(),
    refunds=st.lists(
        st.tuples(
            st.sampled_from(["A1", "A2"]),
            st.sampled_from(["4.00", "5.50", "11.00", "12.34"]),
            st.sampled_from([("", ""), ("", ""), ("-0.36", ""), ("", "-0.36")]),
        ),
        max_size=3,
    ),
    tax=st.sampled_from(["0", "1.00"]),
    lines=st.sets(st.sampled_from(["A1", "A2"])),
    data=st.data(),
)
def test_any_order_of_imports_comes_to_the_same_balances(
    remits: bool,
    sales: int,
    shared: bool,
    refunds: list[tuple[str, str, tuple[str, str]]],
    tax: str,
    lines: set[str],
    data: st.DataObject,
) -> None:
    rows = [f"2025-03-04,Sale,A1,11.00,,{tax},s{number}" for number in range(sales)]
    if shared:
        rows.append("2025-03-05,Sale,A1+A2,22.00,,,b1")
    for number, (order, amount, (said, kept)) in enumerate(refunds):
        rows.append(f"2025-03-09,Refund,{order},-{amount},{said},{kept},r{number}")
    with tempfile.TemporaryDirectory() as folder:
        balances = []
        for name in ("at-once", "piecemeal"):
            shop = market(Path(folder) / name, REMITS if remits else BOOK)
            path = shop.folder / "layouts" / "till.toml"
            path.write_text(OWN + '[orders]\nseveral = "+"\n', "utf-8")
            files = [till(shop, row, name=f"p{n}.csv") for n, row in enumerate(rows)]
            files += [
                book(shop, f"{each},2025-03-03,Heron,2,5.00,{tax}", name=f"{each}.csv")
                for each in sorted(lines)
            ]
            if name == "at-once" and files:
                shop.run(*files)
            elif files:
                for file in data.draw(st.permutations(files)):
                    shop.run(file)
                before = shop.contents()
                shop.run(*files)
                assert shop.contents() == before
            balances.append(shop.balances())
        assert balances[0] == balances[1]


@pytest.mark.parametrize("refund_first", [True, False])
def test_tax_of_a_refund_is_not_taken_for_the_lines(shop: Shop, refund_first: bool) -> None:
    files = [shop.payments(PAID, BACK.format("4.00", 1)), shop.orders(TAXED)]
    in_calls(shop, files, (0, 1) if refund_first else (1, 0))

    more = "W1,2025-03-03,Moth,1,10.00,0,0,1.00,USD"  # and 1.00 more tax
    edited = shop.orders(TAXED.replace("1.00", "2.00"), more.replace("1.00", "2.00"))
    shop.run(edited, are_newer=True)

    tax = D("0.36")  # of 4.00, as 2.00 is of 22.00
    assert shop.balances() == {
        "Assets:Clearing:Card": D("7.00"),
        "Assets:Receivable:Web": D("11.00"),
        "Income:Sales:Web": D("-20.00"),
        REFUNDS: D("4.00") - tax,
        TAX: D("-2.00") + tax,
    }
    before = shop.contents()
    assert [each for each in shop.run(edited).notes if "edited" in each] == []
    assert shop.contents() == before

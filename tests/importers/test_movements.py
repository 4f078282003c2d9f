"""Every movement of money is booked to the accounts that it is about, and balances."""

from __future__ import annotations

import tempfile
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.importers.movements import LAYOUT, import_rows, import_with_orders
from tests.importers.shop import Shop, new_shop

CLEARING = "Assets:Clearing:Wallet"
FEES = "Expenses:Fees:Wallet"
HELD = "Assets:Held:Wallet"
REMITTED = "Assets:Clearing:RemittedTax:Web"
GIFT_CARDS = "Liabilities:GiftCards"


@pytest.mark.parametrize(
    ("row", "booked"),
    [
        ("payout,,,-50,0,,,-50", {"Assets:Clearing:Payouts": "50", CLEARING: "-50"}),
        ("payout,,,20,0,,,20", {"Assets:Clearing:Payouts": "-20", CLEARING: "20"}),
        (
            "payout,,,-50,0.25,,,-50.25",
            {"Assets:Clearing:Payouts": "50", FEES: "0.25", CLEARING: "-50.25"},
        ),
        ("refund,,,-4,0,,,-4", {"Income:Refunds:Web": "4", CLEARING: "-4"}),
        (
            "refund,,,-4,-0.30,,,-3.70",
            {"Income:Refunds:Web": "4", FEES: "-0.30", CLEARING: "-3.70"},
        ),
        (
            "refund,,,-5,0,-1,,-5",
            {"Income:Refunds:Web": "4", "Income:Tips:Web": "1", CLEARING: "-5"},
        ),
        ("fee,,,0,2,,,-2", {FEES: "2", CLEARING: "-2"}),
        ("fee,,,-2,0,,,-2", {FEES: "2", CLEARING: "-2"}),
        ("fee,,,1.50,0,,,1.50", {FEES: "-1.50", CLEARING: "1.50"}),
        (
            "dispute,W1,,-9,0,,,-9",
            {"Expenses:Disputes:Wallet": "9", CLEARING: "-9"},
        ),
        (
            "dispute,W1,,-9,15,,,-24",
            {"Expenses:Disputes:Wallet": "9", FEES: "15", CLEARING: "-24"},
        ),
        (
            "dispute fee,W1,,-15,0,,,-15",
            {"Expenses:DisputeFees:Wallet": "15", CLEARING: "-15"},
        ),
        (
            "dispute fee,W1,,0,15,,,-15",
            {"Expenses:DisputeFees:Wallet": "15", CLEARING: "-15"},
        ),
        ("reversal,W1,,9,0,,,9", {"Expenses:Disputes:Wallet": "-9", CLEARING: "9"}),
        ("hold,,,-30,0,,,-30", {HELD: "30", CLEARING: "-30"}),
        ("release,,,30,0,,,30", {HELD: "-30", CLEARING: "30"}),
        ("tip,,,3,0.10,,,2.90", {"Income:Tips:Web": "-3", FEES: "0.10", CLEARING: "2.90"}),
        ("card sold,,,25,1,,,24", {GIFT_CARDS: "-25", FEES: "1", CLEARING: "24"}),
        ("deposit,,,40,1,,,39", {"Liabilities:Deposits": "-40", FEES: "1", CLEARING: "39"}),
        ("tax kept,,,-1.20,0,,,-1.20", {REMITTED: "1.20", CLEARING: "-1.20"}),
        ("label,,,-4.15,0,,,-4.15", {"Expenses:Postage:Wallet": "4.15", CLEARING: "-4.15"}),
        ("label,,,4.15,0,,,4.15", {"Expenses:Postage:Wallet": "-4.15", CLEARING: "4.15"}),
        (
            "adjustment,,,-0.30,0,,,-0.30",
            {"Income:Suspense:Web": "0.30", CLEARING: "-0.30"},
        ),
        (
            "sale,,,11,0.61,1,,10.39",
            {
                "Income:Suspense:Web": "-10",
                "Income:Tips:Web": "-1",
                FEES: "0.61",
                CLEARING: "10.39",
            },
        ),
        (
            "sale,,,11,0.61,,0.90,9.49",
            {"Income:Suspense:Web": "-10.10", FEES: "0.61", CLEARING: "9.49"},
        ),
        (
            "refund,,,-11,0,,-0.90,-10.10",
            {"Income:Refunds:Web": "10.10", CLEARING: "-10.10"},
        ),
        (
            "dispute,,,-11,0,,-0.90,-10.10",
            {"Expenses:Disputes:Wallet": "10.10", CLEARING: "-10.10"},
        ),
    ],
)
def test_movement(shop: Shop, row: str, booked: dict[str, str]) -> None:
    import_rows(shop, f"2025-03-04,{row},USD,,x1")

    assert shop.balances() == {name: Decimal(amount) for name, amount in booked.items()}


def test_movement_and_reference_are_noted_and_a_sale_is_not(shop: Shop) -> None:
    import_rows(
        shop,
        "2025-03-04,dispute fee,W1,,-15,0,,,-15,USD,case 9,x1",
        "2025-03-05,sale,,,1,0,,,1,USD,,x2",
    )

    fee, sale = shop.transactions()
    assert (fee.meta["movement"], fee.meta["reference"]) == ("dispute-fee", "case 9")
    assert fee.narration == "Dispute fee, Web order W1"
    assert "movement" not in sale.meta
    assert "reference" not in sale.meta


def test_hold_and_release_come_to_nothing(shop: Shop) -> None:
    import_rows(
        shop,
        "2025-03-04,hold,,Reserve,-30,0,,,-30,USD,,x1",
        "2025-03-14,release,,Reserve,12,0,,,12,USD,,x2",
        "2025-03-24,release,,Reserve,18,0,,,18,USD,,x3",
    )

    assert shop.balances() == {}


def test_dispute_won_costs_its_fee(shop: Shop) -> None:
    import_rows(
        shop,
        "2025-03-04,dispute,W1,,-9,0,,,-9,USD,,x1",
        "2025-03-04,dispute fee,W1,,-15,0,,,-15,USD,,x2",
        "2025-04-04,reversal,W1,,9,0,,,9,USD,,x3",
    )

    assert shop.balances() == {
        CLEARING: Decimal("-15"),
        "Expenses:DisputeFees:Wallet": Decimal("15"),
    }
    assert all(each.links == {"order-W1"} for each in shop.transactions())


def test_gift_card_pays_an_order_and_moves_no_money(shop: Shop) -> None:
    lines = "W1,2025-03-03,Heron,2,4.00,0,2.00,0,USD"
    import_rows(shop, "2025-02-01,card sold,,,25,1,,,24,USD,,x0", name="february.csv")
    import_with_orders(shop, "2025-03-04,card used,W1,,10,0,,,10,USD,,x1", lines)

    assert shop.balances() == {
        CLEARING: Decimal(24),
        FEES: Decimal(1),
        GIFT_CARDS: Decimal(-15),
        "Income:Sales:Web": Decimal(-8),
        "Income:Shipping:Web": Decimal(-2),
    }


@pytest.mark.parametrize("together", [True, False])
@pytest.mark.parametrize("tax", ["0.90", "0"])
def test_tax_kept_back_touches_neither_income_nor_liability(
    shop: Shop, together: bool, tax: str
) -> None:
    # The order's lines may say the tax that the marketplace pays over, or leave it out.
    remits = 'kind = "order-lines"\nsource = "orders"\nchannel = "Web"\ncurrency = "USD"\n'
    remits += '[columns]\norder = "Order"\ndate = "Date"\nitem = "Item"\ntax = "Tax"\n'
    remits += 'quantity = "Pieces"\namount = "Sum"\n[orders]\ntax = "remitted"\n'
    (shop.folder / "orders.toml").write_text(remits)
    (shop.folder / "wallet.toml").write_text(LAYOUT)
    orders = shop.file(
        "o.csv", "Order,Date,Item,Pieces,Sum,Tax", f"W1,2025-03-03,Heron,2,8.00,{tax}"
    )
    heading = "Day,Kind,Order,What,Gross,Fee,Tip,Kept,Net,Money,Ref,Id"
    row = "2025-03-04,sale,W1,,8.90,0.40,,0.90,7.60,USD,,x1"
    payments = shop.file("p.csv", heading, row)
    layouts = [str(shop.folder / "orders.toml"), str(shop.folder / "wallet.toml")]

    calls = [[payments, orders]] if together else [[payments], [orders]]
    for files in calls:
        shop.run(*files, layouts=layouts)

    assert shop.balances() == {
        CLEARING: Decimal("7.60"),
        FEES: Decimal("0.40"),
        "Income:Sales:Web": Decimal("-8.00"),
    }


def test_sums_tie_with_tax_kept_back(shop: Shop) -> None:
    report = import_rows(
        shop,
        "2025-03-04,sale,,,8.90,0.40,,0.90,7.60,USD,,x1",
        "2025-03-05,sale,,,11.00,0.61,1,,10.39,USD,,x2",
    )

    (total,) = report.files[0].totals
    assert (total.gross, total.fee, total.remitted, total.net) == tuple(
        map(Decimal, ("19.90", "1.01", "0.90", "17.99"))
    )
    assert not any("rounded" in note for note in report.notes)


def test_payment_of_two_orders_has_both_links(shop: Shop) -> None:
    several = LAYOUT + '[orders]\nseveral = "&"\n'

    import_rows(shop, "2025-03-04,sale,W1 & #W2,,9,0,,,9,USD,,x1", layout=several)
    import_rows(shop, "2025-03-05,sale,W3,,9,0,,,9,USD,,x2", layout=several)

    assert [each.links for each in shop.transactions()] == [
        {"order-W1", "order-W2"},
        {"order-W3"},
    ]


@pytest.mark.parametrize(
    ("row", "account"),
    [
        ("fee,,Advertising in May,0,5,,,-5", "Expenses:Marketing:Advertising"),
        ("sale,,Advertising money back,5,0,,,5", "Expenses:Marketing:Advertising"),
        ("sale,W1,Donation,5,0,,,5", "Income:Donations"),
        ("adjustment,,Donation,5,0,,,5", "Income:Donations"),
    ],
)
def test_rules_book_to_an_account(shop: Shop, row: str, account: str) -> None:
    rules = """\
[[book-to]]
column = "What"
matches = "Advertising.*"
account = "Expenses:Marketing:Advertising"
[[book-to]]
column = "What"
equals = "Donation"
account = "Income:Donations"
[[book-to]]
column = "What"
matches = ".*"
account = "Expenses:Other"
"""
    layout = LAYOUT.replace("[accounts]", rules + "[accounts]")

    import_rows(shop, f"2025-03-04,{row},USD,,x1", layout=layout)

    amount = Decimal(row.rsplit(",", 1)[1])
    assert shop.balances() == {CLEARING: amount, account: -amount}


def test_labels_are_tied_to_orders_or_listed(shop: Shop) -> None:
    shop.run(shop.orders("W1,2025-03-03,Heron,1,4.00,0,0,0,USD"))

    report = import_rows(
        shop,
        "2025-03-04,label,W1,,-4.15,0,,,-4.15,USD,,x1",
        "2025-03-04,label,,,-2.10,0,,,-2.10,USD,,x2",
        "2025-03-05,label,,,-3.00,0,,,-3.00,USD,,x3",
        "2025-03-06,label,,,2.10,0,,,2.10,USD,,x4",
        "2025-03-06,label,W77,,-5.00,0,,,-5.00,USD,,x5",
    )

    assert report.notes == (
        "3 entries for labels have no order's number: 3.00 USD is in "
        "Expenses:Postage:Wallet, with no order",
        "wallet.csv: row 6: a label of 5.00 USD names the order W77, which the books do "
        "not have",
    )
    assert shop.transactions()[1].links == {"order-W1"}


def test_label_alone_does_not_make_its_order_known(shop: Shop) -> None:
    import_rows(shop, "2025-03-04,label,W77,,-5.00,0,,,-5.00,USD,,x1")

    report = import_rows(
        shop, "2025-03-09,label,W77,,-0.50,0,,,-0.50,USD,,x2", name="more.csv"
    )

    assert len(report.notes) == 1
    assert "names the order W77" in report.notes[0]


def test_label_of_an_order_in_the_same_import_is_tied(shop: Shop) -> None:
    report = import_with_orders(
        shop,
        "2025-03-04,label,W1,,-4.15,0,,,-4.15,USD,,x1",
        "W1,2025-03-03,Heron,1,4.00,0,0,0,USD",
    )

    assert report.notes == ()
    assert shop.balances()["Assets:Receivable:Web"] == Decimal("4.00")


@pytest.mark.parametrize(("has_orders", "tax"), [(False, "-0.50"), (True, None)])
def test_tax_and_shipping_are_the_payments_word_where_no_order_lines_say_it(
    shop: Shop, has_orders: bool, tax: str | None
) -> None:
    order = 'order = "Order"\n' if has_orders else ""
    (shop.folder / "till.toml").write_text(
        'kind = "payments"\nsource = "till"\nchannel = "Fair"\ncurrency = "USD"\n'
        f'[columns]\ndate = "Day"\n{order}gross = "Sum"\ntax = "Tax"\n'
        'shipping = "Post"\ntip = "Tip"\n'
        'tax-remitted = "Kept"\n[types]\ndefault = "sale"\n'
    )
    file = shop.file(
        "till.csv", "Day,Order,Sum,Tax,Post,Tip,Kept", "2025-03-04,,13,0.50,2,1,3"
    )

    shop.run(file, layouts=[str(shop.folder / "till.toml")])

    found = shop.balances()
    assert found.pop("Assets:Clearing:Till") == Decimal(10)
    assert found.pop("Income:Tips:Fair") == Decimal(-1)
    expected = {
        False: {
            "Income:Sales:Fair": "-6.50",
            "Income:Shipping:Fair": "-2",
            "Liabilities:SalesTax": tax,
        },
        True: {"Income:Suspense:Fair": "-9"},
    }[has_orders]
    assert found == {name: Decimal(str(number)) for name, number in expected.items()}


KINDS = (
    *("sale", "refund", "fee", "payout", "dispute", "dispute fee", "reversal", "hold"),
    *("release", "tip", "card sold", "card used", "deposit", "tax kept", "label"),
    "adjustment",
)


class Row(NamedTuple):
    """A row as the file has it."""

    kind: str
    order: str
    gross: Decimal
    fee: Decimal
    tip: Decimal
    kept: Decimal

    @property
    def net(self) -> Decimal:
        """What the file says that the account gains."""
        return self.gross - self.fee - self.kept

    def line(self, number: int) -> str:
        """Return the row of a file."""
        amounts = f"{self.gross},{self.fee},{self.tip},{self.kept},{self.net}"
        return (
            f"2025-03-{1 + number:02d},{self.kind},{self.order},,{amounts},USD,,x{number}"
        )


CENTS = st.integers(-5000, 5000).map(lambda number: Decimal(number) / 100)
ROWS = st.builds(
    Row,
    st.sampled_from(KINDS),
    st.sampled_from(["", "", "W1", "W2"]),
    CENTS,
    st.one_of(st.just(Decimal(0)), CENTS),
    st.one_of(st.just(Decimal(0)), CENTS),
    st.one_of(st.just(Decimal(0)), CENTS),
)


@given(rows=st.lists(ROWS, min_size=1, max_size=8), data=st.data())
def test_any_movements_balance_and_the_account_gains_what_the_file_says(
    rows: list[Row], data: st.DataObject
) -> None:
    lines = [row.line(number) for number, row in enumerate(rows)]
    with tempfile.TemporaryDirectory() as folder:
        at_once = new_shop(Path(folder) / "at-once")
        import_rows(at_once, *lines)
        piecemeal = new_shop(Path(folder) / "piecemeal")
        for line in data.draw(st.permutations(lines)):
            import_rows(piecemeal, line)

        found = at_once.balances()
        assert piecemeal.balances() == found
    # A gift card that is used pays from what was taken when it was sold.
    gained = [-row.fee if row.kind == "card used" else row.net for row in rows]
    assert found.get(CLEARING, Decimal(0)) == sum(gained)
    fees = [row for row in rows if row.kind in ("fee", "dispute fee")]
    tips = sum(row.gross - row.kept for row in rows if row.kind == "tip")
    tips += sum(row.tip for row in rows if row.kind != "tip")
    assert found.get("Income:Tips:Web", Decimal(0)) == -tips
    assert found.get("Expenses:DisputeFees:Wallet", Decimal(0)) == sum(
        row.tip - row.net - row.kept for row in fees if row.kind == "dispute fee"
    )


def test_tax_of_a_refund_of_no_order_is_owed_no_longer(shop: Shop) -> None:
    path = shop.folder / "own.toml"
    path.write_text(
        'kind = "payments"\nsource = "own"\nchannel = "Web"\ncurrency = "USD"\n'
        '[columns]\ndate = "Day"\ntype = "Kind"\norder = "Order"\ngross = "Sum"\n'
        'tax = "Tax"\n[types]\nrefund = ["refund"]\n'
    )

    shop.run(
        shop.file("own.csv", "Day,Kind,Order,Sum,Tax", "2025-03-03,refund,,-11.00,-1.00"),
        layouts=[str(path)],
    )

    assert shop.balances() == {
        "Assets:Clearing:Own": Decimal("-11.00"),
        "Income:Refunds:Web": Decimal("10.00"),
        "Liabilities:SalesTax": Decimal("1.00"),
    }


@pytest.mark.parametrize("together", [True, False])
def test_adjustment_of_an_order_waits_by_itself_and_settles_nothing(
    shop: Shop, together: bool
) -> None:
    order = "W1,2025-03-03,Heron,2,4.00,0,2.50,0,USD"
    rows = [
        "2025-03-03,adjustment,W1,,-5.00,0,,,-5.00,USD,,x1",
        "2025-03-04,sale,W1,,10.50,0,,,10.50,USD,,x2",
    ]
    for some in [rows] if together else [[each] for each in rows]:
        import_rows(shop, *some)
    shop.run(shop.orders(order))

    assert shop.balances() == {
        CLEARING: Decimal("5.50"),
        "Income:Sales:Web": Decimal("-8.00"),
        "Income:Shipping:Web": Decimal("-2.50"),
        "Income:Suspense:Web": Decimal("5.00"),
    }

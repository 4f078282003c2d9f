"""Which way money goes: by signs, or by the types of a file that writes none."""

from __future__ import annotations

from decimal import Decimal

import pytest

from offcut.importers.settings import load_settings
from tests.importers.shop import Shop

LAYOUT = """\
kind = "payments"
source = "wallet"
channel = "Web"
currency = "USD"
[columns]
date = "Date"
type = "What"
order = "Order"
gross = "Amount"
fee = "Fee"
net = "Net"
[types]
sale = ["Sale"]
refund = ["Refund"]
payout = ["Payout"]
adjustment = ["Other"]
"""
UNSIGNED = LAYOUT + '[forms]\namounts = "unsigned"\n'
SALE = "2026-04-03,Sale,A1,20.00,1.00,19.00"
REFUND = "2026-04-05,Refund,A2,10.00,0.50,9.50"
PAYOUT = "2026-04-13,Payout,,19.00,0.00,19.00"
CLEARING = "Assets:Clearing:Wallet"


def _file(shop: Shop, layout: str, *rows: str) -> None:
    (shop.folder / "layouts").mkdir(exist_ok=True)
    (shop.folder / "layouts" / "wallet.toml").write_text(layout, "utf-8")
    text = "\n".join(["Date,What,Order,Amount,Fee,Net", *rows]) + "\n"
    (shop.folder / "wallet.csv").write_text(text, "utf-8")


def test_types_are_the_direction_of_unsigned_amounts(shop: Shop) -> None:
    _file(shop, UNSIGNED, SALE, REFUND, PAYOUT)
    shop.run(shop.folder / "wallet.csv")

    assert shop.balances()[CLEARING] == Decimal("-9.50")
    assert shop.balances()["Assets:Clearing:Payouts"] == Decimal(19)
    assert shop.balances()["Expenses:Fees:Wallet"] == Decimal("0.50")
    assert shop.balances()["Income:Refunds:Web"] == Decimal(10)


def test_a_fee_charged_beside_an_unsigned_payout(shop: Shop) -> None:
    _file(shop, UNSIGNED, "2026-04-13,Payout,,19.00,0.25,19.25")
    shop.run(shop.folder / "wallet.csv")

    assert shop.balances()[CLEARING] == Decimal("-19.25")
    assert shop.balances()["Expenses:Fees:Wallet"] == Decimal("0.25")


def test_no_minus_anywhere_is_refused_until_the_layout_says(shop: Shop) -> None:
    _file(shop, LAYOUT, SALE, REFUND, PAYOUT)
    refund, payout = shop.refused(shop.folder / "wallet.csv")

    assert refund.startswith("wallet.csv: row 3, column Amount: expected a negative amount")
    assert payout.startswith("wallet.csv: row 4, column Amount: expected a negative amount")
    assert '[forms] amounts = "unsigned"' in payout


def test_a_refund_that_came_in_is_noted(shop: Shop) -> None:
    _file(shop, LAYOUT, SALE, "2026-04-13,Payout,,-19.00,0.00,-19.00", REFUND)
    notes = shop.run(shop.folder / "wallet.csv").notes
    (note,) = [each for each in notes if "usually goes out" in each]

    assert note.startswith("wallet.csv: row 4 (10.00): refund that goes in")


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("2026-04-13,Payout,,-19.00,0.00,-19.00", "expected an amount without a sign"),
        ("2026-04-13,Other,,19.00,0.00,19.00", "expected a movement that goes one way"),
    ],
)
def test_what_cannot_be_without_sign(shop: Shop, row: str, expected: str) -> None:
    _file(shop, UNSIGNED, SALE, row)
    (line,) = shop.refused(shop.folder / "wallet.csv")

    assert line.startswith(f"wallet.csv: row 3, column Amount: {expected}")


def test_open_doubts_of_a_layout_are_said(shop: Shop) -> None:
    _file(shop, f"# DOUBT: Is it so?\n#   DOUBT: And so?\n{LAYOUT}", SALE)
    notes = shop.run(shop.folder / "wallet.csv").notes

    assert any("its layout wallet has 2 open DOUBT marks" in each for each in notes)


def test_open_doubts_of_a_layout_in_the_settings_are_said(shop: Shop) -> None:
    """And no doubt of another layout, or of another table."""
    lines = []
    for line in ["# DOUBT: Is it so?", *LAYOUT.splitlines()]:
        table = line.startswith("[")
        lines.append(f"  [layouts.wallet.{line[1:]}" if table else f"  {line}")
    own = "\n".join(["[layouts.wallet]", *lines, "# DOUBT: And so?"])
    other = own.replace("layouts.wallet", "layouts.'purse'").replace("Reference", "Id")
    rules = shop.folder / "offcut.toml"
    rules.write_text(
        f"# DOUBT: none\n{rules.read_text('utf-8')}\n{own}\n"
        f"[packing]\n# DOUBT: none\n{other}\n# DOUBT: Third\n",
        "utf-8",
    )
    settings = load_settings(shop.ledger)

    doubts = {name: layout.doubts for name, layout in settings.layouts.items()}
    assert doubts == {"wallet": 2, "purse": 3}


def test_problems_of_all_stages_are_named_at_once_by_row(shop: Shop) -> None:
    _file(
        shop,
        LAYOUT,
        "2026-04-03,Sale,A1,20.00,1.00,18.00",
        "2026-04-03,Sold,A1,20.00,1.00,19.00",
        "2026-04-03,Sale,A1,,1.00,19.00",
        "03.04.2026,Sale,A1,20.00,1.00,19.00",
    )
    lines = shop.refused(shop.folder / "wallet.csv")

    places = [line.split(":")[1].strip() for line in lines]
    assert places == [
        "row 2, column Net",
        "row 3, column What",
        "row 4, column Amount",
        "row 5, column Date",
    ]


def test_a_blank_heading_is_called_blank(shop: Shop) -> None:
    path = shop.file("blank.csv", "", ",,,", SALE)
    (line,) = shop.refused(path)

    assert "the heading row is blank" in line


def test_parts_larger_than_what_they_are_of_are_noted(shop: Shop) -> None:
    path = shop.orders(
        "W1,2025-03-04,Heron,1,4.00,5.00,2.50,0,USD",
        "W2,2025-03-04,Heron,1,4.00,4.00,2.50,0,USD",
    )
    notes = [each for each in shop.run(path).notes if "is more than" in each]

    assert len(notes) == 1
    assert "row 2: order W1: the discount 5.00 of a line is more than the line" in notes[0]

"""Orders that are open in other accounts than their layout names are refused."""

from __future__ import annotations

import pytest

from tests.importers.shop import PAYMENTS, Shop

LAYOUT = """\
kind = "payments"
source = "card"
channel = "Web"
currency = "USD"
[columns]
date = "Date"
type = "Type"
order = "Order"
gross = "Gross"
fee = "Fee"
net = "Net"
id = "Reference"
[types]
sale = ["Sale"]
deposit = ["Deposit"]
[accounts]
"""
LINES = "W1,2025-03-03,Heron,2,4.00,0,2.50,0,USD"
SALE = "2025-03-04,Sale,W1,,10.50,0,10.50,USD,ch_1"
DEPOSIT = SALE.replace("Sale", "Deposit")


def run(shop: Shop, *rows: str, accounts: str = "") -> None:
    """Import payments by a layout that names such accounts."""
    path = shop.file("own.toml", *(LAYOUT + accounts).splitlines())
    shop.run(shop.file("own.csv", PAYMENTS, *rows), layouts=[str(path)])


def refused(shop: Shop, *rows: str, accounts: str = "") -> list[str]:
    """Import payments that are refused, and return why."""
    path = shop.file("own.toml", *(LAYOUT + accounts).splitlines())
    return shop.refused(shop.file("own.csv", PAYMENTS, *rows), layouts=[str(path)])


def test_order_that_is_owed_in_another_account(shop: Shop) -> None:
    shop.run(shop.orders(LINES, LINES.replace("W1", "W2")))

    assert refused(shop, SALE, accounts='receivable = "Assets:Debtors"') == [
        "own.csv: row 2: expected Assets:Debtors as receivable of the Web order W1, as in "
        "own, found 10.50 USD in Assets:Receivable:Web in the ledger; name that account in "
        "the layout's [accounts], or move the amount in the ledger, nothing was imported"
    ]


@pytest.mark.parametrize(
    ("row", "key", "before", "usual"),
    [
        (SALE, "suspense", "Income:Suspense:Shop", "Income:Suspense:Web"),
        (DEPOSIT, "deposits", "Liabilities:Deposits:Shop", "Liabilities:Deposits"),
    ],
)
def test_what_was_paid_and_stands_in_another_account(
    shop: Shop, row: str, key: str, before: str, usual: str
) -> None:
    run(shop, row, accounts=f'{key} = "{before}"')

    (line,) = shop.refused(shop.orders(LINES))

    assert f"expected {usual} as {key} of the Web order W1" in line
    assert f"found -10.50 USD in {before} in the ledger" in line


def test_account_of_another_layout_of_the_channel(shop: Shop) -> None:
    (shop.folder / "layouts").mkdir()
    layout = LAYOUT.replace('"Reference"', '"Id"') + 'suspense = "Equity:Unsorted"'
    (shop.folder / "layouts" / "own.toml").write_text(layout, "utf-8")
    run(shop, SALE, accounts='suspense = "Equity:Unsorted"')

    (line,) = shop.refused(shop.orders(LINES))

    assert "found -10.50 USD in Equity:Unsorted in the ledger" in line


def test_what_is_closed_there_is_no_matter(shop: Shop) -> None:
    debtors = LINES.replace("2,4.00", "1,0")
    shop.run(shop.orders(debtors))
    run(shop, SALE.replace("10.50", "2.50"))  # the receivable is closed again

    run(shop, SALE.replace("ch_1", "ch_2"), accounts='receivable = "Assets:Debtors"')


def test_what_the_user_has_written_is_no_matter(shop: Shop) -> None:
    by_hand = (
        "2025-01-01 open Assets:Receivable:Aunt\n2025-01-01 open Assets:Cash\n"
        '2025-03-04 * "My aunt owes" ^order-W1\n  channel: "Web"\n'
        "  Assets:Receivable:Aunt  4.00 USD\n  Assets:Cash  -4.00 USD\n"
    )
    shop.ledger.write_text(shop.ledger.read_text("utf-8") + by_hand, "utf-8")

    shop.run(shop.orders(LINES))


def test_another_channels_account_is_no_matter(shop: Shop) -> None:
    shop.run(shop.orders(LINES))
    layout = LAYOUT.replace('"Web"', '"Market"')
    path = shop.file("market.toml", *layout.splitlines())

    shop.run(shop.file("own.csv", PAYMENTS, SALE), layouts=[str(path)])

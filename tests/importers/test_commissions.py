"""A commission: a deposit is a liability until the work is delivered, and then paid for."""

from __future__ import annotations

import tempfile
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.importers.shop import Shop, new_shop

D = Decimal
LAYOUT = """\
kind = "payments"
source = "transfers"
channel = "Web"
currency = ["USD", "EUR"]
[columns]
date = "Date"
type = "Type"
order = "Order"
gross = "Gross"
currency = "Currency"
id = "Id"
[types]
sale = ["Payment"]
refund = ["Back"]
deposit = ["Deposit"]
"""
DEPOSIT = "2025-01-10,Deposit,C7,40.00,USD,t1"
REST = "2025-03-20,Payment,C7,40.00,USD,t2"
DELIVERED = "C7,2025-03-15,Heron,1,80.00,0,0,0,USD"
SETTLED = {"Assets:Clearing:Transfers": D("80.00"), "Income:Sales:Web": D("-80.00")}
ON_ACCOUNT = ("Liabilities:Deposits", "Assets:Receivable:Web", "Income:Suspense:Web")


@pytest.fixture
def studio(shop: Shop) -> Shop:
    """A shop that is paid by transfer, too."""
    (shop.folder / "layouts").mkdir()
    (shop.folder / "layouts" / "transfers.toml").write_text(LAYOUT, "utf-8")
    return shop


def transfers(shop: Shop, *rows: str, name: str = "transfers.csv") -> Path:
    """Write a file of transfers."""
    return shop.file(name, "Date,Type,Order,Gross,Currency,Id", *rows)


def on_account(shop: Shop) -> dict[str, Decimal]:
    """Return what is owed, held ahead, or waits."""
    balances = shop.balances()
    return {name: balances[name] for name in ON_ACCOUNT if name in balances}


def test_deposit_is_owed_to_the_buyer_until_delivery(studio: Shop) -> None:
    report = studio.run(transfers(studio, DEPOSIT))

    assert on_account(studio) == {"Liabilities:Deposits": D("-40.00")}
    assert report.notes == ()
    (transaction,) = studio.transactions()
    assert transaction.links == {"order-C7"}


def test_delivery_takes_the_deposit_and_the_rest_is_receivable(studio: Shop) -> None:
    studio.run(transfers(studio, DEPOSIT))
    studio.run(studio.orders(DELIVERED))

    assert on_account(studio) == {"Assets:Receivable:Web": D("40.00")}
    delivery = studio.transactions()[-1]
    assert delivery.date.isoformat() == "2025-03-15"
    assert [(p.account, str(p.units.number)) for p in delivery.postings] == [
        ("Assets:Receivable:Web", "40.00"),
        ("Liabilities:Deposits", "40.00"),
        ("Income:Sales:Web", "-80.00"),
    ]

    studio.run(transfers(studio, REST, name="rest.csv"))
    assert studio.balances() == SETTLED


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_deposit_rest_and_delivery_in_any_order_of_imports(
    studio: Shop, order: tuple[int, ...]
) -> None:
    files = [
        transfers(studio, DEPOSIT, name="january.csv"),
        transfers(studio, REST, name="march.csv"),
        studio.orders(DELIVERED),
    ]
    for each in order:
        report = studio.run(files[each])

    assert studio.balances() == SETTLED
    assert report.notes == ()


def test_all_at_once_keeps_each_on_its_day(studio: Shop) -> None:
    studio.run(transfers(studio, DEPOSIT, REST), studio.orders(DELIVERED))

    assert studio.balances() == SETTLED
    deposit, *_ = studio.transactions()
    assert deposit.date.isoformat() == "2025-01-10"
    assert [p.account for p in deposit.postings] == [
        "Assets:Clearing:Transfers",
        "Liabilities:Deposits",
    ]


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
def test_deposit_of_more_than_the_price_is_noted(
    studio: Shop, order: tuple[int | None, ...]
) -> None:
    more = DEPOSIT.replace("40.00", "90.00")
    files = [transfers(studio, more), studio.orders(DELIVERED)]
    for each in order:
        report = studio.run(*(files if each is None else [files[each]]))

    assert on_account(studio) == {"Income:Suspense:Web": D("-10.00")}
    assert report.notes == (
        "Web order C7: paid 90.00, owed 80.00 USD; the difference of 10.00 is in "
        "Income:Suspense:Web",
    )


def test_deposit_in_another_currency_is_not_taken(studio: Shop) -> None:
    studio.run(transfers(studio, DEPOSIT.replace("USD", "EUR")), studio.orders(DELIVERED))

    amounts = {
        (posting.account, posting.units.to_string())
        for transaction in studio.transactions()
        for posting in transaction.postings
    }
    assert ("Liabilities:Deposits", "-40.00 EUR") in amounts
    assert ("Assets:Receivable:Web", "80.00 USD") in amounts


def test_deposit_that_the_user_booked_by_hand_is_taken_too(studio: Shop) -> None:
    by_hand = (
        "2025-01-01 open Assets:Cash\n2025-01-01 open Liabilities:Deposits\n"
        '2025-01-10 * "Deposit in cash" ^order-C7\n'
        "  Assets:Cash            40.00 USD\n  Liabilities:Deposits  -40.00 USD\n"
    )
    studio.ledger.write_text(studio.ledger.read_text("utf-8") + by_hand, "utf-8")
    studio.run(studio.orders(DELIVERED))

    assert on_account(studio) == {"Assets:Receivable:Web": D("40.00")}


# Files are drawn between the imports, which the check takes for slow drawing.
@settings(suppress_health_check=[HealthCheck.too_slow])
@given(
    deposits=st.lists(st.sampled_from(["20.00", "40.00", "55.00"]), max_size=2),
    payments=st.lists(st.sampled_from(["20.00", "40.00", "80.00"]), max_size=2),
    price=st.sampled_from(["40.00", "80.00", "-20.00"]),
    data=st.data(),
)
def test_any_order_of_imports_comes_to_the_same_balances(
    deposits: list[str], payments: list[str], price: str, data: st.DataObject
) -> None:
    rows = [f"2025-01-1{n},Deposit,C7,{each},USD,d{n}" for n, each in enumerate(deposits)]
    rows += [f"2025-03-1{n},Payment,C7,{each},USD,p{n}" for n, each in enumerate(payments)]
    pieces = "-1" if price.startswith("-") else "1"
    lines = f"C7,2025-03-15,Heron,{pieces},{price.lstrip('-')},0,0,0,USD"
    with tempfile.TemporaryDirectory() as folder:
        balances = []
        for name in ("at-once", "piecemeal"):
            shop = new_shop(Path(folder) / name)
            (shop.folder / "layouts").mkdir()
            (shop.folder / "layouts" / "transfers.toml").write_text(LAYOUT, "utf-8")
            files = [transfers(shop, row, name=f"{n}.csv") for n, row in enumerate(rows)]
            files.append(shop.orders(lines))
            if name == "at-once":
                shop.run(*files)
            else:
                for file in data.draw(st.permutations(files)):
                    shop.run(file)
            balances.append(shop.balances())
        assert balances[0] == balances[1]

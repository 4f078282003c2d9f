"""A commission: a deposit is a liability until the work is delivered, and then paid for."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from itertools import permutations
from pathlib import Path
from typing import NamedTuple

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
tax = "Tax"
currency = "Currency"
id = "Id"
[types]
sale = ["Payment"]
refund = ["Back"]
deposit = ["Deposit"]
"""
DEPOSIT = "2025-01-10,Deposit,C7,40.00,,USD,t1"
REST = "2025-03-20,Payment,C7,40.00,,USD,t2"
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
    return shop.file(name, "Date,Type,Order,Gross,Tax,Currency,Id", *rows)


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


# --- refunds -----------------------------------------------------------------------

BACK = "2025-02-01,Back,C7,-15.00,,USD,r1"
INCOME = ("Income:Refunds:Web", "Income:Sales:Web", "Liabilities:SalesTax")


def in_calls(shop: Shop, files: Sequence[Path], order: Sequence[int | None]) -> None:
    """Import files one by one in an order, or all at once."""
    for each in order:
        shop.run(*(files if each is None else [files[each]]))


@pytest.mark.parametrize("order", [(0, 1), (1, 0), (None,)])
@pytest.mark.parametrize(("back", "held"), [("15.00", "-25.00"), ("40.00", None)])
def test_deposit_that_is_paid_back_is_a_liability_no_more(
    studio: Shop, order: tuple[int | None, ...], back: str, held: str | None
) -> None:
    files = [
        transfers(studio, DEPOSIT, name="january.csv"),
        transfers(studio, BACK.replace("15.00", back), name="february.csv"),
    ]
    in_calls(studio, files, order)

    assert on_account(studio) == ({"Liabilities:Deposits": D(held)} if held else {})
    assert not studio.balances().keys() & set(INCOME)


@pytest.mark.parametrize("order", [*permutations(range(3)), (None,)])
def test_delivery_is_owed_less_what_was_kept_of_the_deposit(
    studio: Shop, order: tuple[int | None, ...]
) -> None:
    files = [
        transfers(studio, DEPOSIT, name="january.csv"),
        transfers(studio, BACK, name="february.csv"),
        studio.orders(DELIVERED),
    ]
    in_calls(studio, files, order)

    assert on_account(studio) == {"Assets:Receivable:Web": D("55.00")}
    assert studio.balances()["Income:Sales:Web"] == D("-80.00")
    assert "Income:Refunds:Web" not in studio.balances()

    rest = REST.replace("40.00", "55.00")
    report = studio.run(transfers(studio, rest, name="march.csv"))
    assert studio.balances() == SETTLED
    assert report.notes == ()


@pytest.mark.parametrize("order", [*permutations(range(4)), (None,)])
def test_refund_of_what_is_paid_in_full_is_one_of_the_sale(
    studio: Shop, order: tuple[int | None, ...]
) -> None:
    files = [
        transfers(studio, DEPOSIT, name="january.csv"),
        transfers(studio, REST, name="march.csv"),
        transfers(studio, BACK.replace("2025-02-01", "2025-04-01"), name="april.csv"),
        studio.orders(DELIVERED),
    ]
    in_calls(studio, files, order)

    assert on_account(studio) == {}
    assert studio.balances()["Income:Refunds:Web"] == D("15.00")


class Commission(NamedTuple):
    """A commission: what was paid, refunded and delivered of it.

    Attributes:
      deposits: What was paid ahead.
      payments: What else was paid.
      refunds: What was refunded, each with the tax that its row says, 0 for none.
      price: What was delivered; negative where it was cancelled.
      tax: The sales tax on it.
      is_delivered: Whether the file with its lines is imported.
    """

    deposits: list[Decimal]
    payments: list[Decimal]
    refunds: list[tuple[Decimal, Decimal]]
    price: Decimal
    tax: Decimal
    is_delivered: bool

    def rows(self) -> list[str]:
        """Return the rows of a file of transfers."""
        rows = [
            *(f"2025-01-1{n},Deposit,C7,{each},," for n, each in enumerate(self.deposits)),
            *(f"2025-03-1{n},Payment,C7,{each},," for n, each in enumerate(self.payments)),
        ]
        for number, (amount, tax) in enumerate(self.refunds):
            rows.append(f"2025-02-1{number},Back,C7,-{amount},{-tax if tax else ''},")
        return [f"{row}USD,t{number}" for number, row in enumerate(rows)]

    def lines(self) -> str:
        """Return its row of a file of orders."""
        pieces = 1 if self.price > 0 else -1
        return f"C7,2025-03-15,Heron,{pieces},{abs(self.price)},0,0,{self.tax},USD"

    def balances(self) -> dict[str, Decimal]:
        """Work the balances out by hand."""
        ahead, paid = sum(self.deposits, D(0)), sum(self.payments, D(0))
        refunded = sum((amount for amount, _ in self.refunds), D(0))
        said = sum((amount for amount, tax in self.refunds if tax), D(0))
        said_tax = sum((tax for _, tax in self.refunds), D(0))
        found = {"Assets:Clearing:Transfers": ahead + paid - refunded}
        total = self.price + self.tax
        if self.is_delivered and self.price < 0:  # the lines are the refund
            rest = total - ahead - paid + refunded
            if total < 0:
                found["Assets:Receivable:Web"] = min(rest, D(0))
                found["Income:Suspense:Web"] = max(rest, D(0))
            else:
                found["Assets:Receivable:Web"] = max(rest, D(0))
                found["Income:Suspense:Web"] = min(rest, D(0))
            found["Income:Refunds:Web"] = -self.price
            found["Liabilities:SalesTax"] = -self.tax
            return {name: amount for name, amount in found.items() if amount}
        too_much = ahead + paid - total
        not_of_sale = min(refunded, ahead)
        if self.is_delivered and too_much >= 0:
            not_of_sale = min(refunded, too_much)
        of_sale = refunded - not_of_sale
        unsaid = max(refunded - said - not_of_sale, D(0))
        if said and (of_said := of_sale - unsaid) != said:
            said_tax = _cents(said_tax * of_said / said)
        tax_back = said_tax
        if self.is_delivered:
            tax_back = min(said_tax, self.tax)
            if unsaid:
                share = _cents(self.tax * unsaid / total)
                tax_back = min(self.tax, tax_back + share)
                if of_sale >= total:
                    tax_back = self.tax
            found["Income:Sales:Web"] = -self.price
            rest = not_of_sale - too_much
            found["Assets:Receivable:Web"] = max(rest, D(0))
            found["Income:Suspense:Web"] = min(rest, D(0))
        else:
            found["Liabilities:Deposits"] = not_of_sale - ahead
            found["Income:Suspense:Web"] = -paid
        found["Income:Refunds:Web"] = of_sale - tax_back
        found["Liabilities:SalesTax"] = tax_back - self.tax * self.is_delivered
        return {name: amount for name, amount in found.items() if amount}


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(D("0.01"), ROUND_HALF_UP)


def some(*amounts: str) -> st.SearchStrategy[list[Decimal]]:
    """Draw none to two of some amounts."""
    return st.lists(st.sampled_from([D(each) for each in amounts]), max_size=2)


COMMISSIONS = st.builds(
    Commission,
    deposits=some("20.00", "40.00", "55.00"),
    payments=some("20.00", "40.00", "44.37", "80.00"),
    refunds=st.lists(
        st.tuples(
            st.sampled_from([D("7.01"), D("20.00"), D("40.00"), D("84.37")]),
            st.sampled_from([D(0), D(0), D("0.37"), D("5.00")]),
        ),
        max_size=2,
    ),
    price=st.sampled_from([D("40.00"), D("80.00"), D("-20.00")]),
    tax=st.sampled_from([D(0), D("4.37")]),
    is_delivered=st.booleans(),
)


# Files are drawn between the imports, which the check takes for slow drawing.
@settings(suppress_health_check=[HealthCheck.too_slow])
@given(commission=COMMISSIONS, data=st.data())
def test_any_order_of_imports_comes_to_the_balances_worked_out_by_hand(
    commission: Commission, data: st.DataObject
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        shop = new_shop(Path(folder))
        (shop.folder / "layouts").mkdir()
        (shop.folder / "layouts" / "transfers.toml").write_text(LAYOUT, "utf-8")
        rows = commission.rows()
        files = [transfers(shop, row, name=f"{n}.csv") for n, row in enumerate(rows)]
        if commission.is_delivered:
            files.append(shop.orders(commission.lines()))
        files = data.draw(st.permutations(files))
        left = list(files)
        while left:
            now = left[: data.draw(st.integers(1, len(left)))]
            shop.run(*now)
            left = left[len(now) :]
        before = shop.contents()
        if files:
            shop.run(*files)

        assert shop.contents() == before
        assert shop.balances() == commission.balances()

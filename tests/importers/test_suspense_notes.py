"""Tests of what the report says of money that went to suspense."""

from __future__ import annotations

from decimal import Decimal

from tests.importers.movements import import_rows
from tests.importers.shop import Shop

SUSPENSE = "Income:Suspense:Web"


def test_each_reason_has_a_note_with_count_and_sum(shop: Shop) -> None:
    report = import_rows(
        shop,
        "2025-03-04,sale,,a,11,1,,,10,USD,,s1",
        "2025-03-05,sale,,b,5,0,,,5,USD,,s2",
        "2025-03-05,sale,,c,7,0,,,7,EUR,,s3",
        "2025-03-06,adjustment,,d,-3,0,,,-3,USD,,s4",
        "2025-03-07,exchange,,e,-100,0,,,-100,USD,r1,s5",
    )

    assert [note.partition(";")[0] for note in report.notes] == [
        f"2 payments have no order number: 16.00 USD is in {SUSPENSE}",
        f"1 payment has no order number: 7.00 EUR is in {SUSPENSE}",
        f"1 adjustment is booked to no account: -3.00 USD is in {SUSPENSE}",
        f"1 conversion has only one side: -100.00 USD is in {SUSPENSE}",
    ]


def test_the_sums_are_what_the_account_has(shop: Shop) -> None:
    import_rows(
        shop,
        "2025-03-04,sale,,a,11,1,2,0.50,9.50,USD,,s1",
        "2025-03-06,adjustment,,d,-3,0,,,-3,USD,,s4",
    )

    assert -shop.balances()[SUSPENSE] == Decimal("5.50")


def test_what_is_booked_elsewhere_has_no_note(shop: Shop) -> None:
    report = import_rows(
        shop,
        "2025-03-04,refund,,a,-11,0,,,-11,USD,,s1",
        "2025-03-07,exchange,,e,-100,0,,,-100,USD,r1,s5",
        "2025-03-07,exchange,,e,90,0,,,90,EUR,r1,s6",
        "2025-03-08,payout,,f,-5,0,,,-5,USD,,s7",
        "2025-03-08,fee,,g,-5,0,,,-5,USD,,s8",
    )

    assert report.notes == ()


def test_reimport_says_it_once(shop: Shop) -> None:
    row = "2025-03-06,adjustment,,d,-3,0,,,-3,USD,,s4"
    import_rows(shop, row)

    assert import_rows(shop, row).notes == ()


def test_payout_with_an_order_number_keeps_its_own_link(shop: Shop) -> None:
    import_rows(shop, "2025-03-08,payout,W1,f,-5,0,,,-5,USD,,s7")

    (transaction,) = shop.transactions()
    assert transaction.links == {"payout-s7"}

"""Two rows of a currency conversion are one transaction."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

from tests.importers.movements import import_rows
from tests.importers.shop import Shop

OUT = "2025-03-04,exchange,,To dollars,-100.00,0,,,-100.00,EUR,c1,x1"
INTO = "2025-03-04,exchange,,From euros,108.00,0,,,108.00,USD,c1,x2"


def balances(shop: Shop) -> dict[tuple[str, str], Decimal]:
    """Return the balance of every account and currency that is not zero."""
    sums: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for transaction in shop.transactions():
        for posting in transaction.postings:
            sums[posting.account, posting.units.currency] += posting.units.number
    return {key: number for key, number in sums.items() if number}


def test_two_sides_make_one_transaction(shop: Shop) -> None:
    import_rows(shop, INTO, OUT)

    assert shop.text("wallet-2025-03.beancount") == (
        """\
; wallet 2025-03: `offcut import` adds here

2025-03-04 * "To dollars"
  channel: "Web"
  movement: "conversion"
  source-id: "wallet/x1"
  reference: "c1"
  Assets:Clearing:Wallet                            -100.00 EUR @@ 108.00 USD
  Assets:Clearing:Wallet                             108.00 USD
    source-id: "wallet/x2"
"""
    )
    (transaction,) = shop.transactions()
    assert [posting.units.to_string() for posting in transaction.postings] == [
        "-100.00 EUR",
        "108.00 USD",
    ]


def test_again_changes_no_byte(shop: Shop) -> None:
    import_rows(shop, OUT, INTO)
    before = shop.contents()

    report = import_rows(shop, OUT, INTO)

    assert shop.contents() == before
    assert report.files[0].already_there == 2


def test_rate_that_does_not_divide_balances_exactly(shop: Shop) -> None:
    import_rows(
        shop,
        "2025-03-04,exchange,,a,-70.01,0,,,-70.01,EUR,c1,x1",
        "2025-03-04,exchange,,b,11111,0,,,11111,JPY,c1,x2",
    )

    assert balances(shop) == {
        ("Assets:Clearing:Wallet", "EUR"): Decimal("-70.01"),
        ("Assets:Clearing:Wallet", "JPY"): Decimal(11111),
    }


def test_fees_of_both_sides(shop: Shop) -> None:
    import_rows(
        shop,
        OUT.replace("-100.00,0,,,-100.00", "-100.00,1.00,,,-101.00"),
        INTO.replace("108.00,0,,,108.00", "108.00,2.00,,,106.00"),
    )

    assert balances(shop) == {
        ("Assets:Clearing:Wallet", "EUR"): Decimal(-101),
        ("Expenses:Fees:Wallet", "EUR"): Decimal(1),
        ("Assets:Clearing:Wallet", "USD"): Decimal(106),
        ("Expenses:Fees:Wallet", "USD"): Decimal(2),
    }


def test_without_reference_rows_of_a_day_and_text_pair_off_side_by_side(shop: Shop) -> None:
    row = "2025-03-04,exchange,,Exchange,{0},0,,,{0},{1},,{2}"
    import_rows(
        shop,
        row.format("-100", "EUR", "x1"),
        row.format("108", "USD", "x2"),
        row.format("50", "USD", "x3"),
        row.format("-40", "GBP", "x4"),
    )

    assert len(shop.transactions()) == 2
    assert balances(shop) == {
        ("Assets:Clearing:Wallet", "EUR"): Decimal(-100),
        ("Assets:Clearing:Wallet", "USD"): Decimal(158),
        ("Assets:Clearing:Wallet", "GBP"): Decimal(-40),
    }


def test_what_does_not_pair_off_is_not_guessed(shop: Shop) -> None:
    row = "2025-03-04,exchange,,Exchange,{0},0,,,{0},{1},,{2}"
    import_rows(
        shop,
        row.format("-100", "EUR", "x1"),
        row.format("-40", "GBP", "x2"),
        row.format("50", "USD", "x3"),
        row.format("108", "USD", "x4"),
    )

    found = balances(shop)
    assert found["Income:Suspense:Web", "EUR"] == Decimal(100)
    assert found["Income:Suspense:Web", "USD"] == Decimal(-158)
    assert found["Income:Suspense:Web", "GBP"] == Decimal(40)


def test_one_side_alone_is_noted_in_suspense(shop: Shop) -> None:
    import_rows(shop, OUT)

    (transaction,) = shop.transactions()
    suspense = transaction.postings[1]
    assert suspense.account == "Income:Suspense:Web"
    assert suspense.meta["note"] == "conversion without its other side"


def test_two_rows_of_one_currency_are_no_conversion(shop: Shop) -> None:
    import_rows(shop, OUT, INTO.replace("USD", "EUR"))

    assert balances(shop)["Income:Suspense:Web", "EUR"] == Decimal(-8)

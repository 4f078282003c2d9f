"""Two rows of a currency conversion are one transaction."""

from __future__ import annotations

import tempfile
from collections import defaultdict
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.importers.movements import import_rows
from tests.importers.shop import Shop, new_shop

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


# --- the other side comes later -----------------------------------------------------

BOTH = {
    ("Assets:Clearing:Wallet", "EUR"): Decimal(-100),
    ("Assets:Clearing:Wallet", "USD"): Decimal(108),
}
SUSPENSE = "Income:Suspense:Web"


@pytest.mark.parametrize("rows", [(OUT, INTO), (INTO, OUT)])
def test_later_side_takes_the_first_out_of_suspense(
    shop: Shop, rows: tuple[str, str]
) -> None:
    first, second = rows
    import_rows(shop, first, name="march.csv")
    report = import_rows(shop, second, name="more.csv")

    assert balances(shop) == BOTH
    assert report.notes == ()
    before = shop.text("wallet-2025-03.beancount")
    for row in rows:
        assert import_rows(shop, row).notes == ()
    assert shop.text("wallet-2025-03.beancount") == before


def test_it_is_priced_at_what_it_brings_and_names_the_other_one(shop: Shop) -> None:
    import_rows(shop, OUT, name="march.csv")
    import_rows(shop, INTO, name="more.csv")

    _, later = shop.text("wallet-2025-03.beancount").split('2025-03-04 * "From euros"')
    assert later == (
        """
  channel: "Web"
  movement: "conversion"
  source-id: "wallet/x2"
  reference: "c1"
  Assets:Clearing:Wallet                             108.00 USD
  Income:Suspense:Web                               -100.00 EUR @@ 108.00 USD
    other-side: "wallet/x1"
"""
    )


def test_fees_of_both_sides_stay_theirs(shop: Shop) -> None:
    fee = OUT.replace("-100.00,0,,,-100.00", "-100.00,1.00,,,-101.00")
    import_rows(shop, fee, name="march.csv")
    import_rows(shop, INTO.replace("108.00,0,,,108.00", "108.00,2.00,,,106.00"))

    assert balances(shop) == {
        ("Assets:Clearing:Wallet", "EUR"): Decimal(-101),
        ("Expenses:Fees:Wallet", "EUR"): Decimal(1),
        ("Assets:Clearing:Wallet", "USD"): Decimal(106),
        ("Expenses:Fees:Wallet", "USD"): Decimal(2),
    }


def test_without_reference_day_and_text_tell_it(shop: Shop) -> None:
    row = "2025-03-{2},exchange,,{3},{0},0,,,{0},{1},,{4}"
    import_rows(shop, row.format("-100", "EUR", "04", "", "x1"), name="1.csv")
    import_rows(shop, row.format("108", "USD", "05", "", "x2"), name="2.csv")
    import_rows(shop, row.format("107", "USD", "04", "To dollars", "x3"), name="3.csv")
    assert balances(shop)[SUSPENSE, "EUR"] == Decimal(100)

    import_rows(shop, row.format("106", "USD", "04", "", "x4"), name="4.csv")

    found = balances(shop)
    assert (SUSPENSE, "EUR") not in found
    assert found[SUSPENSE, "USD"] == Decimal(-215)


@pytest.mark.parametrize(
    "other",
    [
        OUT.replace("x1", "x9").replace("-100.00", "-90.00"),  # it goes out, too
        INTO.replace("USD", "EUR"),  # the same currency
        INTO.replace("c1", "c2"),  # another reference
        INTO.replace("c1", ""),  # none
    ],
)
def test_what_is_not_the_other_side_waits_too(shop: Shop, other: str) -> None:
    import_rows(shop, OUT, name="march.csv")
    report = import_rows(shop, other, name="more.csv")

    assert "1 conversion has only one side" in report.notes[0]
    assert len(shop.transactions()) == 2
    assert not [p for t in shop.transactions() for p in t.postings if p.price]


def test_of_two_that_may_be_it_none_is_guessed(shop: Shop) -> None:
    import_rows(shop, OUT, OUT.replace("x1", "x3"), name="march.csv")
    import_rows(shop, INTO, name="more.csv")

    assert balances(shop)[SUSPENSE, "EUR"] == Decimal(200)
    assert balances(shop)[SUSPENSE, "USD"] == Decimal(-108)


def test_side_that_the_user_has_booked_elsewhere_waits_no_more(shop: Shop) -> None:
    import_rows(shop, OUT, name="march.csv")
    path = shop.folder / "imports" / "wallet-2025-03.beancount"
    by_hand = path.read_text("utf-8").replace(SUSPENSE, "Assets:Bank:Euro")
    opened = "2025-01-01 open Assets:Bank:Euro\n"
    path.write_text(
        by_hand.replace('    note: "conversion without its other side"\n', "") + opened
    )

    import_rows(shop, INTO, name="more.csv")

    assert balances(shop)["Assets:Bank:Euro", "EUR"] == Decimal(100)
    assert balances(shop)[SUSPENSE, "USD"] == Decimal(-108)


# --- with a row for what it cost ------------------------------------------------------

COST = "2025-03-04,exchange,,Cost,-0.50,0,,,-0.50,USD,c1,x3"
COST_OUT = "2025-03-04,exchange,,Cost,-1.00,0,,,-1.00,EUR,c1,x3"
WITH_COST = {
    ("Assets:Clearing:Wallet", "EUR"): Decimal(-100),
    ("Assets:Clearing:Wallet", "USD"): Decimal("107.50"),
    ("Expenses:Fees:Wallet", "USD"): Decimal("0.50"),
}


@pytest.mark.parametrize("rows", list(permutations([OUT, INTO, COST])))
def test_three_rows_are_two_sides_and_the_fee(shop: Shop, rows: tuple[str, ...]) -> None:
    report = import_rows(shop, *rows)

    assert report.notes == ()
    assert balances(shop) == WITH_COST
    before = shop.contents()
    assert import_rows(shop, *rows).files[0].already_there == 3
    assert shop.contents() == before


@pytest.mark.parametrize("rows", list(permutations([OUT, INTO, COST])))
@pytest.mark.parametrize("first", [1, 2])
def test_three_rows_of_several_imports(
    shop: Shop, rows: tuple[str, ...], first: int
) -> None:
    import_rows(shop, *rows[:first], name="1.csv")
    import_rows(shop, *rows[first:2], name="2.csv")
    report = import_rows(shop, *rows[2:], name="3.csv")

    assert report.notes == ()
    assert balances(shop) == WITH_COST
    before = ledger_files(shop)
    import_rows(shop, *rows, name="all.csv")
    assert ledger_files(shop) == before


@pytest.mark.parametrize("files", [([OUT, COST_OUT], [INTO]), ([INTO], [COST_OUT, OUT])])
def test_fee_in_the_currency_that_went_out(
    shop: Shop, files: tuple[list[str], list[str]]
) -> None:
    """As where each currency has a file."""
    for rows in files:
        report = import_rows(shop, *rows)

    assert report.notes == ()
    assert balances(shop) == {
        ("Assets:Clearing:Wallet", "EUR"): Decimal(-101),
        ("Assets:Clearing:Wallet", "USD"): Decimal(108),
        ("Expenses:Fees:Wallet", "EUR"): Decimal(1),
    }


def test_threes_without_reference_stand_side_by_side(shop: Shop) -> None:
    row = "2025-03-04,exchange,,Exchange,{0},0,,,{0},{1},,{2}"
    import_rows(
        shop,
        *(row.format("-100", "EUR", "x1"), row.format("108", "USD", "x2")),
        *(row.format("-2", "USD", "x3"), row.format("-40", "GBP", "x4")),
        *(row.format("50", "USD", "x5"), row.format("-1", "GBP", "x6")),
    )

    assert len(shop.transactions()) == 4
    assert balances(shop) == {
        ("Assets:Clearing:Wallet", "EUR"): Decimal(-100),
        ("Assets:Clearing:Wallet", "USD"): Decimal(156),
        ("Assets:Clearing:Wallet", "GBP"): Decimal(-41),
        ("Expenses:Fees:Wallet", "USD"): Decimal(2),
        ("Expenses:Fees:Wallet", "GBP"): Decimal(1),
    }


@pytest.mark.parametrize(
    "cost",
    [
        COST.replace("-0.50", "-10.81"),  # more than a tenth
        COST.replace("USD", "GBP"),  # of a third currency
        COST.replace("-0.50", "0.50"),  # it comes in
        COST_OUT.replace("-1.00", "-100.00"),  # either may be it
    ],
)
def test_third_row_that_may_be_no_fee_is_not_guessed(shop: Shop, cost: str) -> None:
    report = import_rows(shop, OUT, INTO, cost)

    assert any("only one side" in note for note in report.notes)
    assert not [p for t in shop.transactions() for p in t.postings if p.price]
    assert not any("Fees" in account for account, _ in balances(shop))


def ledger_files(shop: Shop) -> dict[str, bytes]:
    """Return the bytes of the ledger's files, by path."""
    return {k: v for k, v in shop.contents().items() if k.endswith(".beancount")}


@given(
    amounts=st.lists(
        st.tuples(st.integers(1, 9999), st.integers(1, 9999), st.integers(0, 999)),
        max_size=3,
    ),
    lone=st.booleans(),
    data=st.data(),
)
def test_any_order_of_imports_comes_to_the_same_balances(
    amounts: list[tuple[int, int, int]], lone: bool, data: st.DataObject
) -> None:
    row = "2025-03-{0:02},exchange,,t,{1},0,,,{1},{2},r{3},x{4}"
    rows = []
    expected: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for number, (out, into, fee) in enumerate(amounts):
        sides = [(-1, out, "EUR"), (1, into, "USD")]
        if 0 < fee <= into // 10:
            sides.append((-1, fee, "USD"))
            expected["Expenses:Fees:Wallet", "USD"] += Decimal(fee) / 100
        for sign, whole, currency in sides:
            amount = sign * Decimal(whole) / 100
            rows.append(row.format(1 + len(rows), amount, currency, number, len(rows)))
            expected["Assets:Clearing:Wallet", currency] += amount
    if lone:
        rows.append(row.format(19, "-7.00", "EUR", "9", len(rows)))
        expected["Assets:Clearing:Wallet", "EUR"] -= 7
        expected[SUSPENSE, "EUR"] += 7
    rows = data.draw(st.permutations(rows))
    with tempfile.TemporaryDirectory() as folder:
        shop, done = new_shop(Path(folder)), 0
        while done < len(rows):
            count = data.draw(st.integers(1, len(rows) - done))
            import_rows(shop, *rows[done : done + count])
            done += count
        before = ledger_files(shop)
        import_rows(shop, *rows)

        assert ledger_files(shop) == before
        assert balances(shop) == {key: each for key, each in expected.items() if each}

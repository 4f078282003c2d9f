"""What a ledger has of one order is read from its transactions' text."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from offcut.importers.known import Known, scan_ledger
from offcut.importers.layout import shipped_layouts
from offcut.importers.open_amounts import OpenAmount
from offcut.importers.order_states import OrderState, order_states, order_transactions
from offcut.importers.refund_shares import OrderTotals

ACCOUNTS = shipped_layouts()["card-payments"].accounts
ORDER = """
2025-03-03 * "Web order W1" ^order-W1
  channel: "Web"
  lines-id: "shop-orders/W1"
  Assets:Receivable:Web       1,010.50 USD ; by the lines
  Income:Sales:Web           -1,018.50 USD
    item: "HERON-STK"
    quantity: 2
  Income:Refunds:Web              8.00 USD
    item: "HERON-STK"
    quantity: 1
"""


def known(folder: Path, text: str) -> Known:
    """Return what a ledger of this text has."""
    path = folder / "main.beancount"
    path.write_text(text, "utf-8")
    return scan_ledger(path)


def state(folder: Path, text: str, channel: str = "Web") -> OrderState | None:
    """Return what a ledger of this text has of the order W1."""
    texts = order_transactions(known(folder, text), {"W1"})
    return order_states(texts, channel, ACCOUNTS).get("W1")


def test_order_that_is_owed(tmp_path: Path) -> None:
    found = state(tmp_path, ORDER)

    owed = Decimal("1010.50")
    totals = OrderTotals(lines=owed, returns=True)  # they say what came back
    assert found == OrderState(
        open={"USD": OpenAmount(receivable=owed, orders={"W1": totals})}, lines=True
    )


def test_payment_and_refund_without_lines(tmp_path: Path) -> None:
    payments = """
2025-03-04 * "Web order W1" ^order-W1
  channel: "Web"
  source-id: "card/ch_1"
  Assets:Clearing:Card            10.00 USD
  Income:Suspense:Web            -10.00 USD
2025-03-05 * "Refund" ^order-W1
  channel: "Web"
  movement: "refund"
  source-id: "card/re_1"
  Assets:Clearing:Card            -4.00 USD
  Income:Refunds:Web               4.00 USD
"""
    assert state(tmp_path, payments) == OrderState(
        open={
            "USD": OpenAmount(
                suspense=Decimal("-10.00"),
                refunds=Decimal("4.00"),
                orders={"W1": OrderTotals(refunds=Decimal("4.00"))},
            )
        },
        lines=False,
    )


def test_what_the_user_wrote_counts_too(tmp_path: Path) -> None:
    by_hand = """
2025-03-04 * "W1 by cheque" #cheque ^order-W1 ^order-W10
  Assets:Bank                 1,000.50 USD
  Assets:Receivable:Web      -1,000.50 USD
"""
    found = state(tmp_path, ORDER + by_hand)

    assert found is not None
    assert found.open["USD"].receivable == Decimal("10.00")


def test_another_channels_order_of_the_same_number_is_not_ours(tmp_path: Path) -> None:
    assert state(tmp_path, ORDER, "Market") is None


def test_link_in_a_comment_or_within_a_longer_number_is_none(tmp_path: Path) -> None:
    assert state(tmp_path, "; see ^order-W1\n" + ORDER.replace("W1", "W10")) is None


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_what_lines_and_a_payment_of_one_transaction_leave_open(
    tmp_path: Path, line_end: str
) -> None:
    text = """
2025-03-04 * "Web order" ^order-W1
  channel: "Web"
  lines-id: "shop-orders/W1"
  source-id: "card/ch_1"
  Assets:Clearing:Card            10.39 USD
  Expenses:Fees:Card               0.61 USD
  Assets:Clearing:RemittedTax:Web  0.40 USD
  Liabilities:Deposits             3.00 USD
  Liabilities:SalesTax            -0.50 USD
  Assets:Clearing:RemittedTax:Web -0.30 USD
    note: "sales tax that the marketplace pays over"
  Assets:Clearing:RemittedTax:Web -0.10 USD
    note: "sales tax that the order's lines do not say"
  Income:Shipping:Web             -2.50 USD
  Income:Sales:Web                -8.00 USD ; moved here by hand
    item-text: "Mystery"
  Income:Suspense:Web             -2.00 USD
    item-text: "Something"
    quantity: 1
  Income:Discounts:Web             1.00 USD
  Income:Refunds:Web              -2.00 USD
    note: "booked before, without its items"
  Income:Suspense:Web             -1.00 USD
    note: "payment and order lines differ"
"""
    found = state(tmp_path, text.replace("\n", line_end))

    assert found is not None
    assert found.open == {
        "USD": OpenAmount(
            suspense=Decimal("-1.00"),
            deposits=Decimal("3.00"),
            remitted=Decimal("0.40"),
            plug=Decimal("-0.10"),
            refunds=Decimal("-2.00"),
            orders={
                "W1": OrderTotals(
                    lines=Decimal("12.30"), tax=Decimal("0.50"), charged=Decimal("0.30")
                )
            },
        )
    }
    assert found.lines


def test_edit_that_makes_an_order_less_is_a_return(tmp_path: Path) -> None:
    edit = """
2025-03-03 * "Web order W1, edited" ^order-W1
  channel: "Web"
  lines-id: "shop-orders/W1#2"
  Assets:Receivable:Web           -2.50 USD
  Income:Shipping:Web              2.50 USD
"""
    sale = ORDER[: ORDER.index("  Income:Refunds")]

    less, more = state(tmp_path, sale + edit), state(tmp_path, sale)

    assert less is not None and more is not None
    assert [each.open["USD"].orders["W1"].returns for each in (less, more)] == [True, False]


SHARED = """
2025-03-09 * "Transfer" ^order-W1 ^order-W2
  channel: "Web"
  source-id: "card/ch_9"
  Assets:Clearing:Card            15.00 USD
  Assets:Receivable:Web          -10.00 USD
  Income:Suspense:Web             -5.00 USD
"""


def test_orders_that_were_paid_together_have_one_account(tmp_path: Path) -> None:
    sale = ORDER[: ORDER.index("  Income:Refunds")].replace("1,010.50", "1,018.50")
    texts = order_transactions(known(tmp_path, sale + SHARED), {"W2"})

    found = order_states(texts, "Web", ACCOUNTS)

    assert found.keys() == {"W1", "W2"}
    assert found["W1"].open is found["W2"].open
    assert found["W2"].open["USD"].receivable == Decimal("1008.50")
    assert found["W2"].open["USD"].suspense == Decimal("-5.00")
    assert (found["W1"].lines, found["W2"].lines) == (True, False)


def test_orders_that_a_user_links_by_hand_are_two(tmp_path: Path) -> None:
    by_hand = SHARED.replace('  source-id: "card/ch_9"\n', "")
    texts = order_transactions(known(tmp_path, by_hand), {"W2"})

    assert texts.keys() == {"W2"}


@pytest.mark.parametrize(
    "first_line",
    ['"see ^order-W1" ^order-W9', '"^order-W1" "x"', '"x" ^order-W9 ; not ^order-W1'],
)
def test_link_in_a_string_or_a_comment_is_none(tmp_path: Path, first_line: str) -> None:
    text = f'2025-03-09 * {first_line}\n  note: "^order-W1"\n  Assets:Bank  1 USD\n'

    assert state(tmp_path, text) is None


def test_link_on_its_own_line_and_twice_is_one(tmp_path: Path) -> None:
    text = ORDER.replace('W1" ^order-W1', '^order-W1"\n  ^order-W1 ^order-W1')

    assert state(tmp_path, text) == state(tmp_path, ORDER)


@pytest.mark.parametrize(
    ("postings", "receivable"),
    [
        ("  Assets:Bank  10.50 USD\n  Assets:Receivable:Web", "-10.50"),
        (
            "  Assets:Receivable:Web\n  Assets:Bank  7.25 USD\n  Expenses:Fees  3 USD",
            "-10.25",
        ),
        # It is filled in for each currency, and by what costs and prices weigh.
        ("  Assets:Bank  5 EUR\n  Assets:Cash  4 USD\n  Assets:Receivable:Web", "-4"),
        ("  Assets:Bank  5 EUR @ 1.10 USD\n  Assets:Receivable:Web", "-5.50"),
        ("  Assets:Bank  5 EUR @@ 5.45 USD\n  Assets:Receivable:Web", "-5.45"),
        ("  Assets:Gold  2 GOLD {4.00 USD}\n  Assets:Receivable:Web", "-8.00"),
        ("  Assets:Bank  (4 + 3.50) USD\n  Assets:Receivable:Web", "-7.50"),
        ("  Assets:Bank  9.00 USD\n  Assets:Receivable:Web  USD", "-9.00"),
        ("  Assets:Receivable:Web  -2.00 USD @ 0.90 EUR\n  Assets:Bank", "-2.00"),
    ],
)
def test_amount_left_blank_is_what_balances_the_transaction(
    tmp_path: Path, postings: str, receivable: str
) -> None:
    paid = f'2025-03-09 * "By cheque" ^order-W1\n{postings}\n'
    found = state(tmp_path, ORDER + paid)

    assert found is not None
    assert found.open["USD"].receivable == Decimal("1010.50") + Decimal(receivable)


def test_blank_amount_that_only_the_whole_ledger_says_is_not_counted(
    tmp_path: Path,
) -> None:
    sold = '2025-03-09 * "Sold" ^order-W1\n  Assets:Gold  -2 GOLD {}\n'
    sold += "  Assets:Receivable:Web\n"
    found = state(tmp_path, ORDER + sold)

    assert found is not None
    assert found.open["USD"].receivable == Decimal("1010.50")


REFUND = """
2025-03-05 * "Refund" ^order-W1
  channel: "Web"
  movement: "refund"
  source-id: "card/re_1"
  tax: "0.40"
  Assets:Clearing:Card            -4.00 USD
  Liabilities:Deposits             1.00 USD
  Income:Refunds:Web               2.70 USD
  Liabilities:SalesTax             0.30 USD
    note: "sales tax in the refund"
"""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (REFUND, "0.40"),
        (REFUND.replace('  tax: "0.40"\n', ""), "0"),
        # What the user has split off is said, too.
        (REFUND[: REFUND.index("    note")].replace('  tax: "0.40"\n', ""), "0.30"),
    ],
)
def test_refund_with_what_its_row_says_of_tax(tmp_path: Path, text: str, said: str) -> None:
    found = state(tmp_path, text)

    assert found is not None
    totals = OrderTotals()
    totals.refund(Decimal("4.00"), Decimal(said), Decimal(0))
    assert found.open["USD"] == OpenAmount(
        deposits=Decimal("1.00"),
        refunds=Decimal("2.70"),
        refund_tax=Decimal("0.30"),
        orders={"W1": totals},
    )
    assert found.open["USD"].given_back == Decimal("1.00")


def test_deposits_that_were_taken_are_known_to_have_been_paid_ahead(
    tmp_path: Path,
) -> None:
    deposit = """
2025-03-02 * "Deposit" ^order-W1
  channel: "Web"
  movement: "deposit"
  source-id: "card/d_1"
  Assets:Clearing:Card            40.00 USD
  Assets:Receivable:Web          -40.00 USD
2025-03-02 * "And in cash" ^order-W1
  Assets:Cash                      5.00 USD
  Liabilities:Deposits            -5.00 USD
"""
    found = state(tmp_path, ORDER + deposit)

    assert found is not None
    assert found.open["USD"].ahead == Decimal("45.00")

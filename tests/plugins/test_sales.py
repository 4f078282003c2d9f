"""What leaves with a sale or without one, and what comes back."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from beancount.core import data

from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints, costs, on_hand, total, units_on_hand

D = Decimal

HEAD = """\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
"""
LOTS = """\
2025-01-02 * "Bought"
  Assets:Stock:HERON  2 HERON {1.00 USD}
  Assets:Bank
2025-01-03 * "Bought"
  Assets:Stock:HERON  3 HERON {2.00 USD}
  Assets:Bank
"""
AVERAGE = '2025-01-01 open Assets:Stock:HERON HERON "AVERAGE"\n'


def sold(date: str, quantity: int, *links: str) -> str:
    """Return a sale of HERON."""
    return (
        f'{date} * "Sale" {" ".join(f"^{link}" for link in links)}\n'
        "  Assets:Bank         8.00 USD\n"
        "  Income:Sales:Web   -8.00 USD\n"
        f'    item: "HERON"\n    quantity: {quantity}\n'
    )


def returned(date: str, quantity: int, *links: str) -> str:
    """Return a refund of HERON that came back to the shelf."""
    return (
        f'{date} * "Refund" {" ".join(f"^{link}" for link in links)}\n'
        "  Assets:Bank          -8.00 USD\n"
        "  Income:Refunds:Web    8.00 USD\n"
        f'    item: "HERON"\n    quantity: {quantity}\n'
    )


def bought(date: str, quantity: int, cost: str) -> str:
    """Return a purchase of HERON."""
    lot = f"Assets:Stock:HERON  {quantity} HERON {{{cost} USD}}"
    return f'{date} * "Bought"\n  {lot}\n  Assets:Bank\n'


# --- returns -----------------------------------------------------------------------


def test_what_comes_back_goes_to_the_lot_that_it_left() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 2, "order-1")
        + bought("2025-02-02", 5, "9.00")
        + returned("2025-02-03", 2, "order-1")
    )
    assert complaints(loaded) == []
    assert costs(loaded) == {"Sale": D("2.00"), "Refund": D("-2.00")}
    assert on_hand(loaded, "HERON") == [
        (D(2), D("1.00")),
        (D(3), D("2.00")),
        (D(5), D("9.00")),
    ]


def test_of_several_lots_that_left_the_last_comes_back_first() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 4, "order-1")  # 2 at 1.00, 2 at 2.00
        + returned("2025-02-03", 3, "order-1")
    )
    assert costs(loaded)["Refund"] == -(D("2.00") * 2 + D("1.00"))
    assert on_hand(loaded, "HERON") == [(D(1), D("1.00")), (D(3), D("2.00"))]


def test_a_second_return_takes_what_the_first_left() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 4, "order-1")
        + returned("2025-02-03", 1, "order-1").replace("Refund", "First", 1)
        + returned("2025-02-04", 2, "order-1").replace("Refund", "Second", 1)
    )
    booked = costs(loaded)
    assert booked["First"] == D("-2.00")
    assert booked["Second"] == -(D("2.00") + D("1.00"))


def test_what_came_back_is_sold_again_first() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 2, "order-1")
        + returned("2025-02-03", 1, "order-1")
        + sold("2025-02-04", 2, "order-2").replace("Sale", "Next", 1)
    )
    assert costs(loaded)["Next"] == D("1.00") + D("2.00")


def test_a_return_comes_from_its_own_order_and_not_from_a_later_one() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 2, "order-1")
        + sold("2025-02-02", 2, "order-2")
        + returned("2025-02-03", 1, "order-1")
    )
    assert costs(loaded)["Refund"] == D("-1.00")


def test_under_the_average_a_return_comes_back_at_what_it_left_with() -> None:
    loaded = load_text(
        HEAD
        + AVERAGE
        + bought("2025-01-02", 2, "1.00")
        + sold("2025-02-01", 1, "order-1")
        + bought("2025-02-02", 1, "2.00")  # average 1.50
        + returned("2025-02-03", 1, "order-1")  # 3.00 + 1.00 for 3 pieces
        + sold("2025-02-04", 1, "order-2").replace("Sale", "Next", 1)
    )
    assert complaints(loaded) == []
    booked = costs(loaded)
    assert (booked["Sale"], booked["Refund"]) == (D("1.00"), D("-1.00"))
    assert booked["Next"].quantize(D("1E-9")) == (D("4.00") / 3).quantize(D("1E-9"))


@pytest.mark.parametrize("method", ["", AVERAGE], ids=["first in first out", "average"])
def test_a_return_does_not_become_the_last_cost(method: str) -> None:
    # What is found over is worth what was paid last, 2.00, and not what came back, 1.00.
    loaded = load_text(
        HEAD
        + method
        + bought("2025-01-02", 1, "1.00")
        + sold("2025-02-01", 1, "order-1")
        + bought("2025-02-02", 1, "2.00")
        + returned("2025-02-03", 1, "order-1")
        + '2025-02-04 custom "stock-count" 3 HERON\n'
    )
    assert total(loaded, "Expenses:Shrinkage") == D("-2.00")


@pytest.mark.parametrize("method", ["", AVERAGE], ids=["first in first out", "average"])
def test_a_return_that_no_order_explains_comes_back_at_the_last_cost(method: str) -> None:
    loaded = load_text(HEAD + method + LOTS + returned("2025-02-03", 1))
    assert complaints(loaded) == []
    assert costs(loaded) == {"Refund": D("-2.00")}
    assert units_on_hand(loaded, "HERON") == D(6)


def test_more_back_than_left_comes_back_at_the_last_cost_for_the_rest() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 1, "order-1")
        + returned("2025-02-03", 2, "order-1")
    )
    assert costs(loaded)["Refund"] == -(D("1.00") + D("2.00"))
    assert units_on_hand(loaded, "HERON") == D(6)


def test_a_return_of_what_was_never_there_is_an_error_and_adds_nothing() -> None:
    loaded = load_text(HEAD + returned("2025-02-03", 1, "order-1"))
    ((line, message),) = complaints(loaded)
    assert line == 5
    assert "1 HERON came back, but none was ever received" in message
    assert units_on_hand(loaded, "HERON") == 0


def test_a_return_on_the_day_of_its_sale_comes_after_it() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + returned("2025-02-01", 1, "order-1")
        + sold("2025-02-01", 2, "order-1")
    )
    assert complaints(loaded) == []
    assert costs(loaded) == {"Sale": D("2.00"), "Refund": D("-1.00")}


def test_what_is_still_owed_comes_back_by_being_owed_no_more() -> None:
    loaded = load_text(
        HEAD
        + sold("2025-02-01", 3, "order-1")
        + returned("2025-02-02", 2, "order-1")
        + bought("2025-02-03", 5, "2.00")
    )
    assert len(complaints(loaded)) == 1
    assert total(loaded, "Expenses:COGS") == D("2.00")
    assert on_hand(loaded, "HERON") == [(D(4), D("2.00"))]


def test_a_return_takes_what_is_owed_first_and_then_what_was_costed() -> None:
    loaded = load_text(
        HEAD
        + bought("2025-01-03", 1, "1.00")
        + sold("2025-02-01", 2, "order-1")  # one costed, one owed
        + returned("2025-02-02", 2, "order-1")
        + bought("2025-02-03", 5, "2.00")
    )
    assert total(loaded, "Expenses:COGS") == 0
    assert on_hand(loaded, "HERON") == [(D(1), D("1.00")), (D(5), D("2.00"))]


def test_what_was_owed_and_settled_comes_back_at_what_it_was_settled_with() -> None:
    loaded = load_text(
        HEAD
        + sold("2025-02-01", 2, "order-1")
        + bought("2025-02-03", 2, "2.00")
        + bought("2025-02-04", 5, "3.00")
        + returned("2025-02-05", 1, "order-1")
    )
    assert total(loaded, "Expenses:COGS") == D("2.00")
    assert on_hand(loaded, "HERON") == [(D(1), D("2.00")), (D(5), D("3.00"))]


def test_a_return_does_not_cancel_what_another_order_of_the_same_payout_is_owed() -> None:
    loaded = load_text(
        HEAD
        + bought("2025-01-03", 1, "1.00")
        + sold("2025-02-01", 1, "order-1", "payout-9")
        + sold("2025-02-02", 1, "order-2", "payout-9")  # not there: owed
        + returned("2025-02-03", 1, "order-1", "payout-9")
        + bought("2025-02-04", 5, "2.00")
    )
    # Order 1 is undone; order 2 costs one piece.
    assert units_on_hand(loaded, "HERON") == D(5)
    assert costs(loaded)["Refund"] == D("-1.00")


def test_what_came_back_once_does_not_come_back_again_by_another_link() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 1, "order-1", "payout-9")  # 1 at 1.00
        + returned("2025-02-03", 1, "order-1", "payout-9")
        + returned("2025-02-04", 1, "order-1", "payout-9").replace("Refund", "Again", 1)
    )
    # No order explains the second piece: it comes at the last cost.
    assert costs(loaded)["Again"] == D("-2.00")


def test_a_refund_without_a_quantity_brings_nothing_back() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 1, "order-1")
        + returned("2025-02-03", 1, "order-1").replace("    quantity: 1\n", "")
    )
    assert complaints(loaded) == []
    assert costs(loaded) == {"Sale": D("1.00")}


def test_an_exchange_gives_and_takes_in_one_transaction() -> None:
    loaded = load_text(
        HEAD
        + LOTS
        + sold("2025-02-01", 1, "order-1")
        + """\
2025-02-04 * "Exchange" ^order-1
  Income:Refunds:Web    4.00 USD
    item: "HERON"
    quantity: 1
  Income:Sales:Web     -4.00 USD
    item: "HERON"
    quantity: 1
"""
    )
    assert complaints(loaded) == []
    assert units_on_hand(loaded, "HERON") == D(4)


# --- stock out ---------------------------------------------------------------------


def test_stock_out_bears_its_cost_on_the_account_that_is_named() -> None:
    loaded = load_text(
        HEAD + LOTS + '2025-02-01 custom "stock-out" 3 HERON Expenses:Marketing:Gifts\n'
        "2025-01-01 open Expenses:Marketing:Gifts\n"
    )
    assert complaints(loaded) == []
    assert costs(loaded, "Expenses:Marketing:Gifts") == {"Stock out: 3 HERON": D("4.00")}
    assert on_hand(loaded, "HERON") == [(D(2), D("2.00"))]


def test_own_use_goes_to_the_owners_drawings() -> None:
    loaded = load_text(
        HEAD + LOTS + '2025-02-01 custom "stock-out" 1 HERON Equity:Drawings\n'
        "2025-01-01 open Equity:Drawings\n"
    )
    assert complaints(loaded) == []
    assert total(loaded, "Equity:Drawings") == D("1.00")


def test_a_stock_out_that_is_short_is_costed_on_its_account_when_the_goods_come() -> None:
    loaded = load_text(
        HEAD
        + "2025-01-01 open Expenses:Gifts\n"
        + '2025-02-01 custom "stock-out" 2 HERON Expenses:Gifts\n'
        + bought("2025-02-03", 5, "2.00")
    )
    ((line, message),) = complaints(loaded)
    assert line == 6
    assert "2 short" in message
    assert total(loaded, "Expenses:Gifts") == D("4.00")
    assert on_hand(loaded, "HERON") == [(D(3), D("2.00"))]


def test_a_stock_out_of_an_unknown_item_is_an_error_on_its_line(
    ledger: Loaded, line_of: Callable[[str], int]
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Expenses:Gifts
    2025-02-01 custom "stock-out" 2 HERRON Expenses:Gifts
    """
    ((line, message),) = complaints(ledger)
    assert line == line_of("stock-out")
    assert "What is taken out is HERRON" in message


# --- what is given away with an order ----------------------------------------------


def free(date: str, quantity: int, kind: str = "Sales", account: str = "") -> str:
    """Return a transaction in which HERON goes out, or comes back, for nothing."""
    account = account or '"Expenses:Marketing:Giveaways"'
    return (
        f'{date} * "{kind}" ^order-1\n'
        f"  Income:{kind}:Web   0.00 USD\n"
        f'    item: "HERON"\n    quantity: {quantity}\n    cost-account: {account}\n'
    )


def opened(loaded: Loaded) -> set[str]:
    """Return the accounts that a ledger opens."""
    return {entry.account for entry in loaded.entries if isinstance(entry, data.Open)}


def test_the_cost_of_what_is_given_away_is_borne_by_the_account_it_names() -> None:
    loaded = load_text(HEAD + LOTS + free("2025-01-05", 3))

    assert complaints(loaded) == []
    assert costs(loaded, "Expenses") == {"Sales": D("4.00")}
    assert total(loaded, "Expenses:Marketing:Giveaways") == D("4.00")
    assert on_hand(loaded, "HERON") == [(D(2), D("2.00"))]
    assert "Expenses:COGS:HERON" not in opened(loaded)


def test_the_account_is_opened_where_nobody_has() -> None:
    head = HEAD.replace('plugin "beancount.plugins.auto_accounts"\n', "")
    opens = "".join(
        f"2025-01-01 open {account}\n"
        for account in ("Assets:Bank", "Assets:Stock:HERON", "Income:Sales:Web")
    )
    loaded = load_text(head + opens + LOTS + free("2025-01-05", 1))

    assert complaints(loaded) == []
    assert "Expenses:Marketing:Giveaways" in opened(loaded)


def test_an_account_of_the_owners_own_may_bear_it() -> None:
    loaded = load_text(
        HEAD + LOTS + free("2025-01-05", 1, account='"Equity:Owner:Drawings"')
    )

    assert complaints(loaded) == []
    assert total(loaded, "Equity:Owner:Drawings") == D("1.00")


@pytest.mark.parametrize("method", ["", AVERAGE])
def test_what_was_given_away_and_comes_back_for_nothing_is_no_cost_any_more(
    method: str,
) -> None:
    text = free("2025-01-05", 3) + free("2025-01-06", 3, "Refunds")
    loaded = load_text(HEAD + method + LOTS + text)

    assert complaints(loaded) == []
    assert total(loaded, "Expenses") == 0
    assert total(loaded, "Assets:Bank") == D("-8.00")
    assert sum(units for units, _ in on_hand(loaded, "HERON")) == 5


def test_what_is_given_away_before_it_was_made_is_costed_there_later() -> None:
    loaded = load_text(HEAD + free("2025-01-01", 1) + bought("2025-01-02", 2, "3.00"))

    ((_, message),) = complaints(loaded)
    assert "1 short" in message
    assert total(loaded, "Expenses:Marketing:Giveaways") == D("3.00")
    assert total(loaded, "Expenses:COGS") == 0


@pytest.mark.parametrize(
    "account",
    ['"Income:Gifts"', '"Assets:Stock"', '"giveaways"', "3", "TRUE", '"Expenses"'],
)
def test_an_account_that_cannot_bear_a_cost_is_an_error_on_the_line(account: str) -> None:
    loaded = load_text(HEAD + LOTS + free("2025-01-05", 3, account=account))

    ((line, message),) = complaints(loaded)
    assert line == (HEAD + LOTS).count("\n") + 2
    assert message.startswith("cost-account must be an account of expenses or equity")
    assert total(loaded, "Expenses") == 0
    assert sum(units for units, _ in on_hand(loaded, "HERON")) == 5

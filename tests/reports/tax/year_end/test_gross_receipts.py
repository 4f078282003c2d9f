"""What came in through each processor: worked out by hand, and tied to the form."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from beancount.core import data

from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_lines import TaxLines
from offcut.reports.tax.year_end.gross_receipts import NOWHERE, Received, gross_receipts

D = Decimal
RULES = find_rules("us-federal", "2025")


def received(ledger: Any) -> dict[str, Received]:
    opens = [each for each in ledger.entries if isinstance(each, data.Open)]
    lines = TaxLines(opens, ledger.options, RULES)
    found = gross_receipts(ledger.entries, ledger.options, lines, "USD")
    return {each.account: each for each in found}


def parts(one: Received) -> dict[str, Decimal]:
    return {part: amount for part, amount in one.parts.items() if amount}


def test_a_sale_a_refund_and_a_payout(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-01-01 open Liabilities:SalesTax
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Shipping:Web
    2025-01-01 open Income:Discounts:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Fees:Card
    2025-01-01 open Expenses:Postage
    2025-03-01 * "Sale"
      Assets:Clearing:Card   22.00 USD
      Expenses:Fees:Card      1.00 USD
      Liabilities:SalesTax   -1.00 USD
      Income:Shipping:Web    -3.00 USD
      Income:Discounts:Web    1.00 USD
      Income:Sales:Web      -20.00 USD
    2025-03-02 * "Refund, with its tax, less the fee"
      Assets:Clearing:Card  -10.00 USD
      Expenses:Fees:Card     -0.50 USD
      Liabilities:SalesTax    0.50 USD
      Income:Refunds:Web     10.00 USD
    2025-03-03 * "A label, paid from what the processor holds"
      Assets:Clearing:Card   -4.00 USD
      Expenses:Postage        4.00 USD
    2025-03-04 * "Payout, on its way"
      Assets:Clearing:Card   -8.00 USD
      Assets:Clearing:Payouts 8.00 USD
    2025-03-05 * "Payout, arrived"
      Assets:Clearing:Payouts -8.00 USD
      Assets:Bank             8.00 USD
    2025-03-06 * "Rent and tax, which are no receipts"
      Liabilities:SalesTax    0.50 USD
      Expenses:Postage        9.00 USD
      Assets:Bank
    """
    found = received(sound_ledger)
    assert list(found) == ["Assets:Clearing:Card"]
    card = found["Assets:Clearing:Card"]
    assert parts(card) == {
        "sales": D(19),
        "shipping": D(3),
        "tax": D(1),
        "refunds": D("-10.50"),
        "fees": D("-0.50"),
        "other": D(-4),
        "paid out": D(-8),
    }
    assert card.gross == D(23)
    # 22 - 10 - 4 - 8: the account is empty.
    assert card.change == D(0)
    assert card.payments == 1


def test_orders_booked_before_their_payment_are_counted_once(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Clearing:Market
    2025-01-01 open Assets:Receivable:Market
    2025-01-01 open Income:Sales:Market
    2025-01-01 open Expenses:Fees:Market
    2025-03-01 * "Ordered"
      Assets:Receivable:Market  30.00 USD
      Income:Sales:Market      -30.00 USD
    2025-03-02 * "One of them is paid"
      Assets:Clearing:Market    11.00 USD
      Expenses:Fees:Market       1.00 USD
      Assets:Receivable:Market -12.00 USD
    """
    found = received(sound_ledger)
    market, open_ = found["Assets:Clearing:Market"], found["Assets:Receivable:Market"]
    # The processor's own form has the 12.00 that went through it.
    assert market.gross == D(12)
    assert parts(market) == {"earlier": D(12), "fees": D(-1)}
    assert parts(open_) == {"sales": D(30), "earlier": D(-12)}
    assert open_.gross == open_.change == D(18)


def test_takings_in_two_forms_are_split_by_what_each_took(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Clearing:Reader
    2025-01-01 open Liabilities:SalesTax
    2025-01-01 open Income:Sales:Fair
    2025-01-01 open Expenses:Fees:Reader
    2025-03-01 * "Saturday"
      Assets:Cash              55.00 USD
      Assets:Clearing:Reader  107.00 USD
      Expenses:Fees:Reader      3.00 USD
      Liabilities:SalesTax    -15.00 USD
      Income:Sales:Fair      -150.00 USD
    """
    found = received(sound_ledger)
    # A third is cash: 55 of 165.
    assert parts(found["Assets:Cash"]) == {"sales": D(50), "tax": D(5)}
    assert parts(found["Assets:Clearing:Reader"]) == {
        "sales": D(100),
        "tax": D(10),
        "fees": D(-3),
    }
    assert found["Assets:Clearing:Reader"].gross == D(110)


def test_deposits_gift_cards_remitted_tax_and_what_nobody_took(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:RemittedTax:Market
    2025-01-01 open Liabilities:Deposits
    2025-01-01 open Liabilities:GiftCards
    2025-01-01 open Liabilities:SalesTax
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Swaps
    2025-03-01 * "A deposit"
      Assets:Bank            50.00 USD
      Liabilities:Deposits  -50.00 USD
    2025-03-02 * "The work, and the rest"
      Assets:Bank            70.00 USD
      Liabilities:Deposits   50.00 USD
      Income:Sales:Web     -120.00 USD
    2025-03-03 * "A gift card"
      Assets:Clearing:Card   20.00 USD
      Liabilities:GiftCards -20.00 USD
    2025-03-04 * "The market keeps the tax"
      Assets:Clearing:Card   10.00 USD
      Assets:Clearing:RemittedTax:Market  1.00 USD
      Liabilities:SalesTax   -1.00 USD
      Income:Sales:Web      -10.00 USD
    2025-03-05 * "Swapped for another maker's print"
      Expenses:Swaps          8.00 USD
      Income:Sales:Web       -8.00 USD
    """
    found = received(sound_ledger)
    assert parts(found["Assets:Bank"]) == {"sales": D(120)}
    assert found["Assets:Bank"].change == D(120)
    card = found["Assets:Clearing:Card"]
    assert parts(card) == {
        "sales": D(10),
        "tax": D(1),
        "earlier": D(20),
        "other": D(-1),
    }
    assert parts(found[NOWHERE]) == {"sales": D(8), "other": D(-8)}

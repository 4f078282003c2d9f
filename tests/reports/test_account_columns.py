"""Accounts find their column by name, or by `report-as`."""

from __future__ import annotations

from typing import Any

import pytest
from beancount.parser import options

from offcut.plugins.catalogue import read_catalogue
from offcut.reports.account_columns import (
    AMOUNT_COLUMNS,
    SELLING,
    SPOILAGE,
    AccountPlaces,
    Place,
    check_report_as,
)

PLAIN = AccountPlaces([], options.OPTIONS_DEFAULTS, {})


@pytest.mark.parametrize(
    ("account", "column", "channel"),
    [
        ("Income:Sales:Web", "gross", "Web"),
        ("Income:Suspense:Web", "gross", "Web"),
        ("Income:Discounts:Web", "discount", "Web"),
        ("Income:Refunds:Fair:2025", "refund", "Fair"),
        ("Income:Shipping:Web", "shipping", "Web"),
        ("Income:Tips:Fair", "other", "Fair"),
        ("Income:Interest", "other", ""),
        ("Income:Fees:Web", "other", "Web"),
        ("Expenses:Fees:Card", "fees", ""),
        ("Expenses:Postage", "postage", ""),
        ("Expenses:Packaging:Sleeves", "packaging", ""),
        ("Expenses:COGS:HERON-STK", "cost_of_goods", ""),
        ("Expenses:Spoilage:HERON-STK", "spoilage", ""),
        ("Expenses:Shrinkage", "spoilage", ""),
        ("Expenses:Giveaways", "giveaways", ""),
        ("Expenses:Marketing:Giveaways", "giveaways", ""),
        ("Expenses:Marketing:Giveaways:Shops", "giveaways", ""),
        ("Expenses:Marketing:Advertising", "selling", ""),
        ("Expenses:Marketing", "selling", ""),
        ("Expenses:Events:TableFees", "selling", ""),
        ("Expenses:Office:Giveaways", "other", ""),
        ("Income:Marketing:Giveaways", "other", "Giveaways"),
        ("Expenses:Sales:Web", "other", ""),
    ],
)
def test_second_component_names_the_column(account: str, column: str, channel: str) -> None:
    place = PLAIN[account]
    assert place is not None
    assert (AMOUNT_COLUMNS[place.column], place.channel) == (column, channel)


@pytest.mark.parametrize("account", ["Assets:Sales:Web", "Liabilities:Fees", "Equity:COGS"])
def test_balance_accounts_have_no_place(account: str) -> None:
    assert PLAIN[account] is None


def test_report_as_holds_for_the_accounts_below(sound_ledger: Any) -> None:
    """
    2025-01-01 open Expenses:Subscriptions
      report-as: "fees"
    2025-01-01 open Expenses:Subscriptions:Shop
    2025-01-01 open Expenses:Subscriptions:Post
      report-as: "postage"
    2025-01-01 open Expenses:SubscriptionsOld
    2025-01-01 open Income:Commissions:Studio
      report-as: "gross"
    2025-01-01 open Expenses:Office:ShopPlan
      report-as: "selling"
    2025-01-01 open Expenses:Marketing:Giveaways
      report-as: "other"
    """
    places = AccountPlaces(sound_ledger.entries, sound_ledger.options, {})
    columns = {
        entry.account: AMOUNT_COLUMNS[place.column]
        for entry in sound_ledger.entries
        if (place := places[entry.account])
    }
    assert columns == {
        "Expenses:Subscriptions": "fees",
        "Expenses:Subscriptions:Shop": "fees",
        "Expenses:Subscriptions:Post": "postage",
        "Expenses:SubscriptionsOld": "other",
        "Income:Commissions:Studio": "gross",
        "Expenses:Office:ShopPlan": "selling",
        "Expenses:Marketing:Giveaways": "other",
    }
    assert check_report_as(sound_ledger.entries) == []


def test_product_of_an_expense_account(sound_ledger: Any) -> None:
    """
    2025-01-01 commodity HERON-STK
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    """
    places = AccountPlaces(
        sound_ledger.entries, sound_ledger.options, read_catalogue(sound_ledger.entries)
    )
    assert places["Expenses:Spoilage:HERON-STK"] == Place(SPOILAGE, "", "HERON-STK", False)
    assert places["Expenses:Shrinkage:VINYL"] == Place(SPOILAGE, "", "", False)
    assert places["Expenses:Marketing:HERON-STK"] == Place(SELLING, "", "", False)


def test_report_as_that_names_no_column(ledger: Any) -> None:
    """
    2025-01-01 open Expenses:Subscriptions
      report-as: "fee"
    2025-01-01 open Expenses:Rent
      report-as: 12
    """
    first, second = check_report_as(ledger.entries)
    assert first.source["lineno"] == 2
    assert first.message == (
        'Expenses:Subscriptions: report-as is "fee" (did you mean fees?); write one of '
        "gross, discount, refund, shipping, fees, postage, packaging, cost-of-goods, "
        "giveaways, spoilage, selling, other"
    )
    assert second.message.startswith('Expenses:Rent: report-as is "12"; write one of gross')

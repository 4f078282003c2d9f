"""Tell which column of the order table an income or expense account belongs to.

The second component of the account says so: `Expenses:Fees:Card` is a fee; of what goes
to selling as such, table fees and advertising, the giveaways are told apart by the third:
`Expenses:Marketing:Giveaways`. Where that does not fit, `report-as` on the account's `open`
directive says it instead, for that account and the accounts below it:

    2025-01-01 open Expenses:Subscriptions:Shop
      report-as: "fees"
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from beancount.core import data

from offcut.plugins.catalogue import Item

AMOUNT_COLUMNS = (
    "gross",
    "discount",
    "refund",
    "shipping",
    "fees",
    "postage",
    "packaging",
    "cost_of_goods",
    "giveaways",
    "spoilage",
    "selling",
    "other",
)
(
    GROSS,
    DISCOUNT,
    REFUND,
    SHIPPING,
    FEES,
    POSTAGE,
    PACKAGING,
    COST_OF_GOODS,
    GIVEAWAYS,
    SPOILAGE,
    SELLING,
    OTHER,
) = range(len(AMOUNT_COLUMNS))

REPORT_AS = {name.replace("_", "-"): column for column, name in enumerate(AMOUNT_COLUMNS)}

INCOME_COLUMNS = {
    "Sales": GROSS,
    "Suspense": GROSS,
    "Discounts": DISCOUNT,
    "Refunds": REFUND,
    "Shipping": SHIPPING,
}
EXPENSE_COLUMNS = {
    "Fees": FEES,
    "Postage": POSTAGE,
    "Packaging": PACKAGING,
    "COGS": COST_OF_GOODS,
    "Giveaways": GIVEAWAYS,
    "Spoilage": SPOILAGE,
    "Shrinkage": SPOILAGE,
    "Events": SELLING,
    "Marketing": SELLING,
}
# By the second component and the third, which comes first.
EXPENSE_COLUMNS_OF_TWO = {("Marketing", "Giveaways"): GIVEAWAYS}
# Expense accounts that are named after the product that they are about.
PRODUCT_EXPENSES = frozenset({"COGS", "Spoilage", "Shrinkage"})


class ReportAsError(NamedTuple):
    """A `report-as` that names no column."""

    source: data.Meta
    message: str
    entry: data.Directive | None


class Place(NamedTuple):
    """Where the postings of an income or expense account go.

    Attributes:
      column: An index into AMOUNT_COLUMNS.
      channel: The third component of an income account: `Web`; else empty.
      product: The product that an expense account is named after; else empty.
      is_income: Whether it is an income account.
      is_suspense: Whether it is one where payments and unknown items wait.
    """

    column: int
    channel: str
    product: str
    is_income: bool
    is_suspense: bool = False


class AccountPlaces(dict[str, Place | None]):
    """Places by account, worked out at the first look-up; None for a balance account."""

    def __init__(
        self,
        entries: Iterable[data.Directive],
        options_map: Mapping[str, Any],
        catalogue: Mapping[str, Item],
    ) -> None:
        """Read the accounts' `report-as`.

        Args:
          entries: The ledger's directives.
          options_map: The ledger's options; they name the root accounts.
          catalogue: The items of stock, by commodity.
        """
        super().__init__()
        self._income = options_map["name_income"]
        self._expenses = options_map["name_expenses"]
        self._products = {
            name for name, item in catalogue.items() if item.kind == "product"
        }
        self._report_as = {
            entry.account: REPORT_AS[entry.meta["report-as"]]
            for entry in entries
            if isinstance(entry, data.Open) and entry.meta.get("report-as") in REPORT_AS
        }

    def __missing__(self, account: str) -> Place | None:
        self[account] = place = self._find(account)
        return place

    def _find(self, account: str) -> Place | None:
        root, *rest = account.split(":")
        if root not in (self._income, self._expenses):
            return None
        is_income = root == self._income
        what = rest[0] if rest else ""
        whose = rest[1] if len(rest) > 1 else ""
        if is_income:
            column = INCOME_COLUMNS.get(what, OTHER)
        else:
            column = EXPENSE_COLUMNS.get(what, OTHER)
            column = EXPENSE_COLUMNS_OF_TWO.get((what, whose), column)
        for depth in range(len(rest) + 1, 0, -1):
            overridden = self._report_as.get(":".join([root, *rest][:depth]))
            if overridden is not None:
                column = overridden
                break
        names_product = what in PRODUCT_EXPENSES and whose in self._products
        return Place(
            column=column,
            channel=whose if is_income else "",
            product=whose if names_product and not is_income else "",
            is_income=is_income,
            is_suspense=is_income and what == "Suspense",
        )


def check_report_as(entries: Iterable[data.Directive]) -> list[ReportAsError]:
    """Report each `report-as` that names no column of the order table.

    Args:
      entries: The ledger's directives.
    """
    errors = []
    for entry in entries:
        if not isinstance(entry, data.Open) or "report-as" not in entry.meta:
            continue
        word = entry.meta["report-as"]
        if word not in REPORT_AS:
            near = difflib.get_close_matches(str(word), REPORT_AS, n=1)
            hint = f" (did you mean {near[0]}?)" if near else ""
            errors.append(
                ReportAsError(
                    entry.meta,
                    f'{entry.account}: report-as is "{word}"{hint}; write one of '
                    f"{', '.join(REPORT_AS)}",
                    entry,
                )
            )
    return errors

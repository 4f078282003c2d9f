"""What the accounts of a ledger are for, by the layouts and by their names.

A layout says which of its accounts is what. Beyond that the usual names count:
`Assets:Bank:…` and `Assets:Cash` hold money, `Assets:Clearing:…` what a processor keeps
until it pays it out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal

from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.settings import Settings

Role = Literal[
    "bank",
    "payouts",
    "remitted",
    "held",
    "receivable",
    "suspense",
    "deposits",
    "tax",
    "processor",
    "stock",
]


class Roles(dict[str, "Role | None"]):
    """The role of each account; None for one that the month-end list is not about.

    Args:
      settings: The user's settings.
      options: The ledger's options; they name the root accounts.
    """

    def __init__(self, settings: Settings, options: Mapping[str, Any]) -> None:
        super().__init__()
        self.layouts = [*settings.layouts.values(), *shipped_layouts().values()]
        assets, income = options["name_assets"], options["name_income"]
        liabilities, equity = options["name_liabilities"], options["name_equity"]
        self._consigned = f"{assets}:Consignment:"
        # What comes first counts.
        self._below: tuple[tuple[str, Role], ...] = (
            (f"{assets}:Bank", "bank"),
            (f"{assets}:Cash", "bank"),
            (f"{assets}:Clearing:RemittedTax", "remitted"),
            (f"{assets}:Clearing", "processor"),
            (f"{assets}:Held", "held"),
            (f"{assets}:Receivable", "receivable"),
            (f"{income}:Suspense", "suspense"),
            (f"{equity}:Suspense", "suspense"),
            (f"{liabilities}:Deposits", "deposits"),
            (assets, "stock"),
        )
        self[settings.fair.cash] = "bank"
        # Where layouts differ on an account, what is nearer to money counts.
        for layout in self.layouts:
            if layout.kind == "bank":
                self[layout.accounts.clearing] = "bank"
        self._add("payouts", (each.accounts.payout for each in self.layouts))
        self._add("remitted", (each.accounts.tax_remitted for each in self.layouts))
        self._add("held", (each.accounts.held for each in self.layouts))
        self._add("receivable", (each.accounts.receivable for each in self.layouts))
        self._add("suspense", (each.accounts.suspense for each in self.layouts))
        self._add("deposits", (each.accounts.deposits for each in self.layouts))
        self._add("tax", (each.accounts.tax for each in self.layouts))
        payments = (each for each in self.layouts if each.kind == "payments")
        for layout in payments:
            if self[layout.accounts.clearing] in (None, "stock"):
                self[layout.accounts.clearing] = "processor"

    def _add(self, role: Role, accounts: Iterable[str]) -> None:
        for account in accounts:
            if account not in self and self._by_name(account) != "bank":
                self[account] = role

    def __missing__(self, account: str) -> Role | None:
        role = self[account] = self._by_name(account)
        return role

    def _by_name(self, account: str) -> Role | None:
        if account.startswith(self._consigned):
            return None
        for name, role in self._below:
            if account.startswith(name) and account[len(name) : len(name) + 1] in ("", ":"):
                return role
        return None

    def layout_with(self, key: str, account: str) -> Layout | None:
        """Return the first layout, the user's before all, that has an account as this.

        Args:
          key: The attribute of `Accounts`.
          account: The account.
        """
        for layout in self.layouts:
            if layout.kind != "tally" and getattr(layout.accounts, key) == account:
                return layout
        return None

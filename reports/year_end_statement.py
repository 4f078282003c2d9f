"""State what a year leaves for the tax office and the accountant, from the form down."""

from __future__ import annotations

from offcut.plugins.collector import collector_paused
from offcut.reports.statement import Statement
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.year_end.form_statement import form_statement
from offcut.reports.tax.year_end.lines_statement import lines_statement
from offcut.reports.tax.year_end.lists_statement import (
    checklist_statement,
    lists_statement,
)
from offcut.reports.tax.year_end.pack import year_end
from offcut.reports.tax.year_end.receipts_statement import (
    receipts_statement,
    sales_tax_statement,
)
from offcut.reports.tax.year_end.reconciliation_statement import (
    reconciliation_statement,
)


def year_end_statements(shop: TaxBooks) -> list[Statement]:
    """Return the statements of the year-end pack.

    Args:
      shop: The ledger under the rules of the year.

    Raises:
      TaxSettingsError: The settings have mistakes.
      RulesError: The rules do not have a figure that a claim is worked out by.
    """
    with collector_paused():
        pack = year_end(shop)
        return [
            form_statement(pack),
            reconciliation_statement(pack),
            receipts_statement(pack),
            sales_tax_statement(pack),
            lists_statement(pack),
            lines_statement(pack),
            checklist_statement(pack),
        ]

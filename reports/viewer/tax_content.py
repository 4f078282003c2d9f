"""Make the page of what to set aside for the tax office."""

from __future__ import annotations

from offcut.reports.books import Books
from offcut.reports.set_aside_report import EXAMPLE, set_aside_statements
from offcut.reports.statement import Statement
from offcut.reports.tax import CAUTION
from offcut.reports.tax.household import HouseholdError
from offcut.reports.tax.rules import RulesError
from offcut.reports.tax.rules_files import known_rules
from offcut.reports.tax.tax_settings import TaxSettingsError, tax_settings
from offcut.reports.viewer.chosen import day_of
from offcut.reports.viewer.refusals import refused
from offcut.reports.viewer.views import View

TITLE = "Set aside for tax"


def set_aside(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return what to set aside, and how the tax is worked out, as of the view's day.

    Args:
      whole: The whole ledger.
      books: What the filters leave of it; a tax is of everything.
      view: The view.
    """
    folder = whole.path.resolve().parent
    try:
        settings = tax_settings(whole.path)
        if not settings.jurisdiction:
            known = ", ".join(sorted({each for each, _ in known_rules(folder)}))
            reason = "It is not known whose rules hold and who is taxed."
            return [refused(TITLE, reason, CAUTION, EXAMPLE.format(known=known))]
        return set_aside_statements(whole, settings, None, day_of(view))
    except (TaxSettingsError, RulesError, HouseholdError) as error:
        return [refused(TITLE, str(error), CAUTION)]

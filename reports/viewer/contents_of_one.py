"""Make the pages of one thing: a design, a product, a fair, and what is behind a figure."""

from __future__ import annotations

from collections.abc import Callable

from offcut.reports.books import Books
from offcut.reports.design.earned import earned_statement
from offcut.reports.design.made import made_statement
from offcut.reports.design.subject import Kind, subject_named
from offcut.reports.plan.assumed import assumed
from offcut.reports.plan.fair_basis import basis_of_fairs
from offcut.reports.plan.fair_statement import FairTerms, fair_statement
from offcut.reports.plan.plan_settings import PlanSettingsError, plan_settings
from offcut.reports.statement import Statement
from offcut.reports.trace.tracing import TraceError
from offcut.reports.trace.tracing import trace as traced
from offcut.reports.trace_statement import trace_statement
from offcut.reports.viewer.chosen import currency_of
from offcut.reports.viewer.refusals import refused
from offcut.reports.viewer.views import View


def one(kind: Kind) -> Callable[[Books, Books, View], list[Statement]]:
    """Return what makes the page of a design or a product.

    Args:
      kind: Which of the two.
    """

    def statements(whole: Books, books: Books, view: View) -> list[Statement]:
        subject = subject_named(whole, kind, view.name)
        if subject is None:
            reason = f"There is no {kind} '{view.name}' in this ledger."
            return [refused(kind.capitalize(), reason)]
        currency = currency_of(whole, view)
        days = view.period.up_to(view.today)
        return [
            earned_statement(books, subject, view.period, currency, view.step),
            # Lots and runs are levels: those of the whole ledger.
            made_statement(whole, subject, days, whole.stock_currency),
        ]

    return statements


def one_fair(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return where a fair broke even; it counts whole.

    Args:
      whole: The whole ledger.
      books: What the filters leave of it.
      view: The view, with the fair's name.
    """
    try:
        hour = assumed(None, plan_settings(whole.path).hour)
        basis = basis_of_fairs(
            *(books.table, [view.name], currency_of(whole, view)),
            expenses=str(whole.options["name_expenses"]),
        )
        terms = FairTerms((), assumed(None, None), hour)
        return [fair_statement(books, basis, terms)]
    except (PlanSettingsError, ValueError) as error:
        return [refused("Fair", str(error))]


def trace(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return the ledger's lines behind a figure; they are those of the whole ledger.

    Args:
      whole: The whole ledger.
      books: What the filters leave of it.
      view: The view, with the figure's words.
    """
    try:
        root = traced(view.name, whole.trace_index, lambda: whole.table)
    except TraceError as error:
        return [refused("Trace", str(error))]
    return [trace_statement(root, whole.path)]

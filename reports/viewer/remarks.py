"""Say what to know about the filters of a view."""

from __future__ import annotations

from collections.abc import Iterator

from fava.application import url_for
from markupsafe import Markup, escape

from offcut.reports.books import Books
from offcut.reports.figures import plain
from offcut.reports.viewer.chosen import currency_of
from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.views import View


def remarks(books: Books, view: View) -> Iterator[str]:
    """Yield what to know, in sentences.

    Args:
      books: The whole ledger.
      view: The view.
    """
    content = CONTENTS[view.report]
    if books.errors:
        number = len(books.errors)
        address = escape(url_for("report", report_name="errors"))
        yield Markup(
            f"The ledger has {number:,} error{'s' if number > 1 else ''}, and figures may "
            f'be wrong for it. fava lists them under <a href="{address}">Errors</a>, each '
            "with its line."
        )
    if view.is_partial and content.is_filtered:
        yield (
            "Only the transactions that match fava's filters are counted, each whole. "
            "What belongs to them and stands in others, as packing does, is left out."
        )
    elif view.is_partial:
        yield (
            "Filters by account, tag or link do not apply here: this needs every "
            "transaction."
        )
    shown = currency_of(books, view)
    if view.conversion.isupper() and view.conversion != shown:
        yield (
            f"Nothing was sold or spent in {plain(view.conversion)}: the figures are in "
            f"{plain(shown)}. Reports convert nothing."
        )

"""Give the addresses of reports, and of fava's own pages, with the filters of a view."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from fava.application import url_for
from fava.util.date import parse_date

from offcut.reports.books import Books
from offcut.reports.design.subject import Subject, subject_named
from offcut.reports.period import Period
from offcut.reports.statement import Line, Table
from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.inner_links import InnerLinks
from offcut.reports.viewer.journal_links import JournalLinks, Link, joined
from offcut.reports.viewer.place_links import PlaceLinks
from offcut.reports.viewer.rows import Links
from offcut.reports.viewer.views import View

ONE_DAY = datetime.timedelta(days=1)


def report_link(report: str, **values: str) -> str:
    """Return the address of a report, with fava's filters.

    Args:
      report: The report.
      **values: Other values of the address.
    """
    return url_for("extension_report", extension_name="Offcut", report=report, **values)


def links_of(books: Books, view: View) -> Links:
    """Return what gives the addresses that lines of a view lead to.

    Args:
      books: The whole ledger.
      view: The view.
    """
    subject = _subject(books, view)
    return Links(_inner(books, subject), _journal(books, view, subject), _place(books))


def _subject(books: Books, view: View) -> Subject | None:
    """Return what a view is about, where it is about one design or product."""
    if not view.name:
        return None
    match view.report:
        case "design":
            return subject_named(books, "design", view.name)
        case "product":
            return subject_named(books, "product", view.name)
    return None


def _inner(books: Books, subject: Subject | None) -> Callable[[Table, Line], str | None]:
    links = InnerLinks(books, subject)

    def inner(table: Table, line: Line) -> str | None:
        link = links.link(table, line)
        return None if link is None else report_link(**link)

    return inner


def _journal(
    books: Books, view: View, subject: Subject | None
) -> Callable[[Table, Line], str | None]:
    links = JournalLinks(books, subject)
    is_filtered = CONTENTS[view.report].is_filtered

    def journal(table: Table, line: Line) -> str | None:
        link = links.link(table, line)
        if link is None:
            return None
        if is_filtered and not links.is_of_all(table):
            link = within(view.period, joined(view.filter, link))
        else:
            link = {"account": "", "filter": "", **link}
        return url_for("report", report_name="journal", **link)

    return journal


def within(period: Period, link: Link) -> Link:
    """Return a link to days of which only those of a period are in the line.

    Args:
      period: The days of the page.
      link: A link from it.
    """
    begin, end = parse_date(link.get("time", ""))
    if begin is None or end is None:
        return link
    first, last = begin, end - ONE_DAY
    inside_first = max(first, period.first or first)
    inside_last = min(last, period.last or last)
    if (inside_first, inside_last) == (first, last) or inside_first > inside_last:
        return link
    return {**link, "time": f"{inside_first} - {inside_last}"}


def _place(books: Books) -> Callable[[str], str | None]:
    links = PlaceLinks(books)

    def place(place: str) -> str | None:
        link = links.link(place)
        return None if link is None else url_for("report", **link)

    return place

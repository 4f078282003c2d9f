"""The page of one design: its figures are those of other reports, its links lead on."""

from __future__ import annotations

from decimal import Decimal
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from offcut.reports.books import Books
from offcut.reports.design.earned import earned_statement
from offcut.reports.design.made import made_statement
from offcut.reports.design.subject import Subject, subject_named
from offcut.reports.ledger_file import load_ledger
from offcut.reports.order_table import in_period
from offcut.reports.period import Period, choose_period
from offcut.reports.profit import profit_of
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.statement import Statement
from offcut.reports.steps import Step

STEPS: tuple[Step, ...] = ("day", "week", "month", "quarter", "year")


@pytest.fixture(scope="module")
def books(example: Any) -> Books:
    """The example ledger as the commands load it."""
    ledger = load_ledger(example.path)
    return Books(ledger.entries, ledger.options, ledger.errors, example.path)


def earned(books: Books, name: str, period: Period, step: Step = "month") -> Statement:
    subject = subject_named(books, "design", name)
    assert subject is not None
    return earned_statement(books, subject, period, "USD", step)


@pytest.mark.parametrize(
    ("time", "step"),
    [(None, "week"), (None, "quarter"), (None, "year"), ("2025", "month"), ("2026", "day")],
)
def test_designs_come_to_what_profit_has(
    books: Books, time: str | None, step: Step
) -> None:
    period = choose_period(year=time)
    report = profit_of(books, period, "USD", ("design",)).reports["design"]
    assert len(report.lines) > 10
    for line in report.lines:
        statement = earned(books, line.name, period, step)
        assert statement.holds and statement.checks
        for table in statement.tables:
            at = [column.heading for column in table.columns].index("Contribution")
            total = table.lines[-1]
            assert total.cells[at] == line.figures.contribution, table.title
            lines = [each.cells[at] for each in table.lines[:-1]]
            assert sum(lines, Decimal(0)) == total.cells[at]
    assert report.grouped.contribution == sum(
        (line.figures.contribution for line in report.lines), Decimal(0)
    )


def test_lots_are_those_of_the_shelf(books: Books, example: Any) -> None:
    period = Period(None, books.income_days[-1])
    shelf = shelf_statement(books, period, "USD")
    (lots,) = [table for table in shelf.tables if table.slug == "shelf-lots"]
    value = [column.heading for column in lots.columns].index("Value")
    products = [each for each in books.catalogue.values() if each.kind == "product"]
    for item in products:
        subject = Subject("product", item.currency, item.name, (item.currency,))
        made = made_statement(books, subject, period, "USD")
        assert made.holds
        mine = [each for each in lots.lines if each.code == item.currency]
        table = made.tables[0]
        at = [column.heading for column in table.columns].index("Value")
        own = [each.cells[at] for each in table.lines if each.role == "line"]
        assert own == [each.cells[value] for each in mine]


def test_runs_are_those_of_the_ledger(books: Books) -> None:
    subject = subject_named(books, "design", "Heron at Dusk")
    assert subject is not None and subject.products == ("HERON-PRT", "HERON-STK")
    came = made_statement(books, subject, choose_period(month="2025-03"), "USD").tables[1]
    (line,) = came.lines
    # 2025-03-26 custom "print-run" 54 HERON-STK, spoiled: 2, minutes: 36.
    assert [line.cells[at] for at in (3, 4, 5)] == [Decimal(54), Decimal(2), Decimal(36)]
    assert str(line.cells[-1]).startswith("workshop.beancount:")


def test_drill_from_designs_to_the_journal(example: Any, reading: Any) -> None:
    def follow(address: str) -> Any:
        assert example.slug in address
        response = example.app.test_client().get(address)
        assert response.status_code == 200
        return reading(response.text)

    time = {"time": "2025"}
    designs = reading(example.get("design", **time))
    design = follow(designs.links["Heron at Dusk"])
    product = follow(designs.links["Heron at Dusk, vinyl sticker, 3 in"])
    order = next(each for each in product.links if each.startswith("W1"))
    journal = urlsplit(product.journals[order])
    assert journal.path.endswith("/journal/")
    assert parse_qs(journal.query)["filter"] == [f"^order-{order}"]
    traced = follow(product.links[order])
    assert any(each.startswith("imports/card-2025") for each in traced.links)
    assert any("/editor/?" in each for each in traced.links.values())
    # A month of a design leads to its trace, down to the purchase of its sheets.
    month = follow(design.links["2025-03"])
    assert any(each.startswith("purchases.beancount:") for each in month.links)


def sold_in(entries: Any, products: set[str]) -> set[tuple[str, int]]:
    """Return where the transactions that sell products stand."""
    return {
        (entry.meta["filename"], entry.meta["lineno"])
        for entry in entries
        for posting in getattr(entry, "postings", ())
        if posting.meta
        and posting.meta.get("item") in products
        and "quantity" in posting.meta
    }


@pytest.mark.parametrize("time", ["", "2025-03-10 - 2025-05-20"])
def test_journal_of_each_figure_has_its_sales(
    example: Any, reading: Any, books: Books, time: str
) -> None:
    page = reading(example.get("design", name="Heron at Dusk", time=time))
    days = example.ledger.get_filtered(time=time).date_range
    period = Period(days.begin, days.end_inclusive) if days else Period()
    rows = in_period(books.table[books.table["design"] == "Heron at Dusk"], period)
    rows = rows[rows["quantity"] > 0]
    rows = rows.assign(month=[f"{day:%Y-%m}" for day in rows["date"]])
    products = {"HERON-STK", "HERON-PRT"}
    checked = 0
    # A channel has no page of its own: its name leads to the journal.
    for column, links in (("month", page.journals), ("channel", page.links)):
        for name, some in rows.groupby(column):
            query = parse_qs(urlsplit(links[str(name)]).query)
            values = {key: each[0] for key, each in query.items()}
            found = example.ledger.get_filtered(**values).entries
            expected = set(zip(some["file"], some["line"], strict=True))
            assert expected and expected <= sold_in(found, products), name
            # The first day has what was before, summed up by fava, and no sale of it.
            own = [each for each in found if getattr(each, "flag", "") != "S"]
            assert all(each.date in period for each in own if hasattr(each, "postings"))
            checked += 1
    assert checked > 5


def test_filters_leave_lots_alone(example: Any, reading: Any) -> None:
    plain = example.get("design", name="Heron at Dusk")
    filtered = example.get("design", name="Heron at Dusk", filter="^order-W1458")
    assert "Only the transactions that match" in filtered
    lots = [
        [table for table in reading(page).tables if table[0][0:2] == ["Product", "Came"]]
        for page in (plain, filtered)
    ]
    assert lots[0] == lots[1] != []
    orders = [
        table for table in reading(filtered).tables if table[0][0:2] == ["Order", "Date"]
    ]
    assert [row[0] for row in orders[0][1:-1]] == ["W1458"]


@pytest.mark.parametrize("step", STEPS)
def test_interval_is_favas_choice(example: Any, reading: Any, step: str) -> None:
    for values in ({"report": "time"}, {"report": "design", "name": "Heron at Dusk"}):
        page = reading(example.get(**values, interval=step, time="2025"))
        is_trend = values["report"] == "time" and step == "month"
        heading = "Month" if is_trend else step.capitalize()
        assert any(table[0][0] == heading for table in page.tables)

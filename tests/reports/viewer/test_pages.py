"""Every report is a page of fava, with the figures of the commands, and text is inert."""

from __future__ import annotations

import datetime
import html
import re
from pathlib import Path
from typing import Any

import pytest

from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.drawing.page_cells import page_cell
from offcut.reports.ledger_file import load_ledger
from offcut.reports.period import Period
from offcut.reports.plan.next_print_statement import next_print_statement
from offcut.reports.plan.plan_settings import plan_settings
from offcut.reports.plan.usual_terms import next_terms
from offcut.reports.profit import profit_of
from offcut.reports.profit_statement import profit_statement
from offcut.reports.set_aside_report import set_aside_statements
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.statement import Statement
from offcut.reports.tax import CAUTION
from offcut.reports.tax.tax_settings import tax_settings
from offcut.reports.trend import GROUPINGS as TRENDS
from offcut.reports.trend_statement import trend_statement
from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.server import viewer
from offcut.reports.years_statement import years_statement

YEAR = Period(datetime.date(2025, 1, 1), datetime.date(2025, 12, 31))
TODAY = datetime.date.today()


def books_of(path: Path) -> Books:
    ledger = load_ledger(path)
    return Books(ledger.entries, ledger.options, ledger.errors, path)


@pytest.fixture(scope="session")
def example_books(example: Any) -> Books:
    """The example ledger as the commands load it."""
    return books_of(example.path)


def written(statement: Statement) -> list[list[str]]:
    """Return the figures of a statement's lines, in words, without their names."""
    lines = []
    for table in statement.tables:
        columns = table.shown_columns(False)[1:]
        for line in table.lines:
            lines.append(
                [
                    page_cell(line.cells[at], table.columns[at], table.currency).strip()
                    for at in columns
                ]
            )
    return lines


def expected(report: str, books: Books, period: Period) -> list[Statement]:
    currency = books.currency
    match report:
        case "channels":
            return [channels_statement(books, period, currency, TODAY)]
        case "shelf":
            return [shelf_statement(books, period.up_to(TODAY), books.stock_currency)]
        case "time":
            return [
                trend_statement(books, period, currency, each, TODAY) for each in TRENDS
            ]
        case "tax":
            day = min(period.last or TODAY, TODAY)
            return set_aside_statements(books, tax_settings(books.path), None, day)
        case "plan":
            terms = next_terms(plan_settings(books.path))
            return [next_print_statement(books, period, currency, terms)]
        case "design" | "product" | "channel" | "event" | "order":
            reports = profit_of(books, period, currency, (report,))
            return [profit_statement(reports, report, True, 400)]
    raise AssertionError(report)


@pytest.mark.parametrize(
    "report", [name for name in CONTENTS if name not in ("close", "trace")]
)
@pytest.mark.parametrize(("time", "period"), [("", Period()), ("2025", YEAR)])
def test_figures_are_those_of_the_commands(
    report: str,
    time: str,
    period: Period,
    example: Any,
    example_books: Books,
    reading: Any,
) -> None:
    page = reading(example.get(report, time=time) if time else example.get(report))
    shown = [row[1:] for table in page.tables for row in table]
    statements = expected(report, example_books, period)
    wanted = [line for statement in statements for line in written(statement)]
    assert len(wanted) > 3
    missing = [line for line in wanted if line not in shown]
    assert missing == []
    for statement in statements:
        for check in statement.checks:
            assert check.holds
            assert html.escape(check.sentence, quote=False) in page_text(
                example, report, time
            )


def page_text(example: Any, report: str, time: str) -> str:
    return example.get(report, time=time).replace("&#39;", "'").replace("&#34;", '"')


def test_years_take_the_place_of_months(
    example: Any, example_books: Books, reading: Any
) -> None:
    page = reading(example.get("time", interval="year"))
    shown = [row[1:] for table in page.tables for row in table]
    wanted = years_statement(example_books, Period(), "USD", TODAY)
    assert all(line in shown for line in written(wanted))


def test_month_end_is_of_the_filtered_month(example: Any) -> None:
    assert "Month end, March 2025" in example.get("close", time="2025-03")
    # Of a longer filter, the last month.
    assert "Month end, December 2025" in example.get("close", time="2025")
    # Without one, the last month that is over and has entries.
    assert "Month end, October 2026" in example.get("close")


def test_month_end_leads_to_the_line_and_to_the_import_page(
    example: Any, reading: Any
) -> None:
    links = reading(example.get("close", time="2026-09")).links
    editor = [address for address in links.values() if "/editor/?" in address]
    # But for the ledger itself, where nothing stands yet.
    editor = [each for each in editor if "main.beancount" not in each]
    assert editor and all("line=" in address for address in editor)
    inbox = {text: each for text, each in links.items() if text.startswith("inbox/")}
    october = reading(example.get("close", time="2026-10")).links
    inbox |= {text: each for text, each in october.items() if text.startswith("inbox/")}
    assert inbox and all("/import/" in address for address in inbox.values())


@pytest.mark.parametrize("report", list(CONTENTS))
def test_empty_ledger_has_every_page(report: str, tmp_path: Path) -> None:
    path = tmp_path / "empty.beancount"
    path.write_text("", encoding="utf-8")
    app = viewer(path, can_edit=False)
    slug = app.config["LEDGERS"].first_slug()
    client = app.test_client()
    for time in ("", "2025-03"):
        response = client.get(f"/{slug}/extension/Offcut/?report={report}&time={time}")
        assert response.status_code == 200
        assert "<h2>" in response.text


@pytest.mark.parametrize("report", list(CONTENTS))
def test_names_are_inert(report: str, shop: Any, reading: Any) -> None:
    text = shop.get(report)
    assert "<script>alert" not in text
    assert "<i>prints" not in text
    # fava's own scripts stand after the page's content, which has none.
    content = text[text.index('<div class="offcut">') :].split("<script type=")[0]
    assert content.rstrip().endswith("</div>")
    assert "script" not in reading(content).elements
    if report in ("design", "product"):
        assert "&lt;script&gt;alert(&#39;ink&#39;)&lt;/script&gt; $x_1$" in text


def test_what_is_asked_is_inert(shop: Any) -> None:
    client = shop.app.test_client()
    hostile = "<script>alert(1)</script>"
    for query in (
        {"report": hostile},
        {"report": "design", "filter": f'"{hostile}"'},
        {"report": "design", "account": hostile},
        {"report": "design", "sort": hostile},
        {"report": "design", "conversion": hostile.upper()},
        {"report": "design", "time": hostile},
    ):
        response = client.get(f"/{shop.slug}/extension/Offcut/", query_string=query)
        assert hostile not in response.text
        assert hostile.upper() not in response.text


def test_unknown_report_is_named(shop: Any) -> None:
    response = shop.app.test_client().get(f"/{shop.slug}/extension/Offcut/?report=stars")
    assert response.status_code == 500
    assert "expected one of design, product" in response.text


def test_digits_are_hidden_where_fava_hides_them(shop: Any, net_income_text: str) -> None:
    assert net_income_text in shop.get("design")
    shop.app.config["INCOGNITO"] = True
    hidden = shop.get("design")
    assert net_income_text not in hidden
    assert "XXX.XX" in hidden
    assert "<svg" not in hidden


def test_plugin_errors_are_in_favas_list_with_their_line(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(
        'option "operating_currency" "USD"\n'
        'plugin "offcut.plugins"\n'
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Income:Sales:Web\n"
        "2025-01-01 commodity MOTH\n"
        '  stock: "product"\n'
        '2025-03-01 * "Sold before it was made"\n'
        "  Assets:Cash  4 USD\n"
        "  Income:Sales:Web  -4 USD\n"
        '    item: "MOTH"\n'
        "    quantity: 1\n",
        encoding="utf-8",
    )
    app = viewer(path, can_edit=False)
    slug = app.config["LEDGERS"].first_slug()
    listed = app.test_client().get(f"/{slug}/api/errors").get_json()["data"]
    (error,) = [each for each in listed if "MOTH" in each["message"]]
    assert error["source"]["filename"] == str(path)
    assert error["source"]["lineno"] in (7, 9)
    page = app.test_client().get(f"/{slug}/extension/Offcut/?report=design").text
    assert "The ledger has 1 error, and figures may be wrong" in page


def test_missing_costing_is_in_favas_list(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(
        'option "operating_currency" "USD"\n'
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Income:Sales:Web\n"
        "2025-01-01 commodity MOTH\n"
        '  stock: "product"\n'
        '2025-03-01 * "Order"\n'
        "  Assets:Cash  4 USD\n"
        "  Income:Sales:Web  -4 USD\n"
        '    item: "MOTH"\n'
        "    quantity: 1\n",
        encoding="utf-8",
    )
    app = viewer(path, can_edit=False)
    slug = app.config["LEDGERS"].first_slug()
    (error,) = app.test_client().get(f"/{slug}/api/errors").get_json()["data"]
    assert "the costing is not switched on" in error["message"]
    assert error["source"]["lineno"] == 8


def test_plain_fava_has_the_pages_by_a_line(shop_ledger: Path) -> None:
    from fava.application import create_app

    with shop_ledger.open("a", encoding="utf-8") as file:
        file.write('2025-01-01 custom "fava-extension" "offcut.reports.viewer"\n')
    app = create_app([str(shop_ledger)], load=True)
    (ledger,) = app.config["LEDGERS"].ledgers
    assert [each.name for each in ledger.extensions.extension_details] == ["Offcut"]
    slug = app.config["LEDGERS"].first_slug()
    page = app.test_client().get(f"/{slug}/extension/Offcut/")
    assert "Profit per design" in page.text
    # With the line, `offcut view` shows one page and not two.
    (ledger,) = viewer(shop_ledger, can_edit=False).config["LEDGERS"].ledgers
    assert [each.name for each in ledger.extensions.extension_details] == ["Offcut"]
    assert ledger.errors == []


@pytest.mark.parametrize("time", ["", "2025", "2019"])
def test_caution_stands_before_the_first_tax_figure(example: Any, time: str) -> None:
    page = example.get("tax", time=time)
    content = page[page.index('<div class="offcut">') :]
    sections = content.split("<section>")[1:]
    assert len(sections) > (1 if time != "2019" else 0)
    for section in sections:
        caution = section.index(CAUTION)
        figure = re.search(r"<dd>|<td|class=\"check", section)
        assert figure is None or caution < figure.start()
    if time == "2019":
        assert "There are no rules of us-federal for 2019" in content
        assert "<td" not in content


def test_tax_settings_that_are_missing_are_asked_for(shop: Any) -> None:
    page = shop.get("tax")
    assert CAUTION in page
    assert "It is not known whose rules hold and who is taxed." in page
    assert "jurisdiction = &#34;us-federal&#34;" in page


def test_plan_takes_what_is_given_on_the_page(example: Any, reading: Any) -> None:
    plain = example.get("plan", name="wholesale")
    given = example.get("plan", name="wholesale", hour="18", rate="40%")
    assert "this page" not in plain and "this page" in given
    assert reading(plain).tables != reading(given).tables
    # What is typed stays in its field, and what cannot be read is said.
    assert 'name="hour" value="18"' in given
    wrong = example.get("plan", hour='"><script>x')
    assert "An hour of yours: expected a number such as 4.50" in wrong
    assert "<script>x" not in wrong


def test_unknown_names_are_said(shop: Any) -> None:
    hostile = "<script>alert(1)</script>"
    for report in ("design", "product", "event", "trace", "plan"):
        page = shop.get(report, name=hostile)
        assert hostile not in page
        assert "&lt;script&gt;alert(1)" in page
        assert 'role="alert"' in page


def test_digits_are_hidden_on_every_page(shop: Any, reading: Any) -> None:
    shop.app.config["INCOGNITO"] = True
    for report in CONTENTS:
        tables = reading(shop.get(report)).tables
        figures = [cell for table in tables for row in table[1:] for cell in row[1:]]
        assert not [each for each in figures if re.fullmatch(r"\W?[\d,]+\.\d\d", each)]


def test_main_file_is_where_a_point_without_a_place_leads(
    example: Any, reading: Any
) -> None:
    page = reading(example.get("close", time="2026-09"))
    (to_do,) = [table for table in page.tables if "9 items not counted" in table[1][0]]
    assert to_do[1][4] == "main.beancount"
    assert "/editor/?" in page.links["main.beancount"]

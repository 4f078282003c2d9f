"""The page: whole in itself, accessible by construction, and inert."""

from __future__ import annotations

import dataclasses
import datetime
import os
import re
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest
from beancount import loader

from offcut.reports.drawing import page as page_module
from offcut.reports.drawing.charts import MOST_BARS
from offcut.reports.drawing.report_files import write_page
from offcut.reports.net_income import Tie
from offcut.reports.period import Period
from offcut.reports.profit import GROUPINGS, ProfitReports, profit_reports
from offcut.reports.profit_statement import profit_statement
from offcut.reports.statement import Statement

D = Decimal
DASH, MINUS = "\N{EN DASH}", "\N{MINUS SIGN}"
TODAY = datetime.date(2026, 3, 4)
VOID = {"meta", "br", "link", "img", "hr", "input"}


def statements_of(reports: ProfitReports) -> list[Statement]:
    return [profit_statement(reports, grouping) for grouping in GROUPINGS]


def page(reports: ProfitReports, made_on: datetime.date) -> str:
    """Return the page of both profit reports."""
    title = f"Profit, {reports.period.label}"
    return page_module.page(statements_of(reports), title, reports.title, made_on)


class Page(HTMLParser):
    """A page taken apart; it fails where elements do not nest."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, text: str) -> None:
        if text.strip():
            self.texts.append((tuple(self.open), " ".join(text.split())))

    def texts_in(self, tag: str) -> list[str]:
        """Return the texts inside elements of a kind."""
        return [text for path, text in self.texts if tag in path]

    def named(self, tag: str) -> list[dict[str, str | None]]:
        """Return the attributes of elements of a kind."""
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.fixture
def shop_page(shop_reports: ProfitReports) -> Page:
    return Page(page(shop_reports, TODAY))


def test_says_what_it_is_about(shop_page: Page, net_income_text: str) -> None:
    assert shop_page.texts_in("h1") == ["Profit, all dates"]
    assert (
        shop_page.texts_in("title")[0] == f"Profit, all dates {DASH} Books & <i>prints</i>"
    )
    assert "All amounts in USD" in shop_page.texts_in("header")
    assert shop_page.texts_in("dd") == ["1,273.00", f"{MINUS}540.38", net_income_text]
    sentence = f"All rows add up to {net_income_text} USD"
    assert len([text for text in shop_page.texts_in("p") if sentence in text]) == 1
    assert any("1.25 EUR of net income" in text for text in shop_page.texts_in("p"))
    assert any("on 4 March 2026" in text for text in shop_page.texts_in("footer"))


def test_needs_nothing_from_elsewhere(shop_reports: ProfitReports) -> None:
    text = page(shop_reports, TODAY)
    # A name space is no address that anything is fetched from.
    text_without_name_space = text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert not re.search(
        r"https?:|//[a-z]|url\(|@import|@font-face", text_without_name_space
    )
    parsed = Page(text)
    tags = {tag for tag, _ in parsed.elements}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "form", "base"}
    names = {name for _, attributes in parsed.elements for name in attributes}
    assert not names & {"src", "xlink:href", "srcset", "data", "action"}
    links = parsed.named("a")
    assert links and all(str(link["href"]).startswith("#") for link in links)
    assert not {name for name in names if name.startswith("on")}


def test_names_are_inert(shop_page: Page) -> None:
    name = "<script>alert('ink')</script> $x_1$"
    assert name in shop_page.texts_in("th")
    assert name in shop_page.texts_in("text")
    assert "Books & <i>prints</i>" in shop_page.texts_in("header")
    assert not shop_page.named("i")


def test_control_characters_do_not_reach_the_page() -> None:
    entries, errors, options = loader.load_string(
        'option "title" "a\u202eb\x1b"\n'
        "2025-01-01 open Assets:Cash\n2025-01-01 open Expenses:Rent\n"
        '2025-03-01 * "Rent"\n  Expenses:Rent  1.00 USD\n  Assets:Cash\n'
    )
    assert not errors
    text = page(profit_reports(entries, options, Period()), TODAY)
    assert "\u202e" not in text and "\x1b" not in text
    assert "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}" in text


def test_every_table_has_a_caption_and_every_heading_a_scope(shop_page: Page) -> None:
    assert len(shop_page.named("table")) == len(shop_page.named("caption")) == 4
    assert len(shop_page.named("h1")) == 1
    headings = shop_page.named("th")
    assert headings
    assert all(heading.get("scope") in ("row", "col") for heading in headings)
    assert shop_page.named("html") == [{"lang": "en"}]
    assert any(meta.get("name") == "viewport" for meta in shop_page.named("meta"))
    ids = [attributes["id"] for _, attributes in shop_page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    labelled = [section["aria-labelledby"] for section in shop_page.named("section")]
    assert labelled and set(labelled) <= set(ids)


def test_cells_name_their_column_where_the_heading_is_out_of_sight(shop_page: Page) -> None:
    headings = [
        *("Units", "Sales", "Shipping", "Fees", "Post, pack", "Goods", "Other"),
        *("Contribution", "Margin"),
    ]
    named = [
        cell["data-heading"] for cell in shop_page.named("td") if "data-heading" in cell
    ]
    # Those rows are cards on a phone; a table of two columns stays a table there.
    cards = [row for row in shop_page.named("tr") if "role" in row and "class" in row]
    assert len(cards) > 2
    assert named == headings * len(cards)


def test_charts_are_named_and_their_figures_stand_in_the_tables(shop_page: Page) -> None:
    charts = shop_page.named("svg")
    assert [chart["role"] for chart in charts] == ["img", "img"]
    titles = [text for path, text in shop_page.texts if path[-2:] == ("svg", "title")]
    assert titles == ["Profit per design, bar chart", "Profit per channel, bar chart"]
    description = shop_page.texts_in("desc")[0]
    assert "Heron at Dusk 810.80" in description
    # A loss is among the designs, none among the channels.
    assert shop_page.texts_in("figcaption").count("loss") == 1
    labels = shop_page.texts_in("text")[1::2]
    assert labels
    assert set(labels) <= set(shop_page.texts_in("td"))


def test_products_follow_their_design(shop_page: Page) -> None:
    names = [text for path, text in shop_page.texts if "bdi" in path]
    at = names.index("Heron at Dusk")
    assert names[at + 1 : at + 3] == ["Heron print", "Heron sticker"]
    assert "HERON-PRT" in shop_page.texts_in("small")


def test_many_designs_are_not_all_drawn() -> None:
    text = "2025-01-01 open Assets:Cash\n2025-01-01 open Income:Sales:Web\n"
    for number in range(1, 31):
        text += (
            f'2025-03-01 * "Order"\n  Income:Sales:Web  -{number}.00 USD\n'
            f'    item: "D{number}"\n    quantity: 1\n  Assets:Cash\n'
        )
    entries, errors, options = loader.load_string(text)
    assert not errors
    parsed = Page(page(profit_reports(entries, options, Period()), TODAY))
    caption = " ".join(parsed.texts_in("figcaption"))
    assert f"The {MOST_BARS} largest of 30 are drawn; the table has all." in caption
    assert {"D1", "D30"} <= set(parsed.texts_in("th"))
    assert parsed.texts_in("figcaption").count("loss") == 0


def test_broken_tie_is_an_alert(shop_reports: ProfitReports) -> None:
    reports = dict(shop_reports.reports)
    reports["design"] = dataclasses.replace(reports["design"], tie=Tie(D(1), D(2), "USD"))
    parsed = Page(page(dataclasses.replace(shop_reports, reports=reports), TODAY))
    alerts = [one for one in parsed.named("p") if one.get("role") == "alert"]
    assert [one["class"] for one in alerts] == ["check broken"]
    assert any("DOES NOT ADD UP" in text for text in parsed.texts_in("p"))


def test_nothing_to_report() -> None:
    entries, _, options = loader.load_string("")
    parsed = Page(page(profit_reports(entries, options, Period()), TODAY))
    assert parsed.texts_in("p").count("No income and no costs on these days.") == 2
    assert not parsed.named("table") and not parsed.named("svg")


def test_only_costs() -> None:
    entries, errors, options = loader.load_string(
        "2025-01-01 open Assets:Cash\n2025-01-01 open Expenses:Rent\n"
        '2025-03-01 * "Rent"\n  Expenses:Rent  300.00 USD\n  Assets:Cash\n'
    )
    assert not errors
    parsed = Page(page(profit_reports(entries, options, Period()), TODAY))
    assert not parsed.named("svg")
    assert "Expenses:Rent" in parsed.texts_in("th")
    assert parsed.texts_in("dd")[-1] == f"{MINUS}300.00"


def test_contrast_of_text_is_aa() -> None:
    """4.5 to 1, by WCAG 2.2, success criterion 1.4.3, in light and in dark."""
    css = (Path(page_module.__file__).parent / "templates" / "statements.css").read_text(
        encoding="utf-8"
    )
    palettes = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    assert len(palettes) == 2
    for palette in palettes:
        colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", palette))
        for text in ("text", "quiet", "loss"):
            assert contrast(colours[text], colours["page"]) >= 4.5
        assert contrast(colours["text"], colours["band"]) >= 4.5
        assert contrast(colours["text"], colours["warning"]) >= 4.5
        # Shapes: 3 to 1, by success criterion 1.4.11.
        for shape in ("contribution", "loss"):
            assert contrast(colours[shape], colours["page"]) >= 3


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, as WCAG 2.2 defines it."""

    def luminance(colour: str) -> float:
        channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (
            channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
            for channel in channels
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    darker, lighter = sorted([luminance(one), luminance(other)])
    return (lighter + 0.05) / (darker + 0.05)


def test_page_is_written_whole(shop_reports: ProfitReports, tmp_path: Path) -> None:
    target = tmp_path / "Bücher.html"
    target.write_text("the one before")
    write_page(statements_of(shop_reports), "Profit", "Books", target)
    assert Page(target.read_text(encoding="utf-8")).texts_in("h1")
    assert os.listdir(tmp_path) == ["Bücher.html"]


def test_failed_writing_leaves_the_page_before(
    shop_reports: ProfitReports, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    target = tmp_path / "report.html"
    target.write_text("the one before")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_page(statements_of(shop_reports), "Profit", "Books", target)
    assert target.read_text() == "the one before"
    assert os.listdir(tmp_path) == ["report.html"]


def test_same_figures_give_the_same_page(shop_reports: ProfitReports) -> None:
    assert page(shop_reports, TODAY) == page(shop_reports, TODAY)

"""fava with the reports, on a small ledger of awkward names and on the example ledger."""

from __future__ import annotations

import shutil
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from fava.core import FavaLedger
from flask import Flask

from offcut.reports.viewer.server import viewer

EXAMPLE = Path(__file__).parents[3] / "example_ledger"


class Desk(NamedTuple):
    """fava with the reports, and the way to ask it."""

    app: Flask
    ledger: FavaLedger
    slug: str
    path: Path

    def get(self, report: str = "", **values: str) -> str:
        """Return the page of a report; it must be there."""
        query = {"report": report, **values} if report else values
        response = self.app.test_client().get(
            f"/{self.slug}/extension/Offcut/", query_string=query
        )
        assert response.status_code == 200, response.text
        return response.text


def desk_of(path: Path, can_edit: bool = False) -> Desk:
    app = viewer(path, can_edit)
    loader = app.config["LEDGERS"]
    return Desk(app, loader.ledgers[0], loader.first_slug(), path)


@pytest.fixture
def shop(shop_ledger: Path) -> Desk:
    """The small ledger, for reading."""
    return desk_of(shop_ledger)


@pytest.fixture
def open_shop(shop_ledger: Path) -> Desk:
    """The small ledger, for writing."""
    return desk_of(shop_ledger, can_edit=True)


@pytest.fixture(scope="session")
def example(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """The example ledger, for reading."""
    folder = tmp_path_factory.mktemp("example") / "ledger"
    # Its last month is there to be imported; it may have been here.
    left_out = shutil.ignore_patterns(".*", "*-2026-10.beancount")
    shutil.copytree(EXAMPLE, folder, ignore=left_out)
    return desk_of(folder / "main.beancount")


class _Tables(HTMLParser):
    """Reads the cells of a page's tables, and where their links and names lead."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self.links: dict[str, str] = {}
        self.journals: dict[str, str] = {}
        self.elements: list[str] = []
        self._cell: list[str] | None = None
        self._address = ""
        self._is_journal = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(tag)
        values = dict(attrs)
        if tag in ("th", "td"):
            self._is_journal = values.get("class") == "shown-in"
        label = values.get("aria-label") or ""
        if tag == "a" and label.endswith(" in the journal"):
            name = label.removeprefix("show ").removesuffix(" in the journal")
            self.journals[name] = values.get("href") or ""
        match tag:
            case "table":
                self.tables.append([])
            case "tr":
                self.tables[-1].append([])
            case "th" | "td":
                self._cell = []
            case "a":
                self._address = values.get("href") or ""

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell.append(data)
        if self._address:
            self.links[data.strip()] = self._address

    def handle_endtag(self, tag: str) -> None:
        if tag in ("th", "td") and self._cell is not None:
            # Figures are what tables are read for; the links to the journal stand beside.
            if not self._is_journal:
                self.tables[-1][-1].append("".join(self._cell).strip())
            self._cell = None
        elif tag == "a":
            self._address = ""


def read(html: str) -> Any:
    """Return the tables, links and elements of a page."""
    reader = _Tables()
    reader.feed(html)
    return reader


@pytest.fixture
def reading() -> Any:
    """Return what reads a page."""
    return read

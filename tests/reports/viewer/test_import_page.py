"""fava's import page imports with offcut's layouts, whether or not the ledger says how."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from beancount import loader

from tests.reports.viewer.conftest import EXAMPLE, desk_of

FILES = ("card-payments", "market-orders", "market-payments", "shop-orders")


@pytest.fixture
def open_example(tmp_path: Path) -> Any:
    """A copy of the example ledger, before its last month's files are imported."""
    folder = tmp_path / "ledger"
    left_out = shutil.ignore_patterns(".*", "*-2026-10.beancount")
    shutil.copytree(EXAMPLE, folder, ignore=left_out)
    return desk_of(folder / "main.beancount", can_edit=True)


def told(desk: Any, name: str, **query: str) -> Any:
    """Return what the import page is told."""
    answer = desk.app.test_client().get(f"/{desk.slug}/api/{name}", query_string=query)
    assert answer.status_code == 200, answer.text
    return answer.get_json()["data"]


def test_inbox_is_imported_file_by_file(open_example: Any) -> None:
    listed = told(open_example, "imports")
    found = {
        each["basename"]: [by["importer_name"] for by in each["importers"]]
        for each in listed
    }
    assert found == {f"{name}-2026-10.csv": [f"offcut.{name}"] for name in FILES}
    assert "File not imported" in open_example.get("close", time="2026-10")
    for each in listed:
        entries = told(
            open_example,
            "extract",
            filename=each["name"],
            importer=each["importers"][0]["importer_name"],
        )
        saved = open_example.app.test_client().put(
            f"/{open_example.slug}/api/add_entries", json={"entries": entries}
        )
        assert saved.status_code == 200, saved.text
        # What the next file is asked for, fava must have seen.
        open_example.ledger.load_file()
    page = open_example.get("close", time="2026-10")
    assert "File not imported" not in page
    _, errors, _ = loader.load_file(str(open_example.path))
    assert errors == []


def test_settings_count_as_they_are_now(open_example: Any) -> None:
    settings = open_example.path.parent / "offcut.toml"
    settings.write_text(settings.read_text(encoding="utf-8") + "\n[[items]\n", "utf-8")
    answer = open_example.app.test_client().get(f"/{open_example.slug}/api/imports")
    assert answer.status_code == 500
    assert "offcut.toml" in answer.get_json()["error"]


def test_configuration_of_the_ledger_stays(shop_ledger: Path) -> None:
    (shop_ledger.parent / "own.py").write_text("CONFIG = []\n", encoding="utf-8")
    with shop_ledger.open("a", encoding="utf-8") as file:
        file.write('2025-01-01 custom "fava-option" "import-config" "own.py"\n')
        file.write('2025-01-01 custom "fava-option" "import-dirs" "downloads"\n')
    ledger = desk_of(shop_ledger).ledger
    assert ledger.fava_options.import_config == "own.py"
    assert list(ledger.fava_options.import_dirs) == ["downloads"]
    assert ledger.ingest.loaded_config is not None
    assert dict(ledger.ingest.loaded_config.importers) == {}
    assert ledger.errors == []

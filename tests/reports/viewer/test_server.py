"""`offcut view`: on this machine only, and for reading unless it is told otherwise."""

from __future__ import annotations

import hashlib
import socket
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from werkzeug.test import TestResponse

from offcut.reports.command import main


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:5000", "127.0.0.1.evil.example", "", "[::1]"]
)
def test_foreign_host_is_refused(host: str, shop: Any) -> None:
    for path in (f"/{shop.slug}/extension/Offcut/", "/", f"/{shop.slug}/api/errors"):
        response = shop.app.test_client().get(path, headers={"Host": host})
        assert response.status_code == 403
        assert response.text.startswith("Refused: ")


@pytest.mark.parametrize("host", ["127.0.0.1:5000", "localhost:5000", "localhost"])
def test_own_host_is_served(host: str, shop: Any) -> None:
    path = f"/{shop.slug}/extension/Offcut/"
    response = shop.app.test_client().get(path, headers={"Host": host})
    assert response.status_code == 200


def save(desk: Any, new: str, **headers: str) -> TestResponse:
    """Put a text into the ledger's file, as fava's editor does."""
    old = desk.path.read_bytes()
    return desk.app.test_client().put(
        f"/{desk.slug}/api/source",
        json={
            "file_path": str(desk.path),
            "source": new,
            "sha256sum": hashlib.sha256(old).hexdigest(),
        },
        headers=headers,
    )


def test_nothing_is_written_without_edit(shop: Any) -> None:
    before = shop.path.read_text(encoding="utf-8")
    assert save(shop, before + "; more\n").status_code == 401
    assert shop.path.read_text(encoding="utf-8") == before


def test_edited_line_changes_the_figure(open_shop: Any) -> None:
    before = open_shop.path.read_text(encoding="utf-8")
    assert ">732.62<" in open_shop.get("design")
    changed = before.replace("Expenses:Software  9.00 USD", "Expenses:Software  10.00 USD")
    assert save(open_shop, changed).status_code == 200
    assert open_shop.path.read_text(encoding="utf-8") == changed
    assert ">731.62<" in open_shop.get("design")


def test_other_pages_cannot_save(open_shop: Any) -> None:
    before = open_shop.path.read_text(encoding="utf-8")
    for origin in ("http://evil.example", "null", "http://localhost:8080"):
        assert save(open_shop, before + "; evil\n", Origin=origin).status_code == 403
    assert open_shop.path.read_text(encoding="utf-8") == before
    assert save(open_shop, before + "; own\n", Origin="http://localhost").status_code == 200


def test_file_of_the_user_stays_as_it_is(shop: Any, shop_ledger: Path) -> None:
    assert "fava-extension" not in shop_ledger.read_text(encoding="utf-8")
    assert [path.name for path in shop_ledger.parent.iterdir()] == ["main.beancount"]


def test_missing_ledger_is_one_line(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["view", str(tmp_path / "none.beancount")])
    assert result.exit_code == 1
    assert "there is no such file" in result.stderr
    assert result.stderr.count("\n") == 1


def test_port_that_is_taken_is_one_line(shop_ledger: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        result = CliRunner().invoke(main, ["view", str(shop_ledger), "--port", str(port)])
    assert result.exit_code == 1
    assert result.stderr == (
        f"Error: port {port} cannot be had; name another one: --port {port + 1}\n"
    )

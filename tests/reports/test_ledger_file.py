"""Ledgers that can be loaded, and files that cannot."""

from __future__ import annotations

from pathlib import Path

import pytest

from offcut.reports.ledger_file import LedgerRefused, error_lines, load_ledger


def test_errors_of_the_ledger_are_lines(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(
        "2025-01-01 open Assets:Cash\n"
        "2025-01-01 open Expenses:Rent\n"
        '  report-as: "feas"\n'
        '2025-03-01 * "Rent"\n  Expenses:Rent  1.00 USD\n  Assets:Bank\n'
    )
    ledger = load_ledger(path)
    assert len([entry for entry in ledger.entries if hasattr(entry, "postings")]) == 1
    assert list(error_lines(ledger.errors)) == [
        f'{path}:2: Expenses:Rent: report-as is "feas" (did you mean fees?); write one of '
        "gross, discount, refund, shipping, fees, postage, packaging, cost-of-goods, "
        "giveaways, spoilage, selling, other",
        f"{path}:4: Invalid reference to unknown account 'Assets:Bank'. Correct the name, "
        "or open the account: 2025-03-01 open Assets:Bank",
    ]


def test_many_errors_are_counted(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text("2025-01-01 balance Assets:Cash  1 USD\n" * 13)
    lines = list(error_lines(load_ledger(path).errors, most=3))
    assert len(lines) == 4
    total = len(load_ledger(path).errors)
    assert lines[3] == f"… and {total - 3} more errors; `bean-check LEDGER` lists them all"


def test_missing_file(tmp_path: Path) -> None:
    path = tmp_path / "nope.beancount"
    with pytest.raises(LedgerRefused) as caught:
        load_ledger(path)
    assert str(caught.value) == (
        f"{path}: there is no such file; go to the folder of your books, or give their "
        "main file, or found books by `offcut new`"
    )


def test_folder(tmp_path: Path) -> None:
    with pytest.raises(LedgerRefused) as caught:
        load_ledger(tmp_path)
    assert str(caught.value) == (
        f"{tmp_path}: this is a folder; give the main ledger file in it"
    )


def test_file_that_is_no_text(tmp_path: Path) -> None:
    path = tmp_path / "photo.jpg"
    path.write_bytes(b"ab\xff\xd8")
    with pytest.raises(LedgerRefused) as caught:
        load_ledger(path)
    assert str(caught.value) == (
        f"{path}: byte 3 is not UTF-8 text; a ledger is a plain-text file saved as UTF-8"
    )


def test_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    path = tmp_path / "main.beancount"
    with pytest.raises(LedgerRefused) as caught:
        load_ledger(path)
    assert str(caught.value) == f"{path}: cannot be read: Permission denied"


@pytest.mark.parametrize(
    ("plugin", "told"),
    [("", True), ('plugin "offcut.plugins"', False), ('plugin "fava.ext"', True)],
)
def test_stock_sold_without_the_costing_is_told(
    tmp_path: Path, plugin: str, told: bool
) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(
        f"{plugin}\n"
        '2025-01-01 commodity HERON-STK\n  stock: "product"\n'
        '2025-03-01 * "Sale"\n  Assets:Cash  4.00 USD\n  Income:Sales:Web\n'
        '    item: "HERON-STK"\n    quantity: 1\n'
    )
    message = (
        f"{path}:6: This sells stock, but the costing is not switched on, so that no cost "
        'is taken off. Write plugin "offcut.plugins" at the top of main.beancount'
    )
    assert (message in error_lines(load_ledger(path).errors)) is told

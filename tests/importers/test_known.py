"""What a ledger has is found in its text."""

from __future__ import annotations

from pathlib import Path

import pytest

from offcut.importers.known import scan_ledger


def write(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        path = folder / f"{name.replace('__', '/')}.beancount"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    return folder / "main.beancount"


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_ids_commodities_and_accounts(tmp_path: Path, line_end: str) -> None:
    text = """\
2025-01-01 open Assets:Bank  USD
2025/01/01 commodity HERON-STK
  source-id: "on a commodity"
2025-01-01 * "first"
  source-id: "card/ch_1"
\tlines-id:  "shop/\\"W1\\" \\\\" ; an order
;  source-id: "card/commented-out"
; 2025-01-01 open Assets:Commented
2025-01-02 * "source-id: \\"card/in-a-text\\""
  other-source-id: "card/other-key"
"""
    main = tmp_path / "main.beancount"
    main.write_bytes(text.replace("\n", line_end).encode())

    known = scan_ledger(main)

    assert known.source_ids == {"card/ch_1", "on a commodity"}
    assert known.lines_ids == {'shop/\\"W1\\" \\\\'}
    assert known.commodities == {"HERON-STK"}
    assert known.accounts == {"Assets:Bank"}


def test_includes_are_followed_once_and_imports_always_read(tmp_path: Path) -> None:
    main = write(
        tmp_path,
        main='include "books/*.beancount"\ninclude "main.beancount"\n',
        books__a='include "../main.beancount"\n2025-01-01 open Assets:A\n',
        books__b="2025-01-01 open Assets:B\n",
        imports__c="2025-01-01 open Assets:C\n",
    )

    known = scan_ledger(main)

    assert known.accounts == {"Assets:A", "Assets:B", "Assets:C"}
    assert {path.stem for path in known.included} == {"main", "a", "b"}

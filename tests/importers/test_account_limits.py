"""Tests of accounts that the ledger opens late, closes, or keeps to a currency."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.importers.shop import LEDGER, new_shop

SALE = "2025-03-04,Sale,W1,x,11.00,0.61,10.39,USD,ch_1"
CARD = "Assets:Clearing:Card"


@pytest.mark.parametrize(
    ("directives", "expected"),
    [
        (
            f"2025-06-01 open {CARD}\n",
            f"expected a day from 2025-06-01 on, when the ledger opens {CARD}, found "
            "2025-03-04; open the account earlier, or leave the row out",
        ),
        (
            f"2020-01-01 open {CARD}\n2024-12-31 close {CARD}\n",
            f"expected a day up to 2024-12-31, when the ledger closes {CARD}, found "
            "2025-03-04; close the account later, or name another in the layout's "
            "[accounts]",
        ),
        (
            f'2020-01-01 open {CARD}  EUR, GBP "STRICT" ; not USD\n',
            f"expected EUR or GBP, which is all that {CARD} takes, found USD; add it to "
            "the account's open directive, or name another account in the layout's "
            "[accounts]",
        ),
    ],
)
def test_what_an_account_does_not_take_is_refused(
    tmp_path: Path, directives: str, expected: str
) -> None:
    shop = new_shop(tmp_path / "shop", ledger=LEDGER + directives)

    assert shop.refused(shop.payments(SALE)) == [
        f"payments.csv: row 2: {expected}, nothing was imported"
    ]


@pytest.mark.parametrize(
    "directives",
    [
        f"2025-03-04 open {CARD}\n2025-03-04 close {CARD}\n",
        f"2020-01-01 open {CARD} USD,EUR\n",
        f'2020/01/01 open {CARD} USD "FIFO" ; EUR\n',
        f"2025-06-01 open {CARD}:Other EUR\n",
    ],
)
def test_what_an_account_takes_is_booked(tmp_path: Path, directives: str) -> None:
    shop = new_shop(tmp_path / "shop", ledger=LEDGER + directives)

    shop.run(shop.payments(SALE))

    assert CARD in shop.balances()


def test_an_account_is_named_once_for_all_rows(tmp_path: Path) -> None:
    late = f"2025-06-01 open {CARD}\n2025-06-01 open Expenses:Fees:Card\n"
    shop = new_shop(tmp_path / "shop", ledger=LEDGER + late)

    lines = shop.refused(
        shop.payments(SALE, SALE.replace("ch_1", "ch_2").replace("03-04", "03-03"))
    )

    assert [line.partition(" expected")[0] for line in lines] == [
        "payments.csv: row 3:",
        "payments.csv: row 3:",
    ]


def test_row_of_order_lines_is_named(tmp_path: Path) -> None:
    late = "2025-06-01 open Assets:Receivable:Web\n"
    shop = new_shop(tmp_path / "shop", ledger=LEDGER + late)

    (line,) = shop.refused(shop.orders("W1,2025-03-04,Heron,1,11.00,0,0,0,USD"))

    assert line.startswith("orders.csv: row 2: expected a day from 2025-06-01 on")

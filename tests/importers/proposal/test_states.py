"""What a column of states in a file of orders says is cancelled, left out or asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from offcut.importers.importing import read_records
from offcut.importers.proposal.proposing import Proposal, Wishes, propose_file

WISHES = Wishes("studio", "order-lines", channel="Web", currency="USD")
HEADER = "Order,Date,Item,Quantity,Unit price,Status\n"


def proposed(folder: Path, *rows: str, **answers: str) -> Proposal:
    """Return what is proposed for orders, each row an order's number, item and state."""
    lines = []
    for at, row in enumerate(rows):
        number, item, state = row.split(",")
        lines.append(f"{number},2025-03-{at + 11},{item},{at + 1},{at + 2}.50,{state}\n")
    path = folder / "orders.csv"
    path.write_text(HEADER + "".join(lines), "utf-8")
    return propose_file(path, WISHES, answers)


@pytest.mark.parametrize(
    "word",
    [
        *("cancelled", "Canceled", "VOID", "storniert", "Annulée", "anulado", "annullato"),
        *("geannuleerd", "Zrušeno", "Anulowane", "peruttu"),
    ],
)
def test_word_that_says_cancelled_is_one_of_the_layout_s(tmp_path: Path, word: str) -> None:
    found = proposed(tmp_path, "W1,Card,paid", f"W2,Card,{word}", "W3,Print,paid")

    assert found.doubts == ()
    assert found.layout.columns["status"] == ("Status",)
    assert found.layout.cancelled == {word.casefold()}
    assert f'cancelled = ["{word}"]' in found.text
    assert found.layout.leave_out == ()


def test_word_that_may_say_it_is_asked(tmp_path: Path) -> None:
    rows = ("W1,Card,paid", "W2,Card,called off", "W3,Print,paid")

    (doubt,) = proposed(tmp_path, *rows).doubts

    assert doubt.key == "leave-out.called off"
    assert [each.value for each in doubt.choices] == ["leave-out", "book", "cancelled"]
    answered = proposed(tmp_path, *rows, **{doubt.key: "cancelled"})
    assert answered.layout.cancelled == {"called off"}
    assert answered.doubts == ()


def test_line_that_is_cancelled_stays_out_of_its_order(tmp_path: Path) -> None:
    found = proposed(tmp_path, "W1,Card,paid", "W1,Print,cancelled", "W2,Card,paid")

    read = read_records("orders.csv", (tmp_path / "orders.csv").read_bytes(), found.layout)
    assert [[line.item for line in order.lines] for order in read.orders] == [["Card"]] * 2
    assert [each.reason for each in read.left_out] == ["cancelled"]


def test_states_of_single_lines_are_left_out_as_they_were(tmp_path: Path) -> None:
    """Which of an order's lines are of which state, a column of states cannot say."""
    found = proposed(
        tmp_path, "W1,Card,paid", "W1,Print,completed", "W1,Book,void", "W2,Card,void"
    )

    assert "status" not in found.layout.columns
    assert [rule.equals for rule in found.layout.leave_out] == ["void"]
    assert found.doubts == ()


def test_takings_have_no_orders_to_cancel(tmp_path: Path) -> None:
    path = tmp_path / "takings.csv"
    path.write_text(
        "Date,Order,Gross,Fee,Net,Status\n2025-03-11,W1,4.00,0.40,3.60,paid\n"
        "2025-03-12,W2,5.00,0.50,4.50,void\n2025-03-13,W3,6.00,0.60,5.40,paid\n",
        "utf-8",
    )

    found = propose_file(path, WISHES._replace(kind="payments"), {})

    (doubt,) = [each for each in found.doubts if each.key == "leave-out.void"]
    assert [each.value for each in doubt.choices] == ["leave-out", "book"]

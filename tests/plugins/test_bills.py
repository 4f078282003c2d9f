"""How bills hang together, and those that hang in a circle."""

from __future__ import annotations

from beancount import loader
from beancount.core import data

from offcut.plugins.bills import depths
from offcut.plugins.stock_directives import Bill, read_directive
from tests.conftest import load_text
from tests.plugins.books import complaints, units_on_hand


def bills_of(text: str) -> dict[str, list[Bill]]:
    """Return the bills of a ledger by product."""
    entries, errors, _ = loader.load_string(text)
    assert errors == []
    bills: dict[str, list[Bill]] = {}
    for entry in entries:
        assert isinstance(entry, data.Custom)
        bill = read_directive(entry)
        assert isinstance(bill, Bill)
        bills.setdefault(bill.output.item, []).append(bill)
    return bills


def bill(text: str) -> str:
    """Return a bill."""
    return f'2025-01-01 custom "bill-of-materials" {text}\n'


def test_a_product_of_materials_alone_has_no_depth() -> None:
    assert depths(bills_of(bill("6 HERON 1 VINYL"))) == ({"HERON": 0}, [])


def test_a_set_is_one_deeper_than_its_deepest_part() -> None:
    found, circular = depths(
        bills_of(
            bill("1 CRATE 3 PACK 1 HERON")
            + bill("1 PACK 2 HERON 1 MOTH")
            + bill("6 HERON 1 VINYL")
            + bill("4 MOTH 1 VINYL")
        )
    )
    assert found == {"HERON": 0, "MOTH": 0, "PACK": 1, "CRATE": 2}
    assert circular == []


def test_all_versions_of_a_bill_count() -> None:
    found, _ = depths(
        bills_of(bill("1 PACK 1 VINYL") + bill("1 PACK 2 HERON") + bill("6 HERON 1 VINYL"))
    )
    assert found["PACK"] == 1


def test_a_part_without_a_bill_is_bought() -> None:
    assert depths(bills_of(bill("1 PACK 2 HERON")))[0] == {"PACK": 0}


def test_a_part_that_a_run_names_counts_like_one_of_a_bill() -> None:
    found, circular = depths(bills_of(bill("6 HERON 1 VINYL")), {"PACK": {"HERON", "BAG"}})
    assert found == {"HERON": 0, "PACK": 1}
    assert circular == []


def test_runs_that_rework_a_product_into_another_and_back_are_no_circle_of_bills() -> None:
    found, circular = depths({}, {"GLITTER": {"PLAIN"}, "PLAIN": {"GLITTER"}})
    assert found.keys() == {"GLITTER", "PLAIN"}
    assert circular == []


def test_bills_in_a_circle_are_all_found_and_those_beside_it_are_not() -> None:
    _, circular = depths(
        bills_of(
            bill("1 FROG 1 NEWT")
            + bill("1 NEWT 1 TOAD")
            + bill("1 TOAD 1 FROG")
            + bill("1 POND 1 FROG")
            + bill("1 HERON 1 VINYL")
        )
    )
    assert sorted(each.output.item for each in circular) == ["FROG", "NEWT", "TOAD"]


HEAD = """\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity PACK
  stock: "product"
2025-01-01 commodity VINYL
  stock: "material"
2025-01-02 * "Bought"
  Assets:Materials:VINYL  10 VINYL {0.40 USD}
  Assets:Bank
2025-02-01 custom "print-run" 10 HERON 5 VINYL
"""
NEXT_LINE = HEAD.count("\n") + 1


def test_circular_bills_are_errors_on_each_ones_line_and_the_rest_is_costed() -> None:
    loaded = load_text(HEAD + bill("1 HERON 1 PACK") + bill("1 PACK 1 HERON"))
    told = complaints(loaded)
    assert sorted(line for line, _ in told) == [NEXT_LINE, NEXT_LINE + 1]
    assert all("comes back to itself" in message for _, message in told)
    assert units_on_hand(loaded, "VINYL") == 5


def test_a_product_that_is_a_part_of_itself_is_an_error() -> None:
    loaded = load_text(HEAD + bill("1 PACK 1 PACK 1 VINYL"))
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert "The bill of PACK comes back to itself" in message


def test_a_bill_for_a_product_that_is_not_there_is_an_error_on_its_line() -> None:
    loaded = load_text(HEAD + bill("6 HERRON 1 VINYL"))
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert "HERRON" in message
    assert "did you mean HERON?" in message
    assert units_on_hand(loaded, "HERON") == 10


def test_an_unknown_part_of_a_bill_is_one_error_however_often_it_is_used() -> None:
    loaded = load_text(
        HEAD
        + bill("1 PACK 1 HERON 1 VINYLL")
        + 2 * '2025-02-02 custom "print-run" 1 PACK\n'
    )
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert "A part of this bill is VINYLL" in message
    assert units_on_hand(loaded, "PACK") == 2

"""Print runs: materials in, good pieces out, and what spoilage costs."""

from __future__ import annotations

from decimal import Decimal

import pytest
from beancount.core import data

from tests.conftest import Loaded, load_text
from tests.plugins.books import (
    complaints,
    costs,
    on_hand,
    total,
    transactions,
    units_on_hand,
    value_on_hand,
)

D = Decimal
CENT = D("0.01")

HEAD = """\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
  normal-spoilage: 0.05
2025-01-01 commodity MOTH
  stock: "product"
2025-01-01 commodity PACK
  stock: "product"
2025-01-01 commodity VINYL
  stock: "material"
2025-01-01 commodity INK
  stock: "material"
2025-01-02 * "Bought"
  Assets:Materials:VINYL   10 VINYL {0.40 USD}
  Assets:Materials:VINYL   90 VINYL {0.50 USD}
  Assets:Materials:INK    500 INK {{12.60 USD}}
  Assets:Bank
"""
BILLS = """\
2025-01-01 custom "bill-of-materials" 6 HERON 1 VINYL 5.4 INK
2025-01-01 custom "bill-of-materials" 4 MOTH 1 VINYL
2025-01-01 custom "bill-of-materials" 1 PACK 2 HERON 1 MOTH
"""
NEXT_LINE = HEAD.count("\n") + 1


def run(text: str, date: str = "2025-02-03") -> str:
    """Return a print run."""
    return f'{date} custom "print-run" {text}\n'


# --- what a run does ---------------------------------------------------------------


def test_a_runs_pieces_cost_what_its_materials_cost() -> None:
    loaded = load_text(HEAD + run("60 HERON 12 VINYL"))
    assert complaints(loaded) == []
    # 10 x 0.40 + 2 x 0.50 = 5.00, over 60
    assert value_on_hand(loaded, "HERON") == D("5.00")
    assert units_on_hand(loaded, "HERON") == D(60)
    assert on_hand(loaded, "VINYL") == [(D(88), D("0.50"))]


def test_materials_leave_by_their_own_method() -> None:
    loaded = load_text(
        HEAD
        + '2025-01-01 open Assets:Materials:VINYL VINYL "AVERAGE"\n'
        + '2025-01-03 * "Bought"\n  Assets:Materials:VINYL  100 VINYL {0.70 USD}\n'
        + "  Assets:Bank\n"
        + run("10 HERON 10 VINYL")
    )
    assert complaints(loaded) == []
    # 4.00 + 45.00 + 70.00 for 200: 0.595 each
    assert value_on_hand(loaded, "HERON") == D("5.95")


def test_a_run_is_a_transaction_at_its_directives_line_with_its_metadata() -> None:
    loaded = load_text(HEAD + run("60 HERON 12 VINYL") + "  minutes: 95\n")
    (entry,) = (e for e in transactions(loaded) if e.narration.startswith("Print run"))
    assert entry.narration == "Print run: 60 HERON"
    assert entry.meta["lineno"] == NEXT_LINE
    assert entry.meta["minutes"] == D(95)
    assert str(entry.date) == "2025-02-03"
    assert {posting.meta["item"] for posting in entry.postings} == {"VINYL", "HERON"}


def test_with_no_inputs_named_the_bill_says_what_went_in() -> None:
    loaded = load_text(HEAD + BILLS + run("60 HERON"))
    assert complaints(loaded) == []
    assert units_on_hand(loaded, "VINYL") == D(90)
    assert units_on_hand(loaded, "INK") == D(500) - D(54)
    # 10 x 0.40 and 54 x 0.0252
    assert value_on_hand(loaded, "HERON") == D("4.00") + D("1.3608")


def test_by_the_bill_spoiled_pieces_use_up_material_too() -> None:
    loaded = load_text(HEAD + BILLS + run("58 HERON") + "  spoiled: 2\n")
    assert units_on_hand(loaded, "VINYL") == D(90)
    assert units_on_hand(loaded, "HERON") == D(58)


def test_named_inputs_are_taken_as_they_are_whatever_the_bill_says() -> None:
    loaded = load_text(HEAD + BILLS + run("60 HERON 11 VINYL"))
    assert units_on_hand(loaded, "VINYL") == D(89)
    assert units_on_hand(loaded, "INK") == D(500)


def test_the_bill_in_force_is_the_newest_up_to_the_runs_day() -> None:
    loaded = load_text(
        HEAD
        + BILLS
        + '2025-02-03 custom "bill-of-materials" 10 HERON 1 VINYL\n'
        + '2025-02-04 custom "bill-of-materials" 1 HERON 1 VINYL\n'
        + run("60 HERON")
    )
    assert units_on_hand(loaded, "VINYL") == D(94)


def test_what_a_bill_takes_of_a_third_of_a_sheet_is_taken_to_four_places() -> None:
    loaded = load_text(
        HEAD
        + '2025-01-01 custom "bill-of-materials" 3 HERON 1 VINYL\n'
        + run("1 HERON")
        + run("1 HERON", "2025-02-04")
    )
    assert units_on_hand(loaded, "VINYL") == D(100) - 2 * D("0.3333")


@pytest.mark.parametrize("pieces", [7, 37, 58, 59, 61])
def test_a_run_of_any_number_is_worth_its_materials_to_the_last_digit(pieces: int) -> None:
    loaded = load_text(HEAD + BILLS + run(f"{pieces} HERON") + "  spoiled: 1\n")
    assert complaints(loaded) == []
    used = 49 - value_on_hand(loaded, "VINYL") + D("12.60") - value_on_hand(loaded, "INK")
    made = value_on_hand(loaded, "HERON") + total(loaded, "Expenses:Spoilage")
    assert made == used
    assert all(units == int(units) for units, _ in on_hand(loaded, "HERON"))


# --- gang runs ---------------------------------------------------------------------


def test_a_gang_run_shares_each_material_by_the_bills() -> None:
    # By the bills 30 HERON take 5 VINYL and 20 MOTH take 5; only HERON takes INK.
    loaded = load_text(HEAD + BILLS + run("30 HERON 20 MOTH 12 VINYL 50 INK"))
    assert complaints(loaded) == []
    vinyl = D("4.00") + D("1.00")
    assert value_on_hand(loaded, "HERON") == vinyl / 2 + 50 * D("0.0252")
    assert value_on_hand(loaded, "MOTH") == vinyl / 2


def test_a_gang_run_takes_what_the_bills_say() -> None:
    loaded = load_text(HEAD + BILLS + run("30 HERON 20 MOTH"))
    assert units_on_hand(loaded, "VINYL") == D(90)
    assert units_on_hand(loaded, "INK") == D(500) - D(27)
    assert value_on_hand(loaded, "HERON") == D("2.00") + 27 * D("0.0252")
    assert value_on_hand(loaded, "MOTH") == D("2.00")


def test_without_bills_a_gang_run_shares_by_pieces() -> None:
    loaded = load_text(HEAD + run("30 HERON 20 MOTH 10 VINYL"))
    assert value_on_hand(loaded, "HERON") == D("2.40")
    assert value_on_hand(loaded, "MOTH") == D("1.60")


def test_a_gang_run_is_one_transaction_that_names_all_it_made() -> None:
    loaded = load_text(HEAD + run("30 HERON 20 MOTH 10 VINYL"))
    narrations = [entry.narration for entry in transactions(loaded)]
    assert narrations == ["Bought", "Print run: 30 HERON, 20 MOTH"]


def test_spoiled_pieces_of_a_gang_run_name_their_product() -> None:
    loaded = load_text(HEAD + run("30 HERON 20 MOTH 10 VINYL") + "  spoiled: 5 MOTH\n")
    assert complaints(loaded) == []
    # By pieces: 30 to 25 of 4.00; MOTH has no normal rate, so 5 of its 25 are abnormal.
    moth = D("4.00") * 25 / 55
    spoilage = total(loaded, "Expenses:Spoilage:MOTH")
    assert spoilage.quantize(D("1E-9")) == (moth / 5).quantize(D("1E-9"))
    everything = value_on_hand(loaded, "HERON") + value_on_hand(loaded, "MOTH") + spoilage
    assert everything == D("4.00")


def test_spoiled_pieces_of_an_unnamed_product_in_a_gang_run_are_an_error() -> None:
    loaded = load_text(HEAD + run("30 HERON 20 MOTH 10 VINYL") + "  spoiled: 5\n")
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert "Which product was spoiled?" in message


def test_spoiled_pieces_of_what_the_run_did_not_make_are_an_error() -> None:
    loaded = load_text(HEAD + run("30 HERON 10 VINYL") + "  spoiled: 5 MOTH\n")
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert "MOTH is said to be spoiled, but the run made HERON" in message


# --- chains ------------------------------------------------------------------------


def test_a_set_takes_the_pieces_that_it_is_made_of() -> None:
    loaded = load_text(
        HEAD
        + BILLS
        + run("60 HERON 10 VINYL")
        + run("20 MOTH 5 VINYL", "2025-02-04")
        + run("10 PACK", "2025-02-05")
    )
    assert complaints(loaded) == []
    assert units_on_hand(loaded, "HERON") == D(40)
    assert units_on_hand(loaded, "MOTH") == D(10)
    # 20 of 60 that cost 4.00, 10 of 20 that cost 2.50; the total is exact.
    left = value_on_hand(loaded, "HERON") + value_on_hand(loaded, "MOTH")
    pack = value_on_hand(loaded, "PACK")
    assert left + pack == D("6.50")
    assert pack.quantize(CENT) == (D("4.00") / 3 + D("1.25")).quantize(CENT)


CHAIN = [run("10 PACK"), run("20 MOTH 5 VINYL"), run("60 HERON 10 VINYL")]


@pytest.mark.parametrize("chain", [CHAIN, CHAIN[::-1], [CHAIN[1], CHAIN[0], CHAIN[2]]])
def test_a_set_may_be_made_on_the_day_of_its_parts(chain: list[str]) -> None:
    loaded = load_text(HEAD + BILLS + "".join(chain))
    assert complaints(loaded) == []
    assert units_on_hand(loaded, "HERON") == D(40)
    assert units_on_hand(loaded, "PACK") == D(10)


@pytest.mark.parametrize("backwards", [False, True])
def test_a_set_without_a_bill_may_be_made_on_the_day_of_the_parts_that_its_run_names(
    backwards: bool,
) -> None:
    chain = [run("60 HERON 10 VINYL"), run("4 PACK 1 VINYL 20 HERON")]
    loaded = load_text(HEAD + "".join(chain[:: -1 if backwards else 1]))
    assert complaints(loaded) == []
    assert units_on_hand(loaded, "HERON") == D(40)


def test_a_gang_run_with_a_set_in_it_comes_after_the_runs_of_the_sets_parts() -> None:
    # The first product of the gang run is made of sheets alone, the second is a set.
    loaded = load_text(
        HEAD
        + BILLS
        + '2025-01-01 commodity CARD\n  stock: "product"\n'
        + '2025-01-01 custom "bill-of-materials" 4 CARD 1 VINYL\n'
        + run("20 CARD 10 PACK")
        + run("60 HERON 10 VINYL")
        + run("20 MOTH 5 VINYL")
    )
    assert complaints(loaded) == []
    assert units_on_hand(loaded, "HERON") == D(40)


def test_a_runs_pieces_may_be_sold_on_its_day() -> None:
    loaded = load_text(
        HEAD
        + '2025-02-03 * "Sale"\n  Assets:Bank  4.00 USD\n  Income:Sales:Web  -4.00 USD\n'
        + '    item: "HERON"\n    quantity: 2\n'
        + run("10 HERON 10 VINYL")
    )
    assert complaints(loaded) == []
    assert costs(loaded) == {"Sale": D("0.80")}


# --- spoilage ----------------------------------------------------------------------


def spoiled(good: int, bad: int, cost: str, rate: str) -> Loaded:
    """Load one run of so many pieces that cost so much in all."""
    loaded = load_text(
        f"""\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity PART
          stock: "product"
          normal-spoilage: {rate}
        2025-01-01 commodity SHEET
          stock: "material"
        2025-01-02 * "Bought"
          Assets:Materials:SHEET  1 SHEET {{{cost} USD}}
          Assets:Bank
        2025-01-03 custom "print-run" {good} PART 1 SHEET
          spoiled: {bad}
        """
    )
    assert complaints(loaded) == []
    return loaded


def test_abnormal_spoilage_of_a_job_is_an_expense() -> None:
    # Horngren, Datar, Rajan, Cost Accounting: A Managerial Emphasis, chapter 18, Hull
    # Machine Shop: 50 parts at 2,000, 5 of them spoiled; 90,000 for the 45 good ones. The
    # book's disposal value of the spoiled ones (5 x 600) is left out: misprints have none.
    loaded = spoiled(45, 5, "100000", "0")
    assert value_on_hand(loaded, "PART") == D(90000)
    assert on_hand(loaded, "PART") == [(D(45), D(2000))]
    assert total(loaded, "Expenses:Spoilage:PART") == D(10000)


def test_normal_spoilage_of_a_job_stays_in_the_good_pieces() -> None:
    # The same job, spoilage normal for it, without disposal value: worked by hand, all of
    # 100,000 over 45.
    loaded = spoiled(45, 5, "100000", "0.2")
    assert value_on_hand(loaded, "PART") == D(100000)
    assert total(loaded, "Expenses:Spoilage") == 0


def test_a_process_with_normal_and_abnormal_spoilage_has_the_textbooks_figures() -> None:
    # Horngren, Datar, Rajan, Cost Accounting, problem 18-30 (Boston Company): 20,500 good
    # pieces, 3,300 spoiled, of which normal 10 % of the good, 2,050. What was finished cost
    # 69,809.00 + 6,980.90 + 4,256.65 (work in process aside); good with normal spoilage
    # 76,790 and abnormal 4,257 are printed, to the dollar.
    loaded = spoiled(20500, 3300, "81046.55", "0.1")
    dollar = D(1)
    assert total(loaded, "Expenses:Spoilage:PART").quantize(dollar) == D(4257)
    assert value_on_hand(loaded, "PART").quantize(dollar) == D(76790)
    assert total(loaded, "Expenses:Spoilage:PART").quantize(CENT) == D("4256.65")


def test_the_smallest_example_of_normal_and_abnormal_spoilage() -> None:
    # 550 made for 2,200: 500 good, 30 normal, 20 abnormal (an examination question; 2,120
    # transferred out is its answer, 80 and 4.24 follow).
    loaded = spoiled(500, 50, "2200", "0.06")
    assert total(loaded, "Expenses:Spoilage:PART") == D(80)
    assert on_hand(loaded, "PART") == [(D(500), D("4.24"))]


def test_spoilage_at_the_normal_rate_is_no_expense() -> None:
    loaded = spoiled(100, 5, "10.50", "0.05")
    assert total(loaded, "Expenses:Spoilage") == 0
    assert on_hand(loaded, "PART") == [(D(100), D("0.105"))]


def test_one_piece_above_the_normal_rate_is_an_expense() -> None:
    # 6 spoiled, 5 expected: one of 106 pieces at 0.10
    loaded = spoiled(100, 6, "10.60", "0.05")
    assert total(loaded, "Expenses:Spoilage:PART") == D("0.10")


def test_a_print_shops_job_costs_its_materials() -> None:
    # OpenStax, Principles of Accounting, Volume 2: Managerial Accounting, chapter 4,
    # Dinosaur Vinyl, job MAC001: materials 300 vinyl, 2 x 50 black ink, 60 red, 60 gold,
    # 12 x 10 grommets, 40 x 1.50 wood: 700. Labour and overhead are no cost in these books.
    loaded = load_text(
        """\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity SIGN
          stock: "product"
        2025-01-01 commodity VINYL
          stock: "material"
        2025-01-01 commodity BLACK
          stock: "material"
        2025-01-01 commodity RED
          stock: "material"
        2025-01-01 commodity GOLD
          stock: "material"
        2025-01-01 commodity EYES
          stock: "material"
        2025-01-01 commodity WOOD
          stock: "material"
        2025-01-02 * "Bought"
          Assets:Raw   500 VINYL {1 USD}
          Assets:Raw     5 BLACK {50 USD}
          Assets:Raw     2 RED {60 USD}
          Assets:Raw     2 GOLD {60 USD}
          Assets:Raw    20 EYES {10 USD}
          Assets:Raw   100 WOOD {1.50 USD}
          Assets:Bank
        2025-01-03 custom "print-run" 1 SIGN 300 VINYL 2 BLACK 1 RED 1 GOLD 12 EYES 40 WOOD
        2025-01-04 * "Job MAC001"
          Assets:Bank          2000 USD
          Income:Sales:Signs  -2000 USD
            item: "SIGN"
            quantity: 1
        """
    )
    assert complaints(loaded) == []
    assert costs(loaded) == {"Job MAC001": D(700)}


# --- materials that are short ------------------------------------------------------


def test_material_that_is_short_is_an_error_and_its_cost_follows_to_cost_of_goods() -> None:
    loaded = load_text(
        HEAD
        + run("10 MOTH 120 VINYL")
        + '2025-02-09 * "Bought"\n  Assets:Materials:VINYL  30 VINYL {0.60 USD}\n'
        + "  Assets:Bank\n"
    )
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert (
        "VINYL: 120 went out on 2025-02-03 but the shelf had only 100, 20 short" in message
    )
    assert value_on_hand(loaded, "MOTH") == D("49.00")
    assert total(loaded, "Expenses:COGS:MOTH") == D("12.00")
    assert on_hand(loaded, "VINYL") == [(D(10), D("0.60"))]


def test_a_run_of_material_that_never_came_makes_pieces_at_no_cost_yet() -> None:
    loaded = load_text(
        HEAD + '2025-01-01 commodity FILM\n  stock: "material"\n' + run("10 MOTH 3 FILM")
    )
    ((_, message),) = complaints(loaded)
    assert "FILM: 3 went out" in message
    assert units_on_hand(loaded, "MOTH") == D(10)
    assert value_on_hand(loaded, "MOTH") == 0


# --- bad input ---------------------------------------------------------------------

SALE = """\
2025-02-05 * "Sale"
  Assets:Bank         8.00 USD
  Income:Sales:Web   -8.00 USD
    item: "MOTH"
    quantity: 1
2025-02-03 custom "print-run" 10 MOTH 10 VINYL
"""


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (
            "10 HERRON 5 VINYL",
            "HERRON, which is not in stock's catalogue (did you mean HERON?)",
        ),
        (
            "10 HERON 5 VYNIL",
            "VYNIL, which is not in stock's catalogue (did you mean VINYL?)",
        ),
        ("10 HERON", "HERON has no bill of materials on 2025-02-03"),
        ("10 HERON 10 MOTH", "HERON has no bill of materials on 2025-02-03"),
        ("0 HERON 5 VINYL", "must be more than zero"),
        ("-4 HERON 5 VINYL", "must be more than zero"),
        ("10 HERON 0 VINYL", "must be more than zero"),
        ("10 VINYL 5 INK", "A print run makes products, and VINYL is a material"),
        ('"HERON" 5 VINYL', 'Write it as custom "print-run"'),
        ("10", 'Write it as custom "print-run"'),
    ],
)
def test_a_run_that_is_wrong_is_an_error_on_its_line_and_the_rest_is_costed(
    written: str, expected: str
) -> None:
    loaded = load_text(HEAD + run(written) + SALE)
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert expected in message
    assert costs(loaded) == {"Sale": D("0.40")}
    assert units_on_hand(loaded, "HERON") == 0


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("11", "More pieces spoiled (11) than made (10)"),
        ("-1", "spoiled must be the number of spoiled pieces, not -1"),
        ('"two"', "spoiled must be the number of spoiled pieces, not two"),
        ("TRUE", "spoiled must be the number of spoiled pieces, not True"),
        ("1 VINYL", "VINYL is said to be spoiled, but the run made HERON"),
    ],
)
def test_spoilage_that_is_wrong_is_an_error_on_the_runs_line(
    written: str, expected: str
) -> None:
    loaded = load_text(HEAD + run("10 HERON 5 VINYL") + f"  spoiled: {written}\n" + SALE)
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert expected in message
    assert costs(loaded) == {"Sale": D("0.40")}


def test_as_many_spoiled_as_made_is_still_a_run() -> None:
    loaded = load_text(HEAD + run("10 MOTH 10 VINYL") + "  spoiled: 10\n")
    assert complaints(loaded) == []
    assert total(loaded, "Expenses:Spoilage:MOTH") == D("2.00")
    assert value_on_hand(loaded, "MOTH") == D("2.00")


def test_materials_that_cost_two_currencies_cannot_go_into_one_run() -> None:
    loaded = load_text(
        HEAD
        + '2025-01-01 commodity FILM\n  stock: "material"\n'
        + '2025-01-02 * "Bought"\n  Assets:Materials:FILM  5 FILM {1.00 EUR}\n'
        + "  Assets:Bank\n"
        + run("10 HERON 5 VINYL 5 FILM")
        + SALE
    )
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE + 5
    assert "A print run costs one currency" in message
    assert costs(loaded) == {"Sale": D("0.40")}
    assert units_on_hand(loaded, "FILM") == D(5)


def test_a_run_that_names_a_product_twice_is_an_error_on_its_line() -> None:
    loaded = load_text(HEAD + run("5 MOTH 5 MOTH 10 VINYL") + "  spoiled: 2\n" + SALE)
    ((line, message),) = complaints(loaded)
    assert line == NEXT_LINE
    assert "names a product twice" in message
    assert costs(loaded) == {"Sale": D("0.40")}


def test_a_runs_own_entry_stays_in_the_ledger() -> None:
    loaded = load_text(HEAD + run("10 MOTH 10 VINYL"))
    customs = [entry for entry in loaded.entries if isinstance(entry, data.Custom)]
    assert [entry.type for entry in customs] == ["print-run"]

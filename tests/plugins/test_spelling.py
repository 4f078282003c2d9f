"""Slips of the pen in words of the ledger: those are told, words of one's own are not."""

from __future__ import annotations

from pathlib import Path

import pytest
from beancount import loader

from offcut.plugins import spelling
from offcut.plugins.spelling import check_spelling
from tests.conftest import Loaded

PLUGIN = 'plugin "offcut.plugins.spelling"\n'


def said(text: str) -> list[tuple[int, str]]:
    """Return line and message of each error of a ledger."""
    _, errors, _ = loader.load_string(PLUGIN + text)
    return [
        (error.source["lineno"], error.message.partition(" A word")[0]) for error in errors
    ]


def test_slips_are_told_at_their_line(ledger: Loaded) -> None:
    """
    plugin "offcut.plugins.spelling"
    2025-01-01 open Assets:Cash
      taxline: "none"
    2025-01-01 open Income:Sales:Web
    2025-01-01 commodity HERON-STK
      stock: "product"
      desing: "Heron"
    2025-01-01 commodity OWL-STK
      stok: "product"
    2025-01-02 custom "print-run" 5 HERON-STK
      minuts: 5
    2025-01-02 custom "stock-cuont" 5 HERON-STK
    2025-01-03 * "Sale"
      chanel: "Web"
      Assets:Cash  4.00 USD
      Income:Sales:Web
        itm: "HERON-STK"
        quantty: 1
    """
    assert sorted(
        (error.source["lineno"], error.message.partition(" A word")[0])
        for error in ledger.errors
    ) == [
        (3, '"taxline" is no word of offcut\'s; did you mean tax-line?'),
        (6, '"desing" is no word of offcut\'s; did you mean design?'),
        (9, '"stok" is no word of offcut\'s; did you mean stock?'),
        (11, '"minuts" is no word of offcut\'s; did you mean minutes?'),
        (13, 'custom "stock-cuont" does nothing; did you mean custom "stock-count"?'),
        (14, '"chanel" is no word of offcut\'s; did you mean channel?'),
        (17, '"itm" is no word of offcut\'s; did you mean item?'),
        (17, '"quantty" is no word of offcut\'s; did you mean quantity?'),
    ]


@pytest.mark.parametrize(
    "text",
    [
        '2025-01-01 commodity USD\n  nmae: "no item of stock"\n  export: "CASH"\n',
        '2025-01-01 commodity A-B\n  stock: "product"\n  item-number: "5"\n',
        '2025-01-01 commodity A-B\n  stock: "product"\n  name-de: "x"\n',
        '2025-01-01 custom "budget" "weekly" 5 USD\n',
        '2025-01-01 custom "fava-option" "interval" "week"\n',
        '2025-01-01 open Assets:Cash\n  account-number: "5"\n  line: "x"\n',
        '2025-01-01 open Assets:Cash\n2025-01-01 * "x"\n  place-id: "5"\n  invoice: "5"\n'
        '  Assets:Cash  1 USD\n    item-id: "x"\n    who: "me"\n  Assets:Cash\n',
    ],
)
def test_words_of_ones_own_are_left_alone(text: str) -> None:
    assert said(text) == []


def test_each_place_of_a_slip_is_told() -> None:
    sale = '2025-01-02 * "x"\n  chanel: "Web"\n  Assets:Cash  0 USD\n'
    assert [line for line, _ in said("2025-01-01 open Assets:Cash\n" + sale * 2)] == [3, 6]


@pytest.mark.parametrize("word", spelling.DIRECTIVES)
def test_no_word_of_ours_is_a_slip_for_another(word: str) -> None:
    text = f'2025-01-01 custom "{word}" "x"\n'
    assert said(text) == []


def test_every_word_of_the_example_is_right() -> None:
    example = Path(__file__).parents[2] / "example_ledger" / "main.beancount"
    entries, _, options = loader.load_file(str(example))
    assert check_spelling(entries, options) == (entries, [])


def test_all_plugins_have_it() -> None:
    text = 'plugin "offcut.plugins"\n2025-01-01 commodity A-B\n  stok: "product"\n'
    _, errors, _ = loader.load_string(text)
    assert len(errors) == 1

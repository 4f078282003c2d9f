"""The stock plugin on whole ledgers: what it adds, where, and what it refuses."""

from __future__ import annotations

import copy
import itertools
import textwrap
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import beanquery
import pytest
from beancount import loader
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
from tests.plugins.textbook_sets import EXAMPLES, Example

D = Decimal
CENT = D("0.01")


def postings_to(loaded: Loaded, account: str) -> list[data.Posting]:
    """Return the postings to an account, in the ledger's order."""
    return [
        posting
        for entry in transactions(loaded)
        for posting in entry.postings
        if posting.account == account
    ]


def opened(loaded: Loaded) -> dict[str, data.Open]:
    """Return the open directives by account."""
    return {
        entry.account: entry for entry in loaded.entries if isinstance(entry, data.Open)
    }


# --- textbook sets through whole ledgers -------------------------------------------


def ledger_of(textbook: Example, head: str) -> str:
    """Return a textbook's history as a ledger, a day to a move."""
    lines = [
        'plugin "beancount.plugins.auto_accounts"',
        'plugin "offcut.plugins"',
        head,
        '2025-01-01 commodity PRINT\n  stock: "product"',
    ]
    for day, move in enumerate(textbook.moves, start=1):
        if move.unit_cost is None:
            lines.append(
                f'2025-02-{day:02} * "Sale {day:02}"\n'
                "  Assets:Bank  1.00 USD\n"
                "  Income:Sales:Web  -1.00 USD\n"
                f'    item: "PRINT"\n    quantity: {move.units}'
            )
        else:
            lines.append(
                f'2025-02-{day:02} * "Bought"\n'
                f"  Assets:Stock:PRINT  {move.units} PRINT {{{move.unit_cost} USD}}\n"
                "  Assets:Bank"
            )
    return "\n".join(lines) + "\n"


def heads(method: str) -> list[str]:
    """Return the two ways in which a ledger may choose its method."""
    return [
        f'2025-01-01 open Assets:Stock:PRINT PRINT "{method}"',
        f'option "booking_method" "{method}"',
    ]


@pytest.mark.parametrize("textbook", EXAMPLES.values(), ids=EXAMPLES)
@pytest.mark.parametrize("head", heads("FIFO"), ids=["open", "option"])
def test_a_ledger_first_in_first_out_has_the_textbooks_figures(
    textbook: Example, head: str
) -> None:
    loaded = load_text(ledger_of(textbook, head))
    assert complaints(loaded) == []
    assert list(costs(loaded).values()) == textbook.first_in_first_out
    assert units_on_hand(loaded, "PRINT") == textbook.closing_units
    assert value_on_hand(loaded, "PRINT") == textbook.closing_first_in_first_out


@pytest.mark.parametrize("textbook", EXAMPLES.values(), ids=EXAMPLES)
@pytest.mark.parametrize("head", heads("AVERAGE"), ids=["open", "option"])
def test_a_ledger_at_the_moving_average_has_the_textbooks_figures_to_the_cent(
    textbook: Example, head: str
) -> None:
    loaded = load_text(ledger_of(textbook, head))
    assert complaints(loaded) == []
    booked = [cost.quantize(CENT) for cost in costs(loaded).values()]
    assert booked == textbook.moving_average
    assert units_on_hand(loaded, "PRINT") == textbook.closing_units
    left = value_on_hand(loaded, "PRINT")
    assert left.quantize(CENT) == textbook.closing_moving_average
    assert left + total(loaded, "Expenses:COGS") == textbook.available


# --- methods -----------------------------------------------------------------------


def test_each_product_is_costed_by_the_word_of_its_own_open(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity MOTH
      stock: "product"
    2025-01-01 open Assets:Stock:HERON HERON "FIFO"
    2025-01-01 open Assets:Stock:MOTH MOTH "AVERAGE"

    2025-01-02 * "Bought"
      Assets:Stock:HERON  10 HERON {1.00 USD}
      Assets:Stock:MOTH   10 MOTH {1.00 USD}
      Assets:Bank
    2025-01-03 * "Bought"
      Assets:Stock:HERON  10 HERON {2.00 USD}
      Assets:Stock:MOTH   10 MOTH {2.00 USD}
      Assets:Bank
    2025-01-04 * "Sale"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -4.00 USD
        item: "HERON"
        quantity: 4
      Income:Sales:Web   -4.00 USD
        item: "MOTH"
        quantity: 4
    """
    assert costs(sound_ledger, "Expenses:COGS:HERON") == {"Sale": D("4.00")}
    assert costs(sound_ledger, "Expenses:COGS:MOTH") == {"Sale": D("6.00")}


def test_an_open_that_names_the_item_wins_over_the_ledgers_option(
    sound_ledger: Loaded,
) -> None:
    """
    option "booking_method" "AVERAGE"
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Assets:Stock:HERON HERON "FIFO"
    2025-01-02 * "Bought"
      Assets:Stock:HERON  1 HERON {1.00 USD}
      Assets:Stock:HERON  1 HERON {2.00 USD}
      Assets:Bank
    2025-01-04 * "Sale"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 1
    """
    assert costs(sound_ledger) == {"Sale": D("1.00")}


def test_the_open_of_an_items_account_chooses_its_method_without_naming_the_item(
    sound_ledger: Loaded,
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Assets:Stock:HERON "AVERAGE"
    2025-01-02 * "Bought"
      Assets:Stock:HERON  1 HERON {1.00 USD}
      Assets:Bank
    2025-01-03 * "Bought"
      Assets:Stock:HERON  1 HERON {2.00 USD}
      Assets:Bank
    2025-01-04 * "Sale"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 1
    """
    assert costs(sound_ledger) == {"Sale": D("1.50")}


@pytest.mark.parametrize("word", ["LIFO", "HIFO", "NONE", "STRICT", "STRICT_WITH_SIZE"])
def test_a_method_that_stock_is_not_costed_by_is_an_error_on_its_open(word: str) -> None:
    loaded = load_text(
        f"""\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity HERON
          stock: "product"
        2025-01-01 open Assets:Stock:HERON HERON "{word}"
        2025-01-02 * "Bought"
          Assets:Stock:HERON  1 HERON {{1.00 USD}}
          Assets:Stock:HERON  1 HERON {{2.00 USD}}
          Assets:Bank
        2025-01-04 * "Sale"
          Assets:Bank         8.00 USD
          Income:Sales:Web   -8.00 USD
            item: "HERON"
            quantity: 1
        """
    )
    ((line, message),) = complaints(loaded)
    assert line == 5
    assert f"HERON cannot be costed by {word}" in message
    assert "FIFO" in message
    assert costs(loaded) == {"Sale": D("1.00")}


@pytest.mark.parametrize("word", ["LIFO", "HIFO", "NONE", "STRICT"])
def test_a_ledgers_own_booking_method_that_is_neither_means_first_in_first_out(
    word: str,
) -> None:
    loaded = load_text(ledger_of(EXAMPLES["wild"], f'option "booking_method" "{word}"'))
    assert complaints(loaded) == []
    assert list(costs(loaded).values()) == [D("1970"), D("2600")]


def test_lots_with_dates_of_their_own_leave_by_those_dates(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Assets:Stock:HERON HERON "FIFO"

    ; Opening stock, as in beancount's own first in first out: by the lot's date.
    2025-01-01 * "Opening stock"
      Assets:Stock:HERON  5 HERON {3.00 USD, 2024-11-05}
      Assets:Stock:HERON  5 HERON {1.00 USD, 2024-02-01}
      Equity:Opening-Balances
    2025-01-03 * "Found an old box"
      Assets:Stock:HERON  5 HERON {2.00 USD, 2024-06-01}
      Equity:Opening-Balances
    2025-01-04 * "Sale"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 11
    """
    # 5 x 1.00 + 5 x 2.00 + 1 x 3.00
    assert costs(sound_ledger) == {"Sale": D("18.00")}


# --- what other tools see ----------------------------------------------------------

SHOP = """\
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity MOTH
  stock: "product"
2025-01-01 open Assets:Bank
2025-01-01 open Assets:Stock:HERON
2025-01-01 open Assets:Stock:MOTH
2025-01-01 open Income:Sales:Web
2025-01-02 * "Bought"
  Assets:Stock:HERON  10 HERON {0.40 USD}
  Assets:Stock:MOTH   10 MOTH {0.50 USD}
  Assets:Bank
2025-01-04 * "Order 1"
  Assets:Bank         8.00 USD
  Income:Sales:Web   -8.00 USD
    item: "HERON"
    quantity: 2
2025-01-05 * "Order 2"
  Assets:Bank         9.00 USD
  Income:Sales:Web   -4.00 USD
    item: "HERON"
    quantity: 1
  Income:Sales:Web   -5.00 USD
    item: "MOTH"
    quantity: 3
2025-01-06 balance Assets:Stock:HERON 7 HERON
2025-01-06 balance Assets:Stock:MOTH 7 MOTH
2025-01-06 balance Expenses:COGS:HERON 1.20 USD
2025-01-06 balance Expenses:COGS:MOTH 1.50 USD
"""


def test_balance_assertions_see_what_left_and_its_cost() -> None:
    assert complaints(load_text(SHOP)) == []


def test_a_wrong_balance_assertion_of_stock_fails() -> None:
    loaded = load_text(SHOP.replace("7 HERON\n", "8 HERON\n"))
    ((_, message),) = complaints(loaded)
    assert "Balance failed" in message


def query(loaded: Loaded, text: str) -> list[tuple[object, ...]]:
    """Return the rows of a query over a loaded ledger."""
    connection = beanquery.connect(
        "beancount:", entries=loaded.entries, errors=[], options=loaded.options
    )
    return list(connection.execute(text).fetchall())


def test_a_query_sums_cost_of_goods_by_item() -> None:
    rows = query(
        load_text(SHOP),
        "SELECT meta('item') AS item, sum(number) WHERE account ~ '^Expenses:COGS' "
        "GROUP BY item ORDER BY item",
    )
    assert rows == [("HERON", D("1.20")), ("MOTH", D("1.50"))]


def test_a_query_sums_units_on_hand() -> None:
    rows = query(
        load_text(SHOP),
        "SELECT currency, sum(number) WHERE account ~ '^Assets:Stock' "
        "GROUP BY currency ORDER BY currency",
    )
    assert rows == [("HERON", D(7)), ("MOTH", D(7))]


def test_relief_and_cost_stand_in_the_sale_itself() -> None:
    loaded = load_text(SHOP)
    (order,) = (entry for entry in transactions(loaded) if entry.narration == "Order 1")
    relief, cost = order.postings[2:]
    assert (relief.account, relief.units) == (
        "Assets:Stock:HERON",
        data.Amount(D(-2), "HERON"),
    )
    assert (relief.cost.number, str(relief.cost.date)) == (D("0.40"), "2025-01-02")
    assert (cost.account, cost.units) == (
        "Expenses:COGS:HERON",
        data.Amount(D("0.80"), "USD"),
    )
    for posting in (relief, cost):
        assert posting.meta == {
            "filename": "<offcut.plugins.stock>",
            "lineno": 0,
            "item": "HERON",
        }


def test_postings_that_the_user_wrote_are_the_same_objects_in_the_same_order() -> None:
    entries, _, options = loader.load_string(SHOP.replace('plugin "offcut.plugins"', ""))
    from offcut.plugins.stock import cost_stock

    costed, _ = cost_stock(entries, options)
    for entry in entries:
        if isinstance(entry, data.Transaction):
            (now,) = (
                other
                for other in costed
                if isinstance(other, data.Transaction) and other.meta is entry.meta
            )
            assert all(a is b for a, b in zip(entry.postings, now.postings, strict=False))


def test_the_entries_that_came_in_are_not_changed_in_place() -> None:
    bare = SHOP.replace('plugin "offcut.plugins"', "") + (
        '2025-01-07 * "Thirds"\n  Assets:Stock:MOTH  3 MOTH {{10 USD}}\n  Assets:Bank\n'
        '2025-01-08 custom "stock-count" 5 HERON\n'
    )
    from offcut.plugins.stock import cost_stock

    entries, _, options = loader.load_string(bare)
    before = copy.deepcopy(entries)
    costed, errors = cost_stock(entries, options)
    assert errors == []
    assert entries == before
    assert costed != before


def test_loading_twice_gives_the_same_entries() -> None:
    def told(loaded: Loaded) -> list[str]:
        return [repr(entry._replace(meta=None)) for entry in loaded.entries]

    first, second = load_text(SHOP), load_text(SHOP)
    assert told(first) == told(second)


def test_the_plugin_alone_costs_as_the_whole_set_does() -> None:
    alone = load_text(SHOP.replace("offcut.plugins", "offcut.plugins.stock"))
    assert complaints(alone) == []
    assert (
        costs(alone)
        == costs(load_text(SHOP))
        == {"Order 1": D("0.80"), "Order 2": D("1.90")}
    )


# --- switching it on ---------------------------------------------------------------


@pytest.mark.parametrize(
    "again", ["offcut.plugins", "offcut.plugins.stock"], ids=["set twice", "set and one"]
)
def test_switched_on_twice_is_an_error_and_costs_once(again: str) -> None:
    loaded = load_text(f'plugin "{again}"\n' + SHOP)
    ((_, message),) = complaints(loaded)
    assert "switched on twice" in message
    assert costs(loaded) == {"Order 1": D("0.80"), "Order 2": D("1.90")}


def test_a_configuration_is_refused() -> None:
    loaded = load_text(
        SHOP.replace('"offcut.plugins"', '"offcut.plugins.stock" "{}"').split("2025-01-06")[
            0
        ]
    )
    ((_, message),) = complaints(loaded)
    assert "takes no configuration" in message


def test_an_empty_configuration_is_none() -> None:
    loaded = load_text(SHOP.replace('"offcut.plugins"', '"offcut.plugins.stock" ""'))
    assert complaints(loaded) == []


# --- accounts ----------------------------------------------------------------------


def test_accounts_that_are_missing_are_opened_on_the_day_of_their_first_use(
    sound_ledger: Loaded,
) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Materials:VINYL
    2025-01-01 open Income:Sales:Web
    2025-01-02 * "Bought"
      Assets:Materials:VINYL  10 VINYL {0.40 USD}
      Assets:Bank
    2025-01-05 custom "print-run" 10 HERON 5 VINYL
    2025-01-07 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 2
    2025-01-09 custom "stock-count" 7 HERON
    """
    added = {
        account: str(entry.date)
        for account, entry in opened(sound_ledger).items()
        if entry.meta["filename"] == "<offcut.plugins.stock>"
    }
    assert added == {
        "Assets:Stock:HERON": "2025-01-05",
        "Expenses:COGS:HERON": "2025-01-07",
        "Expenses:Shrinkage:HERON": "2025-01-09",
    }


def test_a_purchase_alone_opens_the_item_s_account(sound_ledger: Loaded) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Assets:Bank
    2025-01-02 * "Bought"
      Assets:Materials:VINYL  10 VINYL {0.40 USD}
      Assets:Bank
    """
    assert str(opened(sound_ledger)["Assets:Materials:VINYL"].date) == "2025-01-02"


def test_no_account_is_opened_that_nothing_is_posted_to(sound_ledger: Loaded) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Box
    2025-01-02 * "Bought"
      Assets:Box  10 VINYL {0.40 USD}
      Assets:Bank
    2025-01-05 custom "print-run" 10 HERON 5 VINYL
    2025-01-09 custom "stock-count" 10 HERON
    """
    added = [
        account
        for account, entry in opened(sound_ledger).items()
        if entry.meta["filename"] == "<offcut.plugins.stock>"
    ]
    assert added == ["Assets:Stock:HERON"]


def test_an_account_that_the_user_names_is_not_opened_for_him(ledger: Loaded) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Stock:HERON
    2025-01-02 * "Bought"
      Assets:Stock:HERON  10 HERON {0.40 USD}
      Assets:Bank
    2025-01-09 custom "stock-out" 1 HERON Expenses:Givaways
    """
    ((_, message),) = complaints(ledger)
    assert "unknown account 'Expenses:Givaways'" in message


@pytest.mark.parametrize(
    ("kind", "account"),
    [
        ("product", "Assets:Stock:THING"),
        ("material", "Assets:Materials:THING"),
        ("stamp", "Assets:Stamps:THING"),
    ],
)
def test_an_items_own_account_follows_from_its_kind(kind: str, account: str) -> None:
    loaded = load_text(
        f"""\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity THING
          stock: "{kind}"
        2025-01-02 * "Bought"
          Assets:Box  3 THING {{1.00 USD}}
          Assets:Bank
        2025-01-03 custom "stock-count" 4 THING
        """
    )
    assert complaints(loaded) == []
    (found,) = postings_to(loaded, account)
    assert found.units == data.Amount(D(1), "THING")


def test_an_open_that_names_the_item_gives_its_account(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Assets:Shelves:Birds HERON "FIFO"
    2025-01-02 * "Bought"
      Assets:Materials:VINYL  10 VINYL {0.40 USD}
      Assets:Bank
    2025-01-05 custom "print-run" 10 HERON 5 VINYL
    2025-01-07 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 2
    """
    moved = [
        posting.units.number
        for posting in postings_to(sound_ledger, "Assets:Shelves:Birds")
    ]
    assert moved == [D(10), D(-2)]
    assert "Assets:Stock:HERON" not in opened(sound_ledger)


def test_several_items_may_share_an_account(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity MOTH
      stock: "product"
    2025-01-01 open Assets:Stock HERON,MOTH "AVERAGE"
    2025-01-02 * "Bought"
      Assets:Stock  1 HERON {1.00 USD}
      Assets:Stock  1 MOTH {5.00 USD}
      Assets:Bank
    2025-01-03 * "Bought"
      Assets:Stock  1 HERON {2.00 USD}
      Assets:Stock  1 MOTH {6.00 USD}
      Assets:Bank
    2025-01-04 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "MOTH"
        quantity: 1
    """
    assert costs(sound_ledger) == {"Order 1": D("5.5")}
    assert value_on_hand(sound_ledger, "HERON") == D(3)


def test_stock_bought_into_another_account_is_relieved_where_it_is(
    sound_ledger: Loaded,
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Consignment:Gallery  3 HERON {1.00 USD}
      Assets:Bank
    2025-01-04 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 1
    """
    moved = postings_to(sound_ledger, "Assets:Consignment:Gallery")
    assert [posting.units.number for posting in moved] == [D(3), D(-1)]


def test_root_accounts_may_have_other_names(sound_ledger: Loaded) -> None:
    """
    option "name_assets" "Vermoegen"
    option "name_income" "Ertraege"
    option "name_expenses" "Aufwand"
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-02 * "Bought"
      Vermoegen:Materials:VINYL  10 VINYL {0.40 EUR}
      Vermoegen:Bank
    2025-01-05 custom "print-run" 10 HERON 5 VINYL
    2025-01-07 * "Order 1"
      Vermoegen:Bank        8.00 EUR
      Ertraege:Sales:Web   -8.00 EUR
        item: "HERON"
        quantity: 2
    2025-01-08 custom "stock-count" 7 HERON
    """
    assert costs(sound_ledger, "Aufwand:COGS:HERON") == {"Order 1": D("0.4")}
    assert costs(sound_ledger, "Aufwand:Shrinkage:HERON") == {
        "Stock count: 7 HERON": D("0.2")
    }
    assert len(postings_to(sound_ledger, "Vermoegen:Stock:HERON")) == 3


@pytest.mark.parametrize("commodity", ["A.B", "A_B", "A'B", "A-B", "/ES24A"])
def test_any_commodity_that_beancount_allows_gets_accounts_that_can_be_read_back(
    commodity: str,
) -> None:
    text = f"""\
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity {commodity}
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Box  3 {commodity} {{1.00 USD}}
      Assets:Bank
    2025-01-03 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "{commodity}"
        quantity: 2
    2025-01-04 custom "stock-count" 4 {commodity}
    """
    loaded = load_text(text)
    assert complaints(loaded) == []
    assert costs(loaded) == {"Order 1": D(2)}
    opens = "\n".join(f"2025-01-01 open {account}" for account in opened(loaded))
    assert complaints(load_text(opens)) == []


# --- receipts ----------------------------------------------------------------------


@pytest.mark.parametrize("bank", ["Assets:Bank", "Assets:Bank  -10 USD"])
def test_ten_dollars_for_three_are_ten_dollars_again_when_all_are_sold(bank: str) -> None:
    """Whole dollars leave beancount no tolerance at all."""
    loaded = load_text(
        f"""\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity HERON
          stock: "product"
        2025-01-02 * "Bought"
          Assets:Stock:HERON  3 HERON {{{{10 USD}}}}
          {bank}
        2025-01-03 * "Order 1"
          Assets:Bank         8 USD
          Income:Sales:Web   -8 USD
            item: "HERON"
            quantity: 2
        2025-01-04 * "Order 2"
          Assets:Bank         4 USD
          Income:Sales:Web   -4 USD
            item: "HERON"
            quantity: 1
        """
    )
    assert complaints(loaded) == []
    assert total(loaded, "Expenses:COGS") == D(10)
    assert on_hand(loaded, "HERON") == []
    assert total(loaded, "Assets:Bank") == D(8) + D(4) - D(10)


@pytest.mark.parametrize("bank", ["Assets:Bank", "Assets:Bank  -12.60 USD"])
def test_a_lot_sold_one_by_one_leaves_nothing_behind(bank: str) -> None:
    sales = "".join(
        f'2025-02-{day:02} * "Order {day}"\n'
        "  Assets:Bank         4 USD\n"
        "  Income:Sales:Web   -4 USD\n"
        '    item: "HERON"\n    quantity: 1\n'
        for day in [*range(1, 29), *range(1, 10)]
    )
    loaded = load_text(
        'plugin "beancount.plugins.auto_accounts"\n'
        'plugin "offcut.plugins"\n'
        '2025-01-01 commodity HERON\n  stock: "product"\n'
        '2025-01-02 * "Bought"\n'
        f"  Assets:Stock:HERON  37 HERON {{{{12.60 USD}}}}\n  {bank}\n" + sales
    )
    assert complaints(loaded) == []
    assert on_hand(loaded, "HERON") == []
    assert total(loaded, "Expenses:COGS") == D("12.60")


def test_a_leg_that_beancount_rounded_to_the_cent_stays_at_the_cent(
    sound_ledger: Loaded,
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-02 * "Bought"
      Assets:Stock:HERON        3 HERON {{10.00 USD}}
      Assets:Materials:VINYL   37 VINYL {0.333 USD}
      Expenses:Bags          1.00 USD
      Assets:Bank
    """
    # 10.00 + 12.321 + 1.00: without the plugin beancount pays 23.32.
    (paid,) = postings_to(sound_ledger, "Assets:Bank")
    assert str(paid.units) == "-23.32 USD"


def test_a_filled_in_leg_has_no_idle_digits(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Stock:HERON        3 HERON {{10 USD}}
      Assets:Bank
    """
    (paid,) = postings_to(sound_ledger, "Assets:Bank")
    assert str(paid.units) == "-10 USD"


def test_what_a_unit_cost_is_left_to_beancount_comes_to_the_money_that_was_paid(
    sound_ledger: Loaded,
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Bought, the unit cost follows from the rest"
      Assets:Stock:HERON        7 HERON {USD}
      Assets:Bank             -10 USD
    2025-01-03 * "Bought, a price each and a charge for all"
      Assets:Stock:HERON        7 HERON {0.10 # 3 USD}
      Assets:Bank
    """
    assert value_on_hand(sound_ledger, "HERON") == D("13.70")
    assert all(
        -cost.as_tuple().exponent <= 12 for _, cost in on_hand(sound_ledger, "HERON")
    )


def test_a_receipt_without_a_cost_is_an_error_on_its_line(
    ledger: Loaded, line_of: Callable[[str], int]
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Stock:HERON  3 HERON {1.00 USD}
      Assets:Bank
    2025-01-03 * "Found"
      Assets:Stock:HERON  5 HERON
      Equity:Found       -5 HERON
    2025-01-04 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 2
    """
    ((line, message),) = complaints(ledger)
    assert line == line_of("Assets:Stock:HERON  5 HERON")
    assert "5 HERON have no cost" in message
    assert costs(ledger) == {"Order 1": D("2.00")}


@pytest.mark.parametrize("cost", ["{}", "{1.00 USD}"])
def test_stock_taken_out_by_hand_is_an_error_on_its_line(cost: str) -> None:
    loaded = load_text(
        f"""\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity HERON
          stock: "product"
        2025-01-02 * "Bought"
          Assets:Stock:HERON  3 HERON {{1.00 USD}}
          Assets:Bank
        2025-01-03 * "By hand"
          Assets:Stock:HERON  -1 HERON {cost}
          Expenses:Gifts
        2025-01-04 * "Order 1"
          Assets:Bank         8.00 USD
          Income:Sales:Web   -8.00 USD
            item: "HERON"
            quantity: 2
        """
    )
    ((line, message),) = complaints(loaded)
    assert line == 9
    assert "-1 HERON are taken out of Assets:Stock:HERON by hand" in message
    assert costs(loaded) == {"Order 1": D("2.00")}


def test_a_second_cost_currency_is_an_error_on_its_line(
    ledger: Loaded, line_of: Callable[[str], int]
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Stock:HERON  3 HERON {1.00 USD}
      Assets:Bank
    2025-01-03 * "Bought abroad"
      Assets:Stock:HERON  3 HERON {1.00 EUR}
      Assets:Bank
    2025-01-04 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -8.00 USD
        item: "HERON"
        quantity: 3
    """
    ((line, message),) = complaints(ledger)
    assert line == line_of("1.00 EUR")
    assert "3 HERON cost EUR, but earlier HERON cost USD" in message
    assert costs(ledger) == {"Order 1": D("3.00")}


def test_items_may_cost_different_currencies(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 commodity MOTH
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Stock:HERON  3 HERON {1.00 USD}
      Assets:Stock:MOTH   3 MOTH {2.00 EUR}
      Assets:Bank
    2025-01-04 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -4.00 USD
        item: "HERON"
        quantity: 1
      Income:Sales:Web   -4.00 USD
        item: "MOTH"
        quantity: 1
    """
    (cost,) = postings_to(sound_ledger, "Expenses:COGS:MOTH")
    assert cost.units == data.Amount(D("2.00"), "EUR")


# --- what a sale line may say ------------------------------------------------------


def sale(meta: str, account: str = "Income:Sales:Web", amount: str = "-8.00 USD") -> Loaded:
    """Load a ledger with three HERON at 1.00 and one line; its posting is on line 10."""
    indented = "\n".join(f"            {line.strip()}" for line in meta.splitlines())
    return load_text(
        f"""\
        plugin "beancount.plugins.auto_accounts"
        plugin "offcut.plugins"
        2025-01-01 commodity HERON
          stock: "product"
        2025-01-02 * "Bought"
          Assets:Stock:HERON  3 HERON {{1.00 USD}}
          Assets:Bank
        2025-01-04 * "Order 1"
          Assets:Bank
          {account}   {amount}
"""
        + indented
        + "\n"
    )


def test_an_unknown_item_is_named_with_a_near_one() -> None:
    loaded = sale('item: "HERRON"\nquantity: 1')
    ((line, message),) = complaints(loaded)
    assert line == 8
    assert "HERRON" in message
    assert "did you mean HERON?" in message
    assert costs(loaded) == {}


@pytest.mark.parametrize("written", ['"2"', '" 2 "', "2", "2.0"])
def test_a_quantity_may_be_a_number_or_a_text(written: str) -> None:
    loaded = sale(f'item: "HERON"\nquantity: {written}')
    assert complaints(loaded) == []
    assert costs(loaded) == {"Order 1": D(2)}


@pytest.mark.parametrize(
    "written",
    [
        "0",
        "-1",
        '"0"',
        '"-2"',
        '"two"',
        '""',
        '"NaN"',
        '"Infinity"',
        "TRUE",
        "2 HERON",
        '"1,5"',
    ],
)
def test_a_quantity_that_is_no_number_above_zero_is_an_error_on_its_posting(
    written: str,
) -> None:
    loaded = sale(f'item: "HERON"\nquantity: {written}')
    ((line, message),) = complaints(loaded)
    assert line == 10
    assert "quantity must be a number above zero" in message
    assert costs(loaded) == {}


def test_an_item_that_is_no_text_is_an_error_on_its_posting() -> None:
    ((line, message),) = complaints(sale("item: 5\nquantity: 1"))
    assert line == 10
    assert "item must be a commodity" in message


def test_an_item_and_quantity_on_another_kind_of_account_is_an_error_on_its_posting() -> (
    None
):
    loaded = sale('item: "HERON"\nquantity: 1', account="Expenses:Gifts", amount="8.00 USD")
    ((line, message),) = complaints(loaded)
    assert line == 10
    assert "belong on an income posting, not on Expenses:Gifts" in message
    assert costs(loaded) == {}


def test_a_free_item_is_relieved_like_any_other() -> None:
    loaded = sale('item: "HERON"\nquantity: 1', amount="0.00 USD")
    assert costs(loaded) == {"Order 1": D(1)}


def test_a_suspense_line_relieves_nothing() -> None:
    loaded = sale('item-text: "Heron, large"\nquantity: 1', account="Income:Suspense:Web")
    assert complaints(loaded) == []
    assert costs(loaded) == {}


def test_a_discount_with_an_item_and_no_quantity_moves_no_stock() -> None:
    loaded = sale('item: "HERON"', account="Income:Discounts:Web", amount="1.00 USD")
    assert complaints(loaded) == []
    assert costs(loaded) == {}


def test_two_lines_of_one_item_in_an_order_are_both_relieved(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Bought"
      Assets:Stock:HERON  1 HERON {1.00 USD}
      Assets:Stock:HERON  2 HERON {2.00 USD}
      Assets:Bank
    2025-01-04 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -4.00 USD
        item: "HERON"
        quantity: 1
      Income:Sales:Web   -4.00 USD
        item: "HERON"
        quantity: 1
    """
    assert costs(sound_ledger) == {"Order 1": D("3.00")}


def test_an_item_bought_on_the_day_of_its_sale_is_there_for_it(
    sound_ledger: Loaded,
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Order 1"
      Assets:Bank         8.00 USD
      Income:Sales:Web   -4.00 USD
        item: "HERON"
        quantity: 1
      Income:Sales:Web   -4.00 USD
    2025-01-02 * "Bought"
      Assets:Stock:HERON  1 HERON {1.00 USD}
      Assets:Bank
    """
    assert costs(sound_ledger) == {"Order 1": D("1.00")}


# --- sold before it was recorded ---------------------------------------------------

SHORT = """\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
2025-01-02 * "Bought"
  Assets:Stock:HERON  1 HERON {1.00 USD}
  Assets:Bank
2025-01-04 * "Order 1" ^order-1
  Assets:Bank         8.00 USD
  Income:Sales:Web   -8.00 USD
    item: "HERON"
    quantity: 3
2025-01-05 * "Order 2" ^order-2
  Assets:Bank         8.00 USD
  Income:Sales:Web   -8.00 USD
    item: "HERON"
    quantity: 2
"""
LATE = "Cost of {} HERON that went out early"


def bought(date: str, units: int, cost: str) -> str:
    """Return a purchase of HERON."""
    lot = f"Assets:Stock:HERON  {units} HERON {{{cost} USD}}"
    return f'{date} * "Bought"\n  {lot}\n  Assets:Bank\n'


def test_a_shortage_is_an_error_that_names_item_date_and_shortfall() -> None:
    (first, second) = complaints(load_text(SHORT))
    assert first[0] == 8
    assert "HERON: 3 went out on 2025-01-04 but the shelf had only 1, 2 short" in first[1]
    assert second[0] == 13
    assert "HERON: 2 went out on 2025-01-05 but the shelf had only 0, 2 short" in second[1]


def test_a_shortage_says_whether_its_cost_has_come() -> None:
    loaded = load_text(SHORT + bought("2025-01-09", 3, "2.00"))
    first, second = (error for error in loaded.errors)
    assert (first.item, first.short, first.open) == ("HERON", D(2), D(0))
    assert (second.item, second.short, second.open) == ("HERON", D(2), D(1))
    assert first.message.endswith("their cost is that of the receipt on 2025-01-09")
    assert second.message.endswith("on 2025-01-09, 1 still without")
    (never, _) = load_text(SHORT).errors
    assert never.message.endswith("they have no cost yet")


def test_a_shortage_that_is_never_settled_costs_what_was_there() -> None:
    loaded = load_text(SHORT)
    assert costs(loaded) == {"Order 1": D("1.00")}
    assert units_on_hand(loaded, "HERON") == 0


def test_a_shortage_is_costed_from_the_next_receipt_on_its_date() -> None:
    loaded = load_text(SHORT + bought("2025-01-09", 10, "2.00"))
    settled = [
        entry for entry in transactions(loaded) if "that went out early" in entry.narration
    ]
    assert [str(entry.date) for entry in settled] == ["2025-01-09", "2025-01-09"]
    assert [entry.links for entry in settled] == [{"order-1"}, {"order-2"}]
    assert costs(loaded) == {"Order 1": D("1.00"), LATE.format(2): D("8.00")}
    assert on_hand(loaded, "HERON") == [(D(6), D("2.00"))]


def test_shortages_are_settled_in_order_and_in_parts() -> None:
    loaded = load_text(
        SHORT
        + bought("2025-01-08", 1, "2.00")
        + bought("2025-01-09", 2, "3.00")
        + bought("2025-01-10", 5, "4.00")
    )
    settled = [
        (str(entry.date), *entry.links, entry.postings[-1].units.number)
        for entry in transactions(loaded)
        if "that went out early" in entry.narration
    ]
    assert settled == [
        ("2025-01-08", "order-1", D("2.00")),
        ("2025-01-09", "order-1", D("3.00")),
        ("2025-01-09", "order-2", D("3.00")),
        ("2025-01-10", "order-2", D("4.00")),
    ]
    assert on_hand(loaded, "HERON") == [(D(4), D("4.00"))]


def test_a_shortage_is_settled_at_the_average_too() -> None:
    loaded = load_text(
        SHORT.replace(
            "2025-01-02",
            '2025-01-01 open Assets:Stock:HERON HERON "AVERAGE"\n2025-01-02',
            1,
        )
        + bought("2025-01-09", 10, "2.00")
    )
    assert total(loaded, "Expenses:COGS") == D("9.00")
    assert on_hand(loaded, "HERON") == [(D(6), D("2.00"))]


def test_a_print_run_settles_a_shortage() -> None:
    loaded = load_text(
        SHORT
        + '2025-01-01 commodity VINYL\n  stock: "material"\n'
        + '2025-01-03 * "Bought"\n  Assets:Box  9 VINYL {1.50 USD}\n  Assets:Bank\n'
        + '2025-01-09 custom "print-run" 9 HERON 3 VINYL\n'
    )
    assert total(loaded, "Expenses:COGS") == D("1.00") + 4 * D("0.50")
    assert on_hand(loaded, "HERON") == [(D(5), D("0.5"))]


# --- the order of a day ------------------------------------------------------------

DAY_HEAD = """\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity VINYL
  stock: "material"
2025-01-01 commodity BAG
  stock: "material"
2025-01-01 commodity BOX
  stock: "material"
2025-01-01 custom "packing" "plain" 1 BAG
2025-01-01 custom "packing" "fancy" 1 BAG 1 BOX
2025-01-01 * "Materials"
  Assets:Materials:VINYL  2 VINYL {1.00 USD}
  Assets:Materials:VINYL  9 VINYL {3.00 USD}
  Assets:Materials:BAG    1 BAG {0.10 USD}
  Assets:Materials:BAG    9 BAG {0.20 USD}
  Assets:Materials:BOX    9 BOX {0.50 USD}
  Assets:Bank
2025-01-02 * "Bought"
  Assets:Stock:HERON  2 HERON {1.00 USD}
  Assets:Bank
"""


def order(number: int, quantity: int, more: str = "") -> str:
    """Return a day's order."""
    return (
        f'2025-02-03 * "Order {number}" ^order-{number}\n'
        f"{more}"
        "  Assets:Bank         8.00 USD\n"
        "  Income:Sales:Web   -8.00 USD\n"
        f'    item: "HERON"\n    quantity: {quantity}\n'
    )


DAY = [
    order(1, 1),
    order(2, 2),
    '2025-02-03 * "Bought"\n  Assets:Stock:HERON  2 HERON {5.00 USD}\n  Assets:Bank\n',
    '2025-02-03 custom "print-run" 2 HERON 2 VINYL\n',
    '2025-02-03 custom "stock-count" 1 HERON\n',
]


def day_costs(blocks: tuple[str, ...] | list[str]) -> tuple[object, ...]:
    """Return all that a day's blocks come to, in an order that does not matter."""
    loaded = load_text(DAY_HEAD + "".join(blocks))
    booked = [
        (
            entry.narration,
            entry.meta.get("packing"),
            entry.meta.get("spoiled"),
            *((each.account, each.units, each.cost) for each in entry.postings),
        )
        for entry in transactions(loaded)
    ]
    return sorted(map(repr, booked)), sorted(message for _, message in complaints(loaded))


def test_the_order_of_a_days_lines_does_not_matter() -> None:
    first = day_costs(DAY)
    for blocks in itertools.permutations(DAY):
        assert day_costs(blocks) == first


def test_within_a_day_receipts_come_first_then_runs_then_sales_then_counts() -> None:
    loaded = load_text(DAY_HEAD + "".join(reversed(DAY)))
    assert complaints(loaded) == []
    # 2 at 1.00, then the day's 2 at 5.00, then its run's 2 at 1.00 are on the shelf.
    assert costs(loaded, "Expenses:COGS") == {"Order 1": D("1.00"), "Order 2": D("6.00")}
    assert costs(loaded, "Expenses:Shrinkage") == {"Stock count: 1 HERON": D("6.00")}


TWINS = [
    # Two pairs that differ in their metadata only.
    [
        order(1, 1, '  packing: "plain"\n').replace(" ^order-1", ""),
        order(1, 1, '  packing: "fancy"\n').replace(" ^order-1", ""),
    ],
    [
        '2025-02-03 custom "print-run" 4 HERON 2 VINYL\n',
        '2025-02-03 custom "print-run" 4 HERON 2 VINYL\n  spoiled: 1\n',
    ],
]


@pytest.mark.parametrize("twins", TWINS, ids=["packing", "spoiled"])
def test_entries_that_differ_in_metadata_only_have_an_order_too(twins: list[str]) -> None:
    assert day_costs(twins) == day_costs(twins[::-1])


def test_equal_purchases_of_a_day_that_differ_in_their_words_have_an_order_too() -> None:
    twins = [
        f'2025-02-03 * "{narration}"\n  Assets:Box  2 HERON {{5.00 USD}}\n  Assets:Bank\n'
        for narration in ("First", "Second")
    ]
    average = '2025-01-01 open Assets:Stock:HERON HERON "AVERAGE"\n'
    assert day_costs([average, *twins]) == day_costs([average, *twins[::-1]])


def test_splitting_a_ledger_into_files_does_not_change_it(tmp_path: Path) -> None:
    def loaded_from(*files: list[str]) -> tuple[object, ...]:
        (tmp_path / "main.beancount").write_text(
            DAY_HEAD + "".join(f'include "{at}.beancount"\n' for at, _ in enumerate(files))
        )
        for at, blocks in enumerate(files):
            (tmp_path / f"{at}.beancount").write_text("\n" * (at * 7) + "".join(blocks))
        entries, errors, options = loader.load_file(str(tmp_path / "main.beancount"))
        loaded = Loaded(entries, errors, options)
        return complaints(loaded), costs(loaded), on_hand(loaded, "HERON")

    whole = loaded_from(DAY)
    assert loaded_from(DAY[3:], DAY[:3]) == whole
    assert loaded_from(DAY[:1], DAY[1:2], DAY[2:]) == whole
    assert loaded_from(DAY[4:], DAY[2:4], DAY[1:2], DAY[:1]) == whole


def test_a_tree_of_entries_without_stock_is_left_alone() -> None:
    text = textwrap.dedent(
        """\
        2025-01-01 open Assets:Bank
        2025-01-01 open Income:Sales:Web
        2025-01-04 * "Order 1"
          Assets:Bank         8.00 USD
          Income:Sales:Web   -8.00 USD
        """
    )
    bare, _, _ = loader.load_string(text)
    loaded = load_text('plugin "offcut.plugins"\n' + text)
    assert len(loaded.entries) == len(bare)
    assert [type(a) for a in loaded.entries] == [type(b) for b in bare]


def test_a_sale_that_names_an_item_but_no_quantity_is_an_error(ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-02 * "Order 1"
      Assets:Bank            7.00 USD
      Income:Discounts:Web   1.00 USD
        item: "HERON"
      Income:Sales:Web      -8.00 USD
        item: "HERON"
    """
    ((line, message),) = complaints(ledger)
    assert line == 10
    assert "add quantity: 1" in message


@pytest.mark.parametrize(
    "text",
    [
        '"packing" "letter" {} MAILER',
        '"bill-of-materials" 6 HERON {} MAILER',
    ],
)
def test_two_lists_of_one_day_that_differ_are_an_error(text: str) -> None:
    loaded = load_text(
        'plugin "offcut.plugins"\n2025-01-01 commodity HERON\n  stock: "product"\n'
        '2025-01-01 commodity MAILER\n  stock: "material"\n'
        f"2025-01-02 custom {text.format(1)}\n2025-01-02 custom {text.format(2)}\n"
    )
    ((line, message),) = complaints(loaded)
    assert line == 7
    assert "says something else; keep the right one" in message

"""What holds of every ledger: on random histories of all that happens on a shelf.

A history is drawn as plain tuples, written as a ledger, and loaded as a user's would be.
Money moves in whole dollars, which leave beancount's validation no tolerance at all.
"""

from __future__ import annotations

import datetime
import random
import re
from collections import defaultdict
from collections.abc import Callable
from decimal import Decimal, localcontext
from typing import Any

import pytest
from beancount.core import convert, data
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints, on_hand, transactions, weights

D = Decimal
PRODUCTS = ("HERON", "MOTH", "PACK")
BOUGHT = ("HERON", "MOTH", "VINYL", "INK", "MAILER", "STAMP")
ITEMS = (*BOUGHT, "PACK")
HOMES = {
    "HERON": "Assets:Stock:HERON",
    "MOTH": "Assets:Stock:MOTH",
    "PACK": "Assets:Stock:PACK",
    "VINYL": "Assets:Materials:VINYL",
    "INK": "Assets:Materials:INK",
    "MAILER": "Assets:Materials:MAILER",
    "STAMP": "Assets:Stamps:STAMP",
}
PLACE = "Gallery"
FIRST_DAY = datetime.date(2025, 2, 1)

# Of one piece: what the bills below say. A third of INK has no exact decimal.
PARTS = {
    "HERON": {"VINYL": (D(1), D(6)), "INK": (D("5.4"), D(6))},
    "MOTH": {"VINYL": (D(1), D(4)), "INK": (D(1), D(3))},
    "PACK": {"HERON": (D(2), D(1)), "MOTH": (D(1), D(1)), "MAILER": (D(1), D(1))},
}
LETTER = {"MAILER": D(1), "STAMP": D(2)}

# What a history may rightly be told; anything else is a fault.
EXPECTED = re.compile(
    r"\d short\. Record"
    r"|came back, but none was ever received"
    r"|were counted, but none was ever received"
    r"|were ever sent to 'Gallery'"
    r"|and only these are moved"
    r"|A discount of \d+ is more than the goods cost"
)

Happening = tuple[Any, ...]
History = list[Happening]


# --- drawing -----------------------------------------------------------------------

few = st.integers(1, 12)
some = st.integers(1, 80)
dollars = st.integers(1, 60)
charges = dollars | st.integers(-9, -1)
rules = st.sampled_from(["value", "quantity"])
products = st.sampled_from(PRODUCTS)
made = st.tuples(st.sampled_from(["HERON", "MOTH"]), some)


def happenings() -> st.SearchStrategy[Happening]:
    """Return all that can happen, the ordinary more often than the rare."""
    tell = st.tuples
    buy = tell(
        st.just("buy"),
        st.sampled_from(BOUGHT),
        some,
        dollars,
        st.booleans(),
        st.none() | tell(charges, rules),
    )
    sell = tell(st.just("sell"), products, few, st.booleans(), st.booleans())
    run = tell(st.just("run"), products, some, st.integers(0, 9))
    return st.one_of(
        buy,
        buy,
        run,
        run,
        sell,
        sell,
        sell,
        tell(st.just("buy each"), st.sampled_from(BOUGHT), some, st.integers(0, 9999)),
        tell(st.just("bill"), st.integers(0, 9), charges, rules),
        tell(st.just("run of"), made, few, st.integers(0, 40)),
        tell(st.just("gang"), some, some, st.none() | few),
        tell(st.just("return"), st.integers(0, 9), few),
        tell(st.just("out"), st.sampled_from(ITEMS), few),
        tell(st.just("count"), st.sampled_from(ITEMS), st.integers(0, 60)),
        tell(st.just("consign"), products, few),
        tell(st.just("consign back"), products, few),
        tell(st.just("value"), products, st.integers(0, 99)),
    )


# Short ones for what is at the root of a fault, long ones to meet it at all.
histories = st.lists(happenings(), max_size=6) | st.lists(
    happenings(), min_size=10, max_size=30
)
methods = st.sampled_from(["FIFO", "AVERAGE"])


# --- writing -----------------------------------------------------------------------


def head(method: str) -> str:
    """Return the items and what belongs to them."""
    lines = [
        'plugin "offcut.plugins"',
        'plugin "beancount.plugins.auto_accounts"',
        f'option "booking_method" "{method}"',
        "2025-01-01 open Expenses:Gifts",
    ]
    for item in ITEMS:
        kind = {"S": "stamp"}.get(item[0], "product" if item in PRODUCTS else "material")
        lines.append(f'2025-01-01 commodity {item}\n  stock: "{kind}"')
    lines[-1] += "\n  normal-spoilage: 0.05"
    lines += [
        '2025-01-01 custom "bill-of-materials" 6 HERON 1 VINYL 5.4 INK',
        '2025-01-01 custom "bill-of-materials" 12 MOTH 3 VINYL 4 INK',
        '2025-01-01 custom "bill-of-materials" 1 PACK 2 HERON 1 MOTH 1 MAILER',
        '2025-01-01 custom "packing" "letter" 1 MAILER 2 STAMP',
    ]
    return "\n".join(lines) + "\n"


def blocks_of(history: History, a_day: int) -> list[str]:
    """Return a history's directives, so many happenings to a day."""
    orders: list[tuple[int, str, bool]] = []
    purchases: list[int] = []
    counted: set[tuple[datetime.date, str]] = set()
    blocks = []
    for number, happening in enumerate(history):
        date = FIRST_DAY + datetime.timedelta(days=number // a_day)
        match happening:
            case ("buy", item, units, total, typed, spread):
                purchases.append(number)
                paid = total + (spread[0] if spread else 0)
                freight = (
                    f'  Expenses:Freight  {spread[0]} USD\n    spread: "{spread[1]}"\n'
                    if spread
                    else ""
                )
                block = (
                    f'{date} * "Bought {number}" ^purchase-{number}\n'
                    f"  {HOMES[item]}  {units} {item} {{{{{total} USD}}}}\n{freight}"
                    f"  Assets:Bank{f'  {-paid} USD' if typed else ''}\n"
                )
            case ("buy each", item, units, cost):
                purchases.append(number)
                block = (
                    f'{date} * "Bought {number}" ^purchase-{number}\n'
                    f"  {HOMES[item]}  {units} {item} {{{D(cost).scaleb(-4)} USD}}\n"
                    "  Assets:Bank\n"
                )
            case ("bill", back, total, rule) if purchases:
                purchase = purchases[-1 - back % len(purchases)]
                block = (
                    f'{date} * "Bill {number}" ^purchase-{purchase}\n'
                    f'  Expenses:Freight  {total} USD\n    spread: "{rule}"\n'
                    f"  Assets:Bank  {-total} USD\n"
                )
            case ("run", product, good, spoiled):
                block = (
                    f'{date} custom "print-run" {good} {product}\n'
                    f"  spoiled: {min(spoiled, good)}\n"
                )
            case ("run of", (product, good), sheets, ink):
                block = f'{date} custom "print-run" {good} {product} {sheets} VINYL'
                block += f" {D(ink) / 8} INK\n" if ink else "\n"
            case ("gang", herons, moths, sheets):
                block = f'{date} custom "print-run" {herons} HERON {moths} MOTH'
                block += f" {sheets} VINYL\n" if sheets else "\n"
            case ("sell", product, units, packed, away):
                orders.append((number, product, away))
                block = (
                    f'{date} * "Order {number}" ^order-{number}\n'
                    + ('  packing: "letter"\n' if packed else "")
                    + "  Assets:Till  8 USD\n  Income:Sales:Web  -8 USD\n"
                    f'    item: "{product}"\n    quantity: {units}\n'
                    + (f'    place: "{PLACE}"\n' if away else "")
                )
            case ("return", back, units) if orders:
                order, product, away = orders[-1 - back % len(orders)]
                block = (
                    f'{date} * "Refund {number}" ^order-{order}\n'
                    "  Assets:Till  -8 USD\n  Income:Refunds:Web  8 USD\n"
                    f'    item: "{product}"\n    quantity: {units}\n'
                    + (f'    place: "{PLACE}"\n' if away else "")
                )
            case ("out", item, units):
                block = f'{date} custom "stock-out" {units} {item} Expenses:Gifts\n'
            case ("count", item, units) if (date, item) not in counted:
                counted.add((date, item))
                block = f'{date} custom "stock-count" {units} {item}\n'
            case ("consign", product, units):
                block = f'{date} custom "consignment" {units} {product} "{PLACE}"\n'
            case ("consign back", product, units):
                block = f'{date} custom "consignment-return" {units} {product} "{PLACE}"\n'
            case ("value", product, cents):
                value = D(cents).scaleb(-2)
                block = f'{date} custom "net-realisable-value" "{product}" {value} USD\n'
            case _:
                continue
        blocks.append(block)
    return blocks


def load(history: History, method: str, a_day: int = 1) -> Loaded:
    """Load a history."""
    return load_text(head(method) + "".join(blocks_of(history, a_day)))


def paid_for(history: History) -> Decimal:
    """Return what was paid for stock, freight and bills, from the history alone."""
    paid, purchases = D(0), 0
    for happening in history:
        match happening:
            case ("buy", _, _, total, _, spread):
                purchases += 1
                paid += total + (spread[0] if spread else 0)
            case ("buy each", _, units, cost):
                purchases += 1
                paid += units * D(cost).scaleb(-4)
            case ("bill", _, total, _) if purchases:
                paid += total
    return paid


# --- the rules ---------------------------------------------------------------------


def only_what_is_expected_is_wrong(history: History, method: str) -> None:
    """beancount's own validation included, to the last digit, as no leg has cents."""
    for _, message in complaints(load(history, method)):
        assert EXPECTED.search(message), message


def every_entry_balances_to_the_last_digit(history: History, method: str) -> None:
    for entry in transactions(load(history, method)):
        with localcontext(prec=80):
            residual = sum(convert.get_weight(posting).number for posting in entry.postings)
        assert residual == 0, entry


def value_in_is_value_out_and_value_on_hand(history: History, method: str) -> None:
    found = weights(load(history, method))
    with localcontext(prec=80):
        kept_or_spent = sum(
            value
            for account, value in found.items()
            if account not in ("Assets:Bank", "Assets:Till")
            and not account.startswith("Income:")
        )
    assert kept_or_spent == paid_for(history)


def no_lot_is_below_zero_at_the_close_of_any_day(history: History, method: str) -> None:
    lots: dict[tuple[object, ...], Decimal] = defaultdict(Decimal)
    day = None
    for entry in [*transactions(load(history, method)), None]:
        if entry is None or entry.date != day:
            assert all(units >= 0 for units in lots.values()), day
            day = entry and entry.date
        for posting in entry.postings if entry else ():
            if posting.cost:
                lots[posting.account, posting.units.currency, posting.cost] += (
                    posting.units.number
                )
                assert posting.cost.number >= 0, entry


def pieces_stay_whole_and_costs_short(history: History, method: str) -> None:
    loaded = load(history, method)
    for product in PRODUCTS:
        for units, cost in on_hand(loaded, product):
            assert units == units.to_integral_value()
            assert -cost.as_tuple().exponent <= 12


def the_order_of_a_days_lines_does_not_matter(history: History, method: str) -> None:
    def told(blocks: list[str]) -> list[str]:
        loaded = load_text(head(method) + "".join(blocks))
        entries = [
            repr((entry.date, entry.narration, sorted(map(booked, entry.postings))))
            for entry in transactions(loaded)
        ]
        return sorted(entries) + sorted(message for _, message in complaints(loaded))

    def booked(posting: data.Posting) -> str:
        return repr((posting.account, posting.units, posting.cost))

    blocks = blocks_of(history, a_day=6)
    shuffled = random.Random(len(blocks)).sample(blocks, len(blocks))
    assert told(blocks) == told(shuffled) == told(blocks[::-1])


def the_methods_differ_in_the_split_and_not_in_the_sum(
    history: History, method: str
) -> None:
    def sum_of(method: str) -> Decimal:
        with localcontext(prec=80):
            return sum(
                (
                    value
                    for account, value in weights(load(history, method, a_day=4)).items()
                    if account.startswith(("Assets:Stock", "Assets:M", "Assets:Stamps"))
                    or account.startswith(("Assets:Consignment", "Expenses:"))
                ),
                D(0),
            )

    assert sum_of("FIFO") == sum_of("AVERAGE") == paid_for(history)


def loading_twice_gives_the_same_entries(history: History, method: str) -> None:
    def told() -> list[str]:
        return [repr(entry) for entry in load(history, method).entries]

    assert told() == told()


class Shelves:
    """Units alone, by item and place: what there is, and what is owed to which order."""

    def __init__(self) -> None:
        self.there: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
        self.owed: dict[tuple[str, str], list[list[Any]]] = defaultdict(list)
        self.stocked: set[tuple[str, str]] = set()

    def receive(self, item: str, units: Decimal, place: str = "") -> None:
        at = (item, place)
        self.stocked.add(at)
        self.there[at] += units
        while self.owed[at] and self.there[at]:
            settled = min(self.owed[at][0][1], self.there[at])
            self.there[at] -= settled
            self.owed[at][0][1] -= settled
            if not self.owed[at][0][1]:
                del self.owed[at][0]

    def take(self, item: str, units: Decimal, order: int = -1, place: str = "") -> None:
        at = (item, place)
        got = min(units, self.there[at])
        self.there[at] -= got
        if got < units:
            self.owed[at].append([order, units - got])

    def take_back(self, item: str, units: Decimal, order: int, place: str) -> None:
        at = (item, place)
        for owed in self.owed[at]:
            if owed[0] == order:
                back = min(units, owed[1])
                owed[1] -= back
                units -= back
        self.owed[at] = [owed for owed in self.owed[at] if owed[1]]
        if at in self.stocked:
            self.there[at] += units

    def make(self, pieces: dict[str, tuple[Decimal, Decimal]], named: Any = None) -> None:
        """Make good and spoiled pieces of products, by the bills or of what is named."""
        needed: dict[str, Decimal] = defaultdict(Decimal)
        for product, (good, spoiled) in pieces.items():
            for part, (units, of) in PARTS[product].items():
                needed[part] += (good + spoiled) * units / of
        for part, units in (named or needed).items():
            self.take(part, units.quantize(D("0.0001")))
        for product, (good, _) in pieces.items():
            self.receive(product, good)


def counted_by_hand(history: History) -> dict[tuple[str, str], Decimal]:
    """Return the units that should be left, by item and place; a day to a happening."""
    shelves = Shelves()
    orders: list[tuple[int, str, str]] = []
    sent: set[str] = set()
    for number, happening in enumerate(history):
        match happening:
            case ("buy" | "buy each", item, units, *_):
                shelves.receive(item, D(units))
            case ("run", product, good, spoiled):
                shelves.make({product: (D(good), D(min(spoiled, good)))})
            case ("run of", (product, good), sheets, ink):
                inputs = {"VINYL": D(sheets)} | ({"INK": D(ink) / 8} if ink else {})
                shelves.make({product: (D(good), D(0))}, inputs)
            case ("gang", herons, moths, sheets):
                inputs = {"VINYL": D(sheets)} if sheets else None
                shelves.make({"HERON": (D(herons), D(0)), "MOTH": (D(moths), D(0))}, inputs)
            case ("sell", product, units, packed, away):
                place = PLACE if away else ""
                orders.append((number, product, place))
                if not away or product in sent:
                    shelves.take(product, D(units), number, place)
                for part, each in LETTER.items() if packed else ():
                    shelves.take(part, each)
            case ("return", back, units) if orders:
                order, product, place = orders[-1 - back % len(orders)]
                if not place or product in sent:
                    shelves.take_back(product, D(units), order, place)
            case ("out", item, units):
                shelves.take(item, D(units))
            case ("count", item, units) if (item, "") in shelves.stocked:
                shelves.there[item, ""] = D(units)
            case ("consign", product, units):
                sent.add(product)
                moved = min(D(units), shelves.there[product, ""])
                shelves.there[product, ""] -= moved
                if moved:
                    shelves.receive(product, moved, PLACE)
            case ("consign back", product, units) if product in sent:
                moved = min(D(units), shelves.there[product, PLACE])
                shelves.there[product, PLACE] -= moved
                if moved:
                    shelves.receive(product, moved)
    return {at: units for at, units in shelves.there.items() if units}


def units_are_what_counting_by_hand_gives(history: History, method: str) -> None:
    left: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for entry in transactions(load(history, method)):
        for posting in entry.postings:
            if posting.cost:
                place = PLACE if ":Consignment:" in posting.account else ""
                left[posting.units.currency, place] += posting.units.number
    assert {at: units for at, units in left.items() if units} == counted_by_hand(history)


RULES = [
    only_what_is_expected_is_wrong,
    every_entry_balances_to_the_last_digit,
    value_in_is_value_out_and_value_on_hand,
    units_are_what_counting_by_hand_gives,
    no_lot_is_below_zero_at_the_close_of_any_day,
    pieces_stay_whole_and_costs_short,
    the_order_of_a_days_lines_does_not_matter,
    the_methods_differ_in_the_split_and_not_in_the_sum,
    loading_twice_gives_the_same_entries,
]
Rule = Callable[[History, str], None]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
@given(histories, methods)
def test_of_every_ledger(rule: Rule, history: History, method: str) -> None:
    rule(history, method)


@pytest.mark.slow
@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
@settings(max_examples=10_000)
@given(histories, methods)
def test_of_ten_thousand_ledgers(rule: Rule, history: History, method: str) -> None:
    rule(history, method)

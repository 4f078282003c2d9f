"""Read the `custom` directives of the shelf into records.

    2025-01-06 custom "bill-of-materials" 6 HERON-STK 1 VINYL 1 FILM 5.4 INK-ML
    2025-02-03 custom "print-run" 58 HERON-STK 10 VINYL 10 FILM 54 INK-ML
      spoiled: 2
      minutes: 95
    2025-02-03 custom "print-run" 30 HERON-STK 30 MOTH-STK
    2025-03-31 custom "stock-count" 41 HERON-STK
    2025-04-12 custom "stock-out" 3 HERON-STK Expenses:Marketing:Giveaways
    2025-01-06 custom "packing" "letter" 1 MAILER 1 SLEEVE 1 STAMP-LETTER
    2025-05-02 custom "consignment" 12 HERON-STK "Harbour Books"
    2025-08-30 custom "consignment-return" 3 HERON-STK "Harbour Books"
    2025-12-31 custom "net-realisable-value" "HERON-STK" 0.20 USD

The forms only: whether an item exists is for the plugin that costs it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data
from beancount.core.account import TYPE as ACCOUNT
from beancount.core.amount import Amount

ZERO = Decimal(0)


class Quantity(NamedTuple):
    """Units of an item of stock."""

    units: Decimal
    item: str

    def __str__(self) -> str:
        return f"{self.units} {self.item}"


class Malformed(Exception):
    """A directive that does not have its form; the text says what was expected."""


class Bill(NamedTuple):
    """What goes into a number of one product.

    Attributes:
      output: The pieces that the inputs make.
      inputs: What goes into them.
    """

    entry: data.Custom
    output: Quantity
    inputs: tuple[Quantity, ...]


class Run(NamedTuple):
    """One print run.

    Attributes:
      quantities: What the directive names, in its order: the good pieces, then what
        went into them, if that is said.
      spoiled: Spoiled pieces by product; for a plain number the product is None.
    """

    entry: data.Custom
    quantities: tuple[Quantity, ...]
    spoiled: Mapping[str | None, Decimal]


class Packing(NamedTuple):
    """What one order uses up when it is packed by a list."""

    entry: data.Custom
    name: str
    inputs: tuple[Quantity, ...]


class Count(NamedTuple):
    """How many units of an item were on the shelf at the close of the day."""

    entry: data.Custom
    counted: Quantity


class StockOut(NamedTuple):
    """Units that left without a sale, and the account that bears their cost."""

    entry: data.Custom
    taken: Quantity
    account: str


class Consignment(NamedTuple):
    """Units that went to a shop that sells them for the maker, or came back unsold."""

    entry: data.Custom
    moved: Quantity
    place: str
    back: bool


class Valuation(NamedTuple):
    """What one unit of an item can be sold for, less what it takes to sell it."""

    entry: data.Custom
    item: str
    value: Amount


Record = Bill | Run | Packing | Count | StockOut | Consignment | Valuation


def read_directive(entry: data.Custom) -> Record | None:
    """Return the record of a directive, or None where it is not one of the shelf's.

    Raises:
      Malformed: The directive's values or metadata do not have the form.
    """
    reader = READERS.get(entry.type)
    if entry.values is None:  # beancount's parser, where nothing follows the type
        entry = entry._replace(values=[])
    return reader(entry) if reader else None


def _read_bill(entry: data.Custom) -> Bill:
    form = 'custom "bill-of-materials" 6 PRODUCT 1 SHEET 5.4 INK: pieces, what goes in'
    output, *inputs = _quantities(entry.values, form, at_least=2)
    return Bill(entry, output, tuple(inputs))


def _read_run(entry: data.Custom) -> Run:
    form = 'custom "print-run" 58 PRODUCT, or with what went in: 58 PRODUCT 10 SHEET 54 INK'
    return Run(entry, tuple(_quantities(entry.values, form, at_least=1)), _spoiled(entry))


def _spoiled(entry: data.Custom) -> dict[str | None, Decimal]:
    """Return the spoiled pieces of a run by product; None is the run's only product."""
    spoiled = entry.meta.get("spoiled")
    if spoiled is None:
        return {}
    number, product = spoiled if isinstance(spoiled, Amount) else (spoiled, None)
    if not isinstance(number, Decimal) or number < ZERO:
        raise Malformed(
            f"spoiled must be the number of spoiled pieces, not {spoiled}; write "
            "spoiled: 2, or spoiled: 2 PRODUCT in a run of several products"
        )
    return {product: number}


def _read_packing(entry: data.Custom) -> Packing:
    form = 'custom "packing" "letter" 1 ENVELOPE 1 STAMP: a name, what an order uses up'
    if not entry.values or entry.values[0].dtype is not str:
        raise Malformed(f"Write it as {form}")
    inputs = _quantities(entry.values[1:], form, at_least=1)
    return Packing(entry, entry.values[0].value, tuple(inputs))


def _read_count(entry: data.Custom) -> Count:
    form = 'custom "stock-count" 41 PRODUCT: the units on the shelf at the close of the day'
    if len(entry.values) != 1 or not isinstance(entry.values[0].value, Amount):
        raise Malformed(f"Write it as {form}")
    (counted,) = _amounts(entry.values)
    if counted.units < ZERO:
        raise Malformed(f"A count cannot be below zero, here it is {counted}")
    return Count(entry, counted)


def _read_stock_out(entry: data.Custom) -> StockOut:
    form = 'custom "stock-out" 3 PRODUCT Expenses:Marketing:Giveaways: units, account'
    if len(entry.values) != 2 or entry.values[1].dtype is not ACCOUNT:
        raise Malformed(f"Write it as {form}")
    (taken,) = _quantities(entry.values[:1], form, at_least=1)
    return StockOut(entry, taken, entry.values[1].value)


def _read_consignment(entry: data.Custom) -> Consignment:
    form = f'custom "{entry.type}" 12 PRODUCT "Name of the shop"'
    if len(entry.values) != 2 or entry.values[1].dtype is not str:
        raise Malformed(f"Write it as {form}")
    (moved,) = _quantities(entry.values[:1], form, at_least=1)
    return Consignment(
        entry, moved, entry.values[1].value, back=entry.type == "consignment-return"
    )


def _read_valuation(entry: data.Custom) -> Valuation:
    form = 'custom "net-realisable-value" "PRODUCT" 0.20 USD: what one can be sold for, net'
    kinds = [value.dtype for value in entry.values]
    if kinds != [str, Amount] or entry.values[1].value.number < ZERO:
        raise Malformed(f"Write it as {form}")
    return Valuation(entry, entry.values[0].value, entry.values[1].value)


def _quantities(values: Sequence[Any], form: str, at_least: int) -> list[Quantity]:
    """Return a directive's values, which must all be amounts above zero.

    Raises:
      Malformed: One is not, or there are too few; says the form that is expected.
    """
    amounts = [value.value for value in values]
    if len(amounts) < at_least or not all(isinstance(amount, Amount) for amount in amounts):
        raise Malformed(f"Write it as {form}")
    for amount in amounts:
        if amount.number <= ZERO:
            raise Malformed(f"{amount} must be more than zero. Write it as {form}")
    return _amounts(values)


def _amounts(values: Sequence[Any]) -> list[Quantity]:
    """Return values that are known to be beancount amounts as quantities."""
    return [Quantity(value.value.number, value.value.currency) for value in values]


READERS: Mapping[str, Callable[[data.Custom], Record]] = {
    "bill-of-materials": _read_bill,
    "print-run": _read_run,
    "packing": _read_packing,
    "stock-count": _read_count,
    "stock-out": _read_stock_out,
    "consignment": _read_consignment,
    "consignment-return": _read_consignment,
    "net-realisable-value": _read_valuation,
}

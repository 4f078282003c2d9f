"""Turn a print run's materials into its good pieces, at what the materials cost."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from decimal import ROUND_FLOOR, Decimal
from typing import NamedTuple

from beancount.core.data import Posting

from offcut.plugins.catalogue import Item
from offcut.plugins.costing import apportion, spread_evenly, trimmed
from offcut.plugins.shelf import GRAIN, added_posting, cost_of, postings_of
from offcut.plugins.stock_directives import Bill, Quantity, Run
from offcut.plugins.stock_events import Event
from offcut.plugins.stockroom import Stockroom, in_force

ZERO = Decimal(0)

# A bill may say a third of a sheet. Four places of a sheet or a millilitre are finer
# than anyone measures, and keep what a run costs inside its products' twelve.
MATERIAL_STEP = Decimal("0.0001")
COST_GRAIN = GRAIN["product"]


class Made(NamedTuple):
    """What one run made of one product.

    Attributes:
      product: The commodity.
      good: Pieces that went on the shelf.
      spoiled: Pieces that did not.
      bill: The bill of materials in force, if there is one.
    """

    product: str
    good: Decimal
    spoiled: Decimal
    bill: Bill | None

    @property
    def pieces(self) -> Decimal:
        """The pieces that used up material."""
        return self.good + self.spoiled

    def needs(self, material: str) -> Decimal:
        """Return how much of a material the bill says these pieces take."""
        if self.bill is None:
            return ZERO
        per_output = sum(
            (part.units for part in self.bill.inputs if part.item == material), ZERO
        )
        return self.pieces * per_output / self.bill.output.units


class Unclear(Exception):
    """A run whose directive does not say enough; the text says what is missing."""


def print_pieces(room: Stockroom, event: Event) -> None:
    """Take a run's materials off their shelves and put its good pieces on theirs."""
    run: Run = event.detail
    entry = run.entry
    for part in run.quantities:
        if room.shelf(part.item, "A part of this print run", entry) is None:
            return
    try:
        made, inputs = outputs_and_inputs(
            run,
            room.catalogue,
            lambda product: in_force(room.bills.get(product, ()), entry.date),
        )
        inputs = [part for part in inputs if part.item in room.shelves]
        currency = _one_currency(
            room, [*(m.product for m in made), *(i.item for i in inputs)]
        )
    except Unclear as unclear:
        room.error(str(unclear), entry)
        return
    postings: list[Posting] = []
    costs: dict[str, Decimal] = {}
    for part in inputs:
        shelf = room.shelves[part.item]
        late_cost = room.shelves[made[0].product].cost_account
        taken = room.take(shelf, part.units, late_cost, entry)
        if shelf.owed:
            room.own(late_cost, entry.date)
        costs[shelf.name] = costs.get(shelf.name, ZERO) + cost_of(taken)
        postings += postings_of(shelf, taken, -1)
    for each, cost in zip(made, joint_costs(made, costs), strict=True):
        postings += _put_made(room, each, cost, currency, entry.date)
    pieces = ", ".join(f"{trimmed(each.good)} {each.product}" for each in made)
    room.generate(entry, f"Print run: {pieces}", postings)


def _put_made(
    room: Stockroom, made: Made, cost: Decimal, currency: str, date: datetime.date
) -> list[Posting]:
    """Put a product's good pieces on its shelf; expense its abnormal spoilage."""
    shelf = room.shelves[made.product]
    wasted = abnormal_spoilage(made, cost, shelf.item.normal_spoilage)
    layers = [
        (units, shelf.lot(unit_cost, currency, date))
        for units, unit_cost in spread_evenly(cost - wasted, made.good, shelf.grain)
    ]
    postings = postings_of(shelf, layers, 1)
    if wasted:
        expense = room.expense("Spoilage", made.product, date)
        postings.append(added_posting(expense, wasted, currency, made.product))
    return postings + room.receive(shelf, layers, date)


def _one_currency(room: Stockroom, items: list[str]) -> str:
    """Return the currency that all of a run's items cost.

    Raises:
      Unclear: There are several.
    """
    currencies = {
        shelf.currency: item for item in items if (shelf := room.shelves[item]).currency
    }
    if len(currencies) > 1:
        told = " and ".join(
            f"{item} costs {currency}" for currency, item in currencies.items()
        )
        raise Unclear(f"A print run costs one currency, but {told}; buy in one of them")
    return next(iter(currencies), None) or (room.operating_currencies or ["USD"])[0]


def outputs_and_inputs(
    run: Run, catalogue: Mapping[str, Item], bill_of: Callable[[str], Bill | None]
) -> tuple[list[Made], list[Quantity]]:
    """Tell what a run made from what went into it.

    Products at the front are what it made, up to the first material, or the first
    product that the first one's bill names as a part.

    Args:
      run: The directive's record.
      catalogue: The items of stock.
      bill_of: Returns a product's bill in force on the run's date.

    Returns:
      What was made, and what went in, by the bills where the run does not say.

    Raises:
      Unclear: Something is missing or contradicts itself.
    """
    first = bill_of(run.quantities[0].item)
    parts = {part.item for part in first.inputs} if first else set()
    outputs: list[Quantity] = []
    for each in run.quantities:
        item = catalogue[each.item]
        if item.kind != "product" or (outputs and each.item in parts):
            break
        outputs.append(each)
    if not outputs:
        raise Unclear(
            f"A print run makes products, and {run.quantities[0].item} is a "
            f"{catalogue[run.quantities[0].item].kind}. Name first what was made"
        )
    if len({part.item for part in outputs}) < len(outputs):
        raise Unclear(
            "This print run names a product twice; write its pieces in one number"
        )
    spoiled = _spoiled_by_product(run, outputs)
    made = [
        Made(
            part.item,
            part.units,
            spoiled.get(part.item, ZERO),
            bill_of(part.item),
        )
        for part in outputs
    ]
    inputs = list(run.quantities[len(outputs) :])
    if not inputs:
        without = [each.product for each in made if each.bill is None]
        if without:
            raise Unclear(
                f"{without[0]} has no bill of materials on {run.entry.date}. Name what "
                f'went into the run, or write custom "bill-of-materials" 1 {without[0]} '
                "1 SHEET on that day or before"
            )
        inputs = _by_bills(made)
    return made, inputs


def _spoiled_by_product(run: Run, outputs: list[Quantity]) -> dict[str, Decimal]:
    """Return spoiled pieces by product, and check them against what was made."""
    names = [part.item for part in outputs]
    spoiled = {}
    for product, pieces in run.spoiled.items():
        if product is None and len(names) > 1:
            raise Unclear(
                f"Which product was spoiled? In a run of several products write "
                f"spoiled: {pieces} {names[0]}"
            )
        name = product or names[0]
        if name not in names:
            raise Unclear(
                f"{name} is said to be spoiled, but the run made {', '.join(names)}"
            )
        good = sum((part.units for part in outputs if part.item == name), ZERO)
        if pieces > good:
            raise Unclear(
                f"More pieces spoiled ({pieces}) than made ({good}) of {name}. A run says "
                "its good pieces, and the spoiled ones beside them; material that was lost "
                'altogether is custom "stock-out"'
            )
        spoiled[name] = pieces
    return spoiled


def _by_bills(made: list[Made]) -> list[Quantity]:
    """Return what the bills say went into a run."""
    needed: dict[str, Decimal] = {}
    for each in made:
        assert each.bill is not None
        for currency in dict.fromkeys(part.item for part in each.bill.inputs):
            needed[currency] = needed.get(currency, ZERO) + each.needs(currency)
    return [
        Quantity(trimmed(units.quantize(MATERIAL_STEP)), currency)
        for currency, units in needed.items()
        if units.quantize(MATERIAL_STEP)
    ]


def joint_costs(made: list[Made], costs: Mapping[str, Decimal]) -> list[Decimal]:
    """Share what went into a run out among what it made.

    Each material by what the bills say that the products take of it; a material that
    no bill names, by pieces.

    Args:
      made: What the run made.
      costs: What each material cost.

    Returns:
      A cost for each product; they add up to the materials' cost exactly.
    """
    shares = [ZERO] * len(made)
    for material, cost in costs.items():
        weights = [each.needs(material) for each in made]
        if not any(weights):
            weights = [each.pieces for each in made]
        for index, part in enumerate(apportion(cost, weights, COST_GRAIN)):
            shares[index] += part
    return shares


def abnormal_spoilage(made: Made, cost: Decimal, normal_rate: Decimal) -> Decimal:
    """Return the part of a product's cost that unexpected waste bears.

    Spoiled pieces up to the normal rate (to a good piece) stay in the good pieces'
    cost; those above are an expense of the period: IAS 2, paragraph 16(a).

    Args:
      made: What the run made of the product.
      cost: What all pieces cost, spoiled ones included.
      normal_rate: Spoiled pieces expected for a good one.
    """
    abnormal = made.spoiled - normal_rate * made.good
    if abnormal <= ZERO:
        return ZERO
    step = Decimal(1).scaleb(-COST_GRAIN)
    return trimmed((cost * abnormal / made.pieces).quantize(step, ROUND_FLOOR))

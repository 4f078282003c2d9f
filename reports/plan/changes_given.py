"""Make the changes of a plan out of what a maker writes: a new price, or a share more.

A new price changes the sales of a product by its share of the list price, since sales
hold reduced prices too; a new cost of a material by its share of what the newest lots
cost.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import Item, nearest
from offcut.reports.plan.given_figures import Change
from offcut.reports.plan.newest_costs import LotCost, fine
from offcut.reports.plan.product_named import product_named
from offcut.reports.plan.what_if import Changes


class Given(NamedTuple):
    """What a maker wrote.

    Attributes:
      prices: Products and the change of their price; one without a name is of all.
      fees: Channels and the change of their fees, as a share of what buyers pay.
      postage: What more a parcel costs.
      materials: Materials and the change of their cost.
    """

    prices: tuple[tuple[str, Change], ...] = ()
    fees: tuple[tuple[str, Change], ...] = ()
    postage: Decimal = ZERO
    materials: tuple[tuple[str, Change], ...] = ()


class Changed(NamedTuple):
    """A figure before and after.

    Attributes:
      what: What it is.
      before: The figure; None where it is not one figure.
      after: The figure it becomes.
      by: By what share it changes; None where it is not a share of itself.
    """

    what: str
    before: Decimal | None
    after: Decimal | None
    by: Decimal | None


def changes_given(
    given: Given,
    catalogue: Mapping[str, Item],
    costs: Mapping[str, LotCost],
    currency: str,
) -> tuple[Changes, tuple[Changed, ...]]:
    """Return the changes, and what each figure becomes.

    Args:
      given: What the maker wrote.
      catalogue: The items of stock, for list prices.
      costs: What each item cost in its newest lots.
      currency: The currency of the plan.

    Raises:
      ValueError: A name is not known, has no price to change, or is given twice.
    """
    shown: list[Changed] = []
    prices: dict[str, Decimal] = {}
    materials: dict[str, Decimal] = {}
    fees: dict[str, Decimal] = {}
    with decimal.localcontext(EXACT):
        for name, change in given.prices:
            code = product_named(name, catalogue).currency if name else ""
            _once(code or "All prices", code in prices)
            before = _list_price(catalogue[code], currency, change) if code else None
            prices[code] = _share(change, before, "All prices change by a share: +10%")
            after = None if before is None else _after(change, before)
            what = f"Price of {code}" if code else _all("prices", given.prices)
            shown.append(Changed(what, before, after, prices[code]))
        for name, change in given.fees:
            _once(f"The fee of {name}" if name else "All fees", name in fees)
            if not (change.is_share and change.is_by):
                raise ValueError("A fee changes by a share of what buyers pay: +0.5%")
            fees[name] = change.number
            what = f"Fees on {name}" if name else _all("fees", given.fees)
            shown.append(Changed(f"{what}, of what buyers pay", None, None, change.number))
        for name, change in given.materials:
            _once(name, name in materials)
            cost = _cost(name, catalogue, costs, currency)
            materials[name] = _share(change, cost, "")
            by = materials[name]
            shown.append(Changed(f"Cost of {name}", cost, _after(change, cost), by))
    if given.postage:
        shown.append(Changed("A parcel", None, given.postage, None))
    all_prices, all_fees = prices.pop("", ZERO), fees.pop("", ZERO)
    changes = Changes(all_prices, prices, all_fees, fees, given.postage, materials)
    return changes, tuple(shown)


def _all(what: str, given: tuple[tuple[str, Change], ...]) -> str:
    """Return what a change without a name is of: all, or all others."""
    return f"All {what}" if len(given) == 1 else f"All other {what}"


def _once(what: str, is_known: bool) -> None:
    """Refuse what is given twice.

    Raises:
      ValueError: It is.
    """
    if is_known:
        raise ValueError(f"{what} is given twice; write it once")


def _share(change: Change, before: Decimal | None, otherwise: str) -> Decimal:
    """Return by what share a figure changes.

    Raises:
      ValueError: There is none that it could change from.
    """
    if change.is_share:
        return change.number
    if before is None:
        raise ValueError(otherwise)
    more = change.number if change.is_by else change.number - before
    return fine(more / before)


def _after(change: Change, before: Decimal) -> Decimal:
    """Return what a figure becomes."""
    if change.is_share:
        return before + before * change.number
    return before + change.number if change.is_by else change.number


def _list_price(item: Item, currency: str, change: Change) -> Decimal | None:
    """Return the price that a product's changes from; None where it need not be known."""
    price = item.list_price
    if price is not None and price.number and price.currency == currency:
        return Decimal(price.number)
    if change.is_share:
        return None
    raise ValueError(
        f"{item.currency} has no list-price in {currency} that a price could change from; "
        f"write a share: {item.currency}=+10%"
    )


def _cost(
    name: str,
    catalogue: Mapping[str, Item],
    costs: Mapping[str, LotCost],
    currency: str,
) -> Decimal:
    """Return what a material costs now.

    Raises:
      ValueError: It is not known, or costs nothing yet in that currency.
    """
    if name not in catalogue:
        known: Iterable[str] = (
            code for code, item in catalogue.items() if item.kind != "product"
        )
        raise ValueError(f"The ledger has no material {name}{nearest(name, known)}")
    cost = costs.get(name)
    if cost is None or cost.currency != currency or cost.unit_cost <= ZERO:
        raise ValueError(f"{name} has no cost in {currency} yet; record its purchase")
    return cost.unit_cost

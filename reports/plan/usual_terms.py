"""Put together what a plan rests on: what is given, else set, else usual."""

from __future__ import annotations

from decimal import Decimal
from functools import partial

from offcut.reports.plan.assumed import GIVEN, assumed
from offcut.reports.plan.next_prints import NextTerms
from offcut.reports.plan.piece_cost import Basis
from offcut.reports.plan.plan_settings import PlanSettings
from offcut.reports.plan.price_breaks import PriceTable
from offcut.reports.plan.wholesale import HALF_OF_RETAIL
from offcut.reports.plan.wholesale_statement import WholesaleTerms

ASSUMED = "assumed here"
LEAD_WEEKS, SERVICE, KEEPING = Decimal(1), Decimal("0.95"), Decimal("0.25")


def next_terms(
    settings: PlanSettings,
    *,
    lead_weeks: Decimal | None = None,
    service: Decimal | None = None,
    keeping: Decimal | None = None,
    hour: Decimal | None = None,
    setup_minutes: Decimal | None = None,
    run_cost: Decimal | None = None,
    prices: PriceTable | None = None,
    given_source: str = GIVEN,
) -> NextTerms:
    """Return what a plan of the next prints rests on.

    Args:
      settings: What is set.
      lead_weeks: Weeks until new pieces are there.
      service: How often nothing may be missing meanwhile, as a share.
      keeping: What keeping stock for a year costs, as a share of its cost.
      hour: What an hour of the maker is worth.
      setup_minutes: The minutes to set up a run.
      run_cost: What a run costs whatever its size.
      prices: What a manufacturer asks.
      given_source: Where what is given is from.
    """
    take = partial(assumed, given_source=given_source)
    return NextTerms(
        lead_weeks=take(lead_weeks, settings.lead_weeks, LEAD_WEEKS, ASSUMED),
        service=take(service, settings.service, SERVICE, ASSUMED),
        keeping=take(keeping, settings.keeping, KEEPING, ASSUMED),
        hour=take(hour, settings.hour),
        setup_minutes=take(setup_minutes, settings.setup_minutes),
        run_cost=take(run_cost, None),
        prices=prices,
    )


def wholesale_terms(
    settings: PlanSettings,
    *,
    rate: Decimal | None = None,
    hour: Decimal | None = None,
    channels: tuple[str, ...] = (),
    basis: Basis = "bill",
    products: frozenset[str] = frozenset(),
    given_source: str = GIVEN,
) -> WholesaleTerms:
    """Return what a plan of wholesale prices rests on.

    Args:
      settings: What is set.
      rate: The wholesale price as a share of the list price.
      hour: What an hour of the maker is worth.
      channels: Where packing and fees are taken from; everywhere where it is empty.
      basis: Where the cost of a piece comes from.
      products: Only these, by commodity; all where it is empty.
      given_source: Where what is given is from.
    """
    take = partial(assumed, given_source=given_source)
    return WholesaleTerms(
        rate=take(rate, settings.wholesale, HALF_OF_RETAIL),
        hour=take(hour, settings.hour),
        channels=channels,
        basis=basis,
        products=products,
    )

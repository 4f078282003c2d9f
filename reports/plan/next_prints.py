"""Tell for every product when to print it again and how much, what runs out first first."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.period import Period
from offcut.reports.plan.assumed import Assumed
from offcut.reports.plan.costs_now import costs_now
from offcut.reports.plan.first_quantity import on_whole_sheets, pieces_to_a_sheet
from offcut.reports.plan.inputs import ONE
from offcut.reports.plan.make_or_order import MINUTES_AN_HOUR
from offcut.reports.plan.newest_costs import fine
from offcut.reports.plan.next_quantity import NextQuantity, next_quantity, to_print_now
from offcut.reports.plan.order_size import OrderSize, OrderSizes, order_size_over_breaks
from offcut.reports.plan.piece_cost import bills_on
from offcut.reports.plan.price_breaks import PriceTable
from offcut.reports.plan.weekly_sales import WEEK, Sold, sold_by_product, weekly_sales
from offcut.reports.plan.wholesale import LeftOut
from offcut.reports.shelf.on_hand import shelf_report

WEEKS = 52
LOOK_BACK = 8  # weeks


@dataclass(frozen=True)
class NextTerms:
    """What the next prints rest on.

    Attributes:
      lead_weeks: Weeks until new pieces are there.
      service: The probability that nothing is missing meanwhile.
      keeping: What keeping a piece for a year costs, as a share of its cost.
      hour: What an hour of the maker is worth.
      setup_minutes: The time that a run takes whatever its size.
      run_cost: What a run costs whatever its size, instead of these two.
      prices: A manufacturer's prices for the one product; None where it is printed.
    """

    lead_weeks: Assumed
    service: Assumed
    keeping: Assumed
    hour: Assumed
    setup_minutes: Assumed
    run_cost: Assumed
    prices: PriceTable | None = None

    @property
    def a_run(self) -> Decimal | None:
        """What a run costs whatever its size; None where that is not known."""
        if self.run_cost.figure:
            return self.run_cost.figure
        hour, minutes = self.hour.figure, self.setup_minutes.figure
        if not hour or not minutes:
            return None
        return fine(EXACT.divide(EXACT.multiply(hour, minutes), MINUTES_AN_HOUR))


@dataclass(frozen=True)
class NextPrint:
    """When to print a product again, and how much.

    Attributes:
      product: The commodity.
      plan: When, and how much.
      elsewhere: Pieces that are consigned to shops, which are not counted.
      is_printed: Whether it has a bill of materials; else it is ordered.
      unit_cost: What a piece costs; None where that is not known.
      sizes: Over price breaks, the best size of each step; None without such.
    """

    product: str
    plan: NextQuantity
    elsewhere: Decimal
    is_printed: bool
    unit_cost: Decimal | None
    sizes: OrderSizes | None = None


@dataclass(frozen=True)
class NextPrints:
    """When to print what.

    Attributes:
      period: The days whose sales are taken.
      due: What to print now, what runs out first first.
      enough: What lasts for now, in the same order.
      left_out: Products without a rate, and why.
      counted: Pieces on all shelves by the shelf's own report, of the products looked at.
      booked: The same by the ledger's stock accounts.
      behind: Channels that sold nearly every week and stop before the period does, with
        their last day: what they sold since may not be imported yet.
    """

    period: Period
    due: tuple[NextPrint, ...]
    enough: tuple[NextPrint, ...]
    left_out: tuple[LeftOut, ...]
    counted: Decimal
    booked: Decimal
    behind: tuple[tuple[str, datetime.date], ...]


def next_prints(
    books: Books,
    period: Period,
    currency: str,
    terms: NextTerms,
    products: Iterable[str] = (),
) -> NextPrints:
    """Return when to print each product again, and how much.

    Args:
      books: The ledger.
      period: The days whose sales are taken: open at its end up to the last day in the
        ledger, at its beginning the 52 weeks before that. A product that was first sold
        within them begins on that day.
      currency: The currency of what runs and pieces cost.
      terms: What the plan rests on.
      products: Only these; all where it is empty.

    Raises:
      ValueError: A figure cannot be.
    """
    wanted = sorted(products) or sorted(
        code for code, item in books.catalogue.items() if item.kind == "product"
    )
    dates = books.table["date"]
    last = period.last or (datetime.date.today() if dates.empty else dates.max())
    first = period.first or last - datetime.timedelta(days=WEEKS * WEEK - 1)
    window = Period(first, last)
    sold = sold_by_product(books.table)
    own, elsewhere = _on_hand(books, last)
    costs = costs_now(books, last, "bill").pieces
    bills = bills_on(books.entries, last)
    found: list[NextPrint] = []
    left_out: list[LeftOut] = []
    for product in wanted:
        sales = weekly_sales(product, *_from_first_sale(sold.get(product, []), window))
        if sales is None:
            left_out.append(LeftOut(product, "It was not sold in a whole week of these"))
            continue
        piece = costs.get(product)
        cost = piece.unit_cost if piece and piece.currency == currency else None
        with decimal.localcontext(EXACT):
            holding = fine(cost * (terms.keeping.figure or ZERO)) if cost else None
        plan = next_quantity(
            sales,
            terms.lead_weeks.figure or ZERO,
            terms.service.figure or ZERO,
            None if terms.prices else terms.a_run,
            holding or None,
            own.get(product, ZERO),
            pieces_to_a_sheet(bills[product]) if product in bills else ONE,
        )
        if plan is None:
            left_out.append(LeftOut(product, "As many came back as were sold"))
            continue
        sizes = None
        if terms.prices:
            keeping = terms.keeping.figure or ZERO
            sizes = order_size_over_breaks(
                sales.a_year, terms.a_run or ZERO, keeping, terms.prices
            )
        if sizes:
            plan = _ordered(plan, sizes.best)
        away = elsewhere.get(product, ZERO)
        found.append(NextPrint(product, plan, away, product in bills, cost, sizes))
    found.sort(key=lambda each: (each.plan.weeks_left, each.product))
    return NextPrints(
        period=window,
        due=tuple(each for each in found if each.plan.due),
        enough=tuple(each for each in found if not each.plan.due),
        left_out=tuple(left_out),
        counted=sum(
            (shelf.get(one, ZERO) for one in wanted for shelf in (own, elsewhere)), ZERO
        ),
        booked=_booked(books, set(wanted), last),
        behind=tuple(_behind(books.table, last)),
    )


def _behind(
    table: pd.DataFrame, last: datetime.date
) -> Iterator[tuple[str, datetime.date]]:
    """Yield the channels that stop before a day though they sold in most weeks."""
    days: dict[str, set[datetime.date]] = {}
    columns = (table[name].tolist() for name in ("channel", "date", "quantity"))
    for channel, date, quantity in zip(*columns, strict=True):
        if channel and quantity and date <= last:
            days.setdefault(channel, set()).add(date)
    for channel, sold in sorted(days.items()):
        newest = max(sold)
        weeks = {(newest - day).days // WEEK for day in sold}
        steady = sum(1 for week in weeks if week < LOOK_BACK) > LOOK_BACK // 2
        if steady and WEEK < (last - newest).days <= LOOK_BACK * WEEK:
            yield channel, newest


def _ordered(plan: NextQuantity, size: OrderSize) -> NextQuantity:
    """Return a plan whose pieces come in orders of a size, on no sheets."""
    run = on_whole_sheets(size.quantity, ONE)
    now = to_print_now(plan.reorder, plan.on_hand, ONE, run) if plan.due else None
    return replace(plan, size=size, run=run, now=now)


def _from_first_sale(
    sold: list[Sold], window: Period
) -> tuple[list[Sold], Period, datetime.date]:
    """Return sales, and the days from the first of them on that are in a window."""
    assert window.first and window.last
    begin = min((date for date, _ in sold if date <= window.last), default=window.first)
    return sold, Period(max(begin, window.first), window.last), window.last


def _on_hand(
    books: Books, last: datetime.date
) -> tuple[Mapping[str, Decimal], Mapping[str, Decimal]]:
    """Return the pieces on the maker's own shelf, and those that are with shops."""
    own: dict[str, Decimal] = {}
    elsewhere: dict[str, Decimal] = {}
    days = Period(None, last)
    report = shelf_report(books.entries, books.options, days, stock=books.stock_moves)
    for line in report.lines:
        place = elsewhere if line.place else own
        place[line.item] = place.get(line.item, ZERO) + line.units
    return own, elsewhere


def _booked(books: Books, products: set[str], last: datetime.date) -> Decimal:
    """Return the pieces in the ledger's asset accounts: a plain sum over postings."""
    assets = books.options["name_assets"] + ":"
    total = ZERO
    for entry in books.entries:
        if entry.date > last:
            break
        for posting in getattr(entry, "postings", ()):
            units = posting.units
            if units is None or units.currency not in products or not units.number:
                continue
            if posting.account.startswith(assets):
                total += units.number
    return total

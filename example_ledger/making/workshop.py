"""Plan what the workshop prints and buys, so that nothing is sold before it is made."""

from __future__ import annotations

import datetime
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal as D
from typing import NamedTuple

from making import shop, story
from making.chance import Chance
from making.trade import Movement, Order

FIRST_PURCHASE = datetime.date(2024, 11, 4)
# The first day that each format is printed on; from then on once a week.
FIRST_PRINTING = {
    "print-letter": datetime.date(2024, 11, 4),
    "print-leaf": datetime.date(2024, 11, 4),
    "postcard": datetime.date(2024, 11, 5),
    "sticker-3in": datetime.date(2024, 11, 6),
    "sticker-sheet": datetime.date(2024, 11, 7),
}
WEEK = datetime.timedelta(days=7)
SPOILED = 0.3  # of runs have some spoiled pieces
STICKERS = "sticker-3in"

Flow = dict[datetime.date, D]


class Run(NamedTuple):
    """A print run of one product.

    Attributes:
      comment: Lines to write above it.
      measured: Whether what went in is written down, and not left to the bill.
    """

    date: datetime.date
    product: str
    good: int
    spoiled: int
    minutes: int
    comment: str = ""
    measured: bool = False


class Purchase(NamedTuple):
    """Packs of one supply, bought on one day."""

    date: datetime.date
    supply: shop.Supply
    packs: int


class Count(NamedTuple):
    """What was on the shelf at the close of a day."""

    date: datetime.date
    code: str
    units: D


class Workshop(NamedTuple):
    """All that happens to stock besides sales."""

    runs: list[Run]
    purchases: list[Purchase]
    counts: list[Count]


def plan(orders: Iterable[Order], movements: Iterable[Movement]) -> Workshop:
    """Return what has to be printed and bought for what is going to be sold.

    Args:
      orders: The orders of all channels.
      movements: The payments of all channels, for what came back.
    """
    leaving = _leaving(orders)
    coming: dict[str, Flow] = defaultdict(lambda: defaultdict(D))
    for each in movements:
        if each.back:
            coming[each.back][each.date] += 1
    coming["FOG-HOL"][story.MANUFACTURER_ORDER] += story.MANUFACTURER_PIECES

    runs: list[Run] = []
    for product in shop.PRODUCTS:
        if shop.FORMS[product.form].bill:
            ahead = _with_next_year(leaving[product.code])
            runs += _plan_runs(product, ahead, coming[product.code])
    for run in runs:
        for code, units in materials_of(run).items():
            leaving[code][run.date] += units
    purchases: list[Purchase] = []
    for supply in shop.SUPPLIES:
        ahead = _with_next_year(leaving[supply.code])
        purchases += _plan_purchases(supply, ahead, coming[supply.code])
    counts = [
        Count(day, code, _on_hand(leaving[code], coming[code], day))
        for day in story.COUNT_DAYS
        for code in (*shop.BY_CODE, "STAMP-LETTER", "STAMP-FLAT")
        if code not in shop.BY_CODE or shop.BY_CODE[code].launch <= day
    ]
    return Workshop(runs, purchases, counts)


def materials_of(run: Run) -> dict[str, D]:
    """Return what a run uses up, by its product's bill of materials."""
    form = shop.FORMS[shop.BY_CODE[run.product].form]
    pieces = run.good + run.spoiled
    return {
        code: (pieces * D(units) / form.batch).quantize(D("0.0001"))
        for code, units in form.bill
    }


def _leaving(orders: Iterable[Order]) -> dict[str, Flow]:
    """Return what leaves the shelves, by commodity and day."""
    leaving: dict[str, Flow] = defaultdict(lambda: defaultdict(D))
    for order in orders:
        for line in order.lines:
            if line.product:
                leaving[line.product][order.date] += line.quantity
        # Its books may be dated a day later, by its payment; the stock is there before.
        for code in shop.PACKING_LISTS[shop.PACKED_AS[order.channel]]:
            leaving[code][order.date] += 1
    lists = [
        (fair_day.date, fair_day.sold) for fair in story.FAIRS for fair_day in fair.days
    ]
    lists += [(each.date, each.sold) for each in story.WHOLESALE]
    lists += [(each.date, each.pieces) for each in story.GIVEAWAYS]
    lists += [(each.done, each.materials) for each in story.COMMISSIONS]
    for date, text in lists:
        for number, code in story.pieces(text):
            leaving[code][story.day(date)] += number
    for (date, code), difference in story.MISCOUNTS.items():
        leaving[code][story.day(date)] -= difference
    return leaving


def _with_next_year(leaving: Flow) -> Flow:
    """Return what leaves, followed by the same as a year before: the shop goes on."""
    year = 52 * WEEK
    later = {day + year: units for day, units in leaving.items()}
    return leaving | {day: units for day, units in later.items() if day > shop.LAST_DAY}


def _plan_runs(product: shop.Product, leaving: Flow, coming: Flow) -> list[Run]:
    """Print a product on one day of the week, if what is left does not last two weeks.

    What is printed is noted in `coming` too.
    """
    form = shop.FORMS[product.form]
    chance = Chance(f"runs of {product.code}")
    runs = [
        Run(
            story.day(each.date),
            each.product,
            each.good,
            each.spoiled,
            each.minutes,
            each.comment,
            measured=True,
        )
        for each in story.FIXED_RUNS
        if each.product == product.code
    ]
    for run in runs:
        coming[run.date] += run.good
    date = FIRST_PRINTING[product.form]
    while date <= shop.LAST_DAY:
        left = _on_hand(leaving, coming, date)
        if left < _sum(leaving, date, date + 2 * WEEK):
            cover = _sum(leaving, date, date + datetime.timedelta(days=form.cover_days))
            batches = max(math.ceil((cover - left) / form.batch), 12 // form.batch)
            good = batches * form.batch
            # Up to what is normal for the format; what is not is in the story.
            normal = int(good * D(form.normal_spoilage))
            spoiled = 1 + chance.below(normal) if normal and chance.happens(SPOILED) else 0
            minutes = int(batches * form.minutes) + 5 * chance.below(4)
            runs.append(Run(date, product.code, good, spoiled, minutes))
            coming[date] += good
        date += WEEK
    return runs


def _plan_purchases(supply: shop.Supply, leaving: Flow, coming: Flow) -> list[Purchase]:
    """Buy a supply on Mondays, if what is left does not last four weeks.

    What is bought is noted in `coming` too.
    """
    purchases = []
    date = FIRST_PURCHASE
    while date <= shop.LAST_DAY:
        left = _on_hand(leaving, coming, date)
        ahead = 6 * WEEK
        if supply.kind == "stamp" and shop.STAMP_RISE - WEEK <= date < shop.STAMP_RISE:
            ahead = 14 * WEEK  # before they become dearer
        needed = _sum(leaving, date, date + ahead) - left
        if left < _sum(leaving, date, date + ahead - 2 * WEEK):
            packs = math.ceil(needed / supply.pack)
            purchases.append(Purchase(date, supply, packs))
            coming[date] += packs * supply.pack
        date += WEEK
    return purchases


def _on_hand(leaving: Mapping[datetime.date, D], coming: Flow, day: datetime.date) -> D:
    """Return what is on the shelf at the close of a day."""
    return _sum(coming, datetime.date.min, day) - _sum(leaving, datetime.date.min, day)


def _sum(flow: Mapping[datetime.date, D], after: datetime.date, until: datetime.date) -> D:
    """Return what a flow comes to after one day and until another."""
    return sum((units for day, units in flow.items() if after < day <= until), D(0))

"""Say what an accountant should look at: what is open, missing, or was assumed."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from offcut.importers.settings import FILE
from offcut.importers.splitting import ZERO
from offcut.reports.figures import money
from offcut.reports.period import long_date
from offcut.reports.tax.tax_lines import accepted_words
from offcut.reports.tax.year_end.pack import YearEnd

# A count this near the last day tells what was there at the year's end.
NEAR = datetime.timedelta(days=31)
MOST = 8


class Point(NamedTuple):
    """A point of the list.

    Attributes:
      title: What it is about.
      text: What was found, and what to do.
    """

    title: str
    text: str


def checklist(pack: YearEnd) -> list[Point]:
    """Return the points of a year.

    Args:
      pack: What the year leaves.
    """
    return [*_open(pack), *_missing(pack), *_assumed(pack)]


def _open(pack: YearEnd) -> Iterator[Point]:
    """Yield what somebody has to decide."""
    currency = pack.shop.currency
    for each in pack.profit.unplaced:
        if each.key:
            text = (
                f"{money(each.posted, currency)} of income is counted as other income, "
                "for want of a line of its own."
            )
        elif each.is_income:
            text = f"{money(each.posted, currency)} of income is on no line: not counted."
        else:
            text = f"{money(each.posted, currency)} is on no line: not deducted."
        yield Point(
            each.account,
            f'{text} Write tax-line: "..." below its open directive; "none" for what is '
            "not the business's.",
        )
    if pack.profit.unplaced:
        words = ", ".join(accepted_words(pack.shop.rules))
        yield Point("Words for tax-line", f"{words}.")
    suspense = [
        each for each in pack.profit.accounts if ":Suspense" in each.account and each.posted
    ]
    if suspense:
        amount = sum((each.posted for each in suspense), ZERO)
        yield Point(
            "Income in suspense",
            f"{money(amount, currency)} was sold as items that no rule knows. It is "
            "counted as gross receipts; its cost of goods is not. Run `offcut items`.",
        )
    for equipment, _ in pack.profit.equipment:
        if equipment.date not in pack.shop.year and equipment.election:
            continue
        about = f"{equipment.text}, {money(equipment.cost, currency)}"
        if equipment.cost < ZERO:
            yield Point(
                "Equipment sold",
                f"{about}, on {long_date(equipment.date)}: gain or loss on it is not "
                "calculated.",
            )
        elif not equipment.election:
            yield Point(
                "Equipment without election",
                f"{about}: nothing is deducted. Write "
                'election: "expense", or "spread" with years: 5, on its posting.',
            )
    limit = pack.figure("contractor-limit")
    over = [each for each in pack.contractors if limit is not None and each.paid >= limit]
    if over and limit is not None:
        yield Point(
            "Contractors to report",
            f"{_names(each.payee for each in over)}: paid {money(limit, currency)} or "
            "more. What a card or a processor paid is reported by these, not by you.",
        )
    if pack.unanswered:
        questions = "; ".join(f"{each.question} ({each.key})" for each in pack.unanswered)
        yield Point(
            "Not in the books",
            f"Answer these in {FILE}, under [tax.years.{pack.shop.rules.year}], or tell "
            f"your accountant: {questions}.",
        )


def _missing(pack: YearEnd) -> Iterator[Point]:
    """Yield what is not there."""
    currency, last = pack.shop.currency, pack.shop.rules.last
    on_hand = [item for item, roll in pack.roll.items.items() if roll.closing.units]
    uncounted = [
        item
        for item in on_hand
        if item not in pack.shop.stock_uses.packing
        and (item not in pack.counted or pack.counted[item] < last - NEAR)
    ]
    if uncounted:
        yield Point(
            "Not counted at year end",
            f"{_names(uncounted)}: closing inventory is by the books. Count what is there "
            f"within a month of {long_date(last)} and write stock-count directives.",
        )
    if pack.unproved:
        yield Point(
            "Receipts not filed",
            f"{len(pack.unproved)} expenses without a document, listed above.",
        )
    known = max(
        (day for days in pack.shop.flows.accounts.values() for day in days), default=None
    )
    if known is not None and known < last - NEAR:
        yield Point(
            "The rest of the year",
            f"The last income or cost is of {long_date(known)}: the form has nothing of "
            "what came after it.",
        )
    others = {
        code: amount
        for code, amount in pack.net_income.items()
        if code != currency and amount
    }
    if others:
        amounts = _names(f"{money(each, code)} {code}" for code, each in others.items())
        yield Point(
            "Other currencies",
            f"Net income of {amounts} is not counted: convert it as your tax office "
            "says, and add it.",
        )
    if pack.shop.books.errors:
        yield Point(
            "Errors in the ledger",
            f"{len(pack.shop.books.errors)}: figures may be wrong until they are "
            "corrected.",
        )


def _assumed(pack: YearEnd) -> Iterator[Point]:
    """Yield what was taken for granted."""
    rules, currency = pack.shop.rules, pack.shop.currency
    yield Point(
        "Year",
        f"{long_date(rules.first)} to {long_date(rules.last)}, as the rules have it. A "
        "business year that ends on another day is not supported.",
    )
    began = pack.shop.began
    if began is not None and began > rules.first:
        yield Point(
            "Begun within the year",
            f"The first transaction is of {long_date(began)}. Costs from before the "
            "business began may have to be spread over years; a room at home counts for "
            "the months of use that you gave.",
        )
    yield Point(
        "Accounting",
        "Sales count when they were booked, goods when they were sold, at cost. Supplies "
        "count when they were used; what is left of packing and stamps is no inventory.",
    )
    for note in pack.profit.notes:
        yield Point("Taken for granted", note)
    if pack.shop.claims.office is None and "home-office-rate" in rules.figures:
        yield Point(
            "Room at home",
            f"Nothing is said about one: write area and months under [tax.home-office] in "
            f"{FILE} where a room is used for the business only.",
        )
    if any(each.election == "spread" for each, _ in pack.profit.equipment):
        yield Point(
            "Equipment that is spread",
            "An equal part a year, half a part in the first and the last: an estimate, "
            "the official tables differ.",
        )
    small, most = pack.figure("small-equipment"), pack.figure("expensing-limit")
    if pack.profit.equipment and small is not None and most is not None:
        yield Point(
            "Equipment expensed",
            f"An item or invoice up to {money(small, currency)} may be expensed under the "
            "de minimis safe harbour, which is elected on the return each year; more under "
            f"section 179, up to {money(most, currency)} and the year's income.",
        )
    used = {"meals-share", "contractor-limit", "receipt-limit", *_of_claims(pack)}
    remembered = [each for each in rules.remembered if each in used]
    if remembered:
        yield Point(
            "Figures from memory",
            f"{_names(remembered)}: not read in their source; confirm them.",
        )


def _of_claims(pack: YearEnd) -> Iterator[str]:
    if pack.profit.car.stretches:
        yield from (each for each in pack.shop.rules.figures if each.startswith("mileage"))
    if pack.shop.claims.office is not None:
        yield from ("home-office-rate", "home-office-area")


def _names(names: Iterable[str]) -> str:
    """Return names one after another, the first few of many."""
    several = list(names)
    if len(several) > MOST:
        return f"{', '.join(several[:MOST])} and {len(several) - MOST} more"
    return ", ".join(several)

"""Say in sentences what to know about what is set aside for the tax office."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence

from offcut.importers.splitting import ZERO
from offcut.reports.figures import money
from offcut.reports.period import long_date
from offcut.reports.statement import Note
from offcut.reports.tax.set_aside import SetAside
from offcut.reports.tax.year_tax import YearTax

# So few days say little about a year.
FEW_DAYS = 90
# A payment so soon after a year's last due day may be a late one for that year.
SOON = datetime.timedelta(days=60)


def set_aside_notes(set_aside: SetAside, more: Iterable[str]) -> Iterator[Note]:
    """Yield what to know, the most important first.

    Args:
      set_aside: What is the tax office's on a day.
      more: What else to say.
    """
    for text in (
        *_reading(set_aside),
        *_money(set_aside),
        *_year(set_aside),
        *_payments(set_aside),
        *more,
    ):
        yield Note(text)


def _reading(set_aside: SetAside) -> Iterator[str]:
    yield (
        "What is left to pay for the year, times the share of the year's profit that is "
        "earned, less what is paid, is the tax office's today. It is worked out anew each "
        "time, as the year goes on."
    )
    if set_aside.stands:
        yield (
            "To pay by then is what the rules ask for up to that day, after what is "
            "withheld. Short by is what was missing on that day or, of a day to come, what "
            "is missing now. Where all of it is less than the year's tax, the rest is due "
            "with the return."
        )


def _money(set_aside: SetAside) -> Iterator[str]:
    settings, currency = set_aside.settings, set_aside.year.rules.currency
    if not settings.reserve:
        yield (
            "No reserve is set, so nothing counts as set aside. Name the account in "
            'offcut.toml, under [tax]: reserve = "Assets:Bank:TaxReserve"'
        )
    elif not settings.bank:
        yield (
            "The account that the reserve is filled from is not set, so no entry is "
            'written. Name it in offcut.toml, under [tax]: bank = "Assets:Bank:Checking"'
        )
    elif set_aside.short_by > set_aside.bank:
        yield (
            f"{settings.bank} has {money(set_aside.bank, currency)} {currency}, which is "
            "less than what is to be moved."
        )
    if settings.reserve and set_aside.spare:
        yield (
            f"The reserve has {money(set_aside.spare, currency)} {currency} more than is "
            "needed today."
        )
    if not settings.payments:
        yield (
            "Where payments to the tax office are booked is not set, so none are counted. "
            'Name the account in offcut.toml, under [tax]: payments = "Equity:Owner:Tax"'
        )


def _year(set_aside: SetAside) -> Iterator[str]:
    year = set_aside.year
    projection, currency = year.projection, year.rules.currency
    known = (projection.until - projection.first).days + 1
    whole = (projection.last - projection.first).days + 1
    if projection.to_date < ZERO:
        yield (
            f"The business made a loss of {money(-projection.to_date, currency)} "
            f"{currency}: no tax is due on it, and nothing is set aside for it."
        )
    if projection.way == "actual":
        yield (
            f"{year.rules.year} is over, so nothing of it is foreseen. What the reserve "
            "has may be for a later year: `offcut tax` without a year tells what is "
            "missing today."
        )
        if set_aside.today > year.window.until:
            yield "What is still owed for it is due with its return, at the latest."
    else:
        yield (
            f"The books are taken to be complete up to {long_date(projection.until)}, the "
            f"day of their last income or cost: {known} of the {whole} days"
            f"{_since(year)}. The year is foreseen as profit so far x {whole} / {known}"
            f"{_season(year)}."
        )
        yield (
            "What was earned or paid only once, such as a year's insurance, is taken to go "
            "on in the same way"
            f"{_once(year)}."
        )
        if known < FEW_DAYS:
            days = "A day says" if known == 1 else f"{known} days say"
            yield f"{days} little about a year: look again each month."
    if count := len(year.to_date.unplaced):
        yield (
            f"{count} account{' is' if count == 1 else 's are'} on no line of the form, or "
            "on the one for what has no other; what is spent there does not lower the "
            "profit for tax yet. `offcut year-end` lists them."
        )
    undecided = [
        each
        for each, _ in year.to_date.equipment
        if each.date >= year.rules.first and each.cost > ZERO and not each.election
    ]
    if undecided:
        yield (
            "Nothing is deducted yet for equipment without an election: "
            f"{_and_more([each.text or each.account for each in undecided])}. Write "
            'election: "expense", or "spread" with years: 5, on its posting.'
        )
    yield from year.to_date.notes
    if year.local:
        yield (
            "Local taxes are worked out by offcut.toml on the year's figures; whether they "
            "may be deducted, and when they are due, is not known here."
        )


def _and_more(names: Sequence[str]) -> str:
    """Return the first of several names, and how many more there are."""
    more = len(names) - 1
    return f"{names[0]} and {more} more" if more else names[0]


def _since(year: YearTax) -> str:
    """Return from which day on, where the business began within the year."""
    first = year.projection.first
    return f" since the first, {long_date(first)}" if first != year.rules.first else ""


def _once(year: YearTax) -> str:
    """Return what is not, where there is something of it."""
    once = year.to_date.once
    if not once:
        return ""
    amount = f"{money(once, year.rules.currency)} {year.rules.currency}"
    return f"; equipment and a room at home, {amount} so far, count once for the year"


def _season(year: YearTax) -> str:
    """Return how the year is foreseen by the season, or why it is not."""
    if year.projection.by_season is None:
        return "; last year's season is not known well enough to go by it"
    text = ", or by the share of last year's profit that was earned by the same day"
    if year.projection.way == "last-year":
        return f"{text}, which counts here"
    return f'{text}: projection = "last-year" under [tax] makes that count'


def _payments(set_aside: SetAside) -> Iterator[str]:
    year, every = set_aside.year, set_aside.every
    began = year.projection.first
    if set_aside.settings.method == "regular" and any(
        stand.required and stand.part.period_ends and stand.part.period_ends < began
        for stand in year.stands
    ):
        yield (
            f"The business began on {long_date(began)}; in equal parts, payments due "
            'before that are asked for as well. method = "annualised" under [tax] makes '
            "them follow the income."
        )
    if every.found:
        yield (
            "A payment without tax-year counts for the year whose last payment is due "
            f"next: for {year.rules.year}, from the day after "
            f"{long_date(year.window.after)} to {long_date(year.window.until)}. "
            f'tax-year: "{year.rules.year}" on its transaction says otherwise.'
        )
    for payment in year.payments:
        after = payment.date - year.window.after
        if not payment.year and after <= SOON:
            yield (
                f"The payment of {payment.date} was made soon after the last day for the "
                "year before; if it was for that year, say so with tax-year."
            )
    for currency, amount in sorted((every.others or {}).items()):
        if amount:
            yield (
                f"Besides, {money(amount, currency)} {currency} were paid, which do not "
                f"count: this tax is in {year.rules.currency}."
            )

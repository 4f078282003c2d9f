"""Say how to read a profit report: its signs, its columns, what was shared, and by what."""

from __future__ import annotations

from collections.abc import Iterator

from offcut.reports.allocation import WORDS
from offcut.reports.figures import money, named, plain
from offcut.reports.profit import ProfitReports
from offcut.reports.statement import Note

# Products that a note names one by one.
NAMES_IN_A_NOTE = 6

_SIGNS = (
    "Costs are negative, so a line adds up to its contribution. Sales are after discounts "
    "and refunds; "
)
_MARGIN = (
    "goods is the cost of what was sold. Margin is the contribution's share of sales and "
    "shipping. An unallocated sale stands here after its share of its order's fees, "
    "shipping and postage."
)
READING = (
    Note(
        f"{_SIGNS}shipping is what buyers were charged for it; post, pack is postage and "
        f"packaging; {_MARGIN}",
        "wide",
    ),
    Note(
        f"{_SIGNS}carriage is shipping charged to buyers less postage and packaging; "
        f"charges are fees and all other costs; {_MARGIN}",
        "narrow",
    ),
)
MORE_TO_SEE = Note(
    "A terminal of 110 columns shows each by itself, --detail all that there is.", "narrow"
)
READING_DETAIL = (
    "In detail: giveaways is the cost of what was given away; spoilage that of spoiled "
    "pieces and of what was missing at a count; selling is what channels and fairs cost as "
    "a whole, such as tables, travel and advertising. A piece and an hour are the "
    "contribution for each."
)
HOURS = (
    "Hours are the minutes that print runs say, for each piece sold: those of all runs "
    "until then by the pieces that they made. What was bought ready-made counts for none, "
    "and neither do packing and the days at fairs."
)
NO_HOURS = (
    "Hours are blank since no print run says how long it took: write `minutes: 95` under "
    "its directive, and the report shows what an hour earned."
)


def reading(reports: ProfitReports, detail: bool) -> Iterator[Note]:
    """Yield how to read the tables.

    Args:
      reports: The reports.
      detail: Whether the table of all columns is among them.
    """
    yield from READING
    if not detail:
        yield MORE_TO_SEE
    yield Note(_allocation(reports))
    if reports.weightless:
        without = named(reports.weightless, NAMES_IN_A_NOTE)
        yield Note(
            f"No weight is known of {without}: what was shared with them is split by sales "
            "value instead. Write a piece's weight in grams under its commodity, as "
            "`weight: 12`."
        )
    if detail:
        yield Note(READING_DETAIL)
        yield Note(HOURS if reports.has_minutes else NO_HOURS)
    if detail and reports.has_minutes and reports.untimed:
        untimed = named(reports.untimed, NAMES_IN_A_NOTE)
        yield Note(
            f"Hours are blank where {untimed} was sold, of which no print run says how "
            "long it took: write `minutes: 95` under its directive."
        )


def _allocation(reports: ProfitReports) -> str:
    """Return by what shared costs were split."""
    words = WORDS[reports.rule]
    others = [f"--allocate {rule}" for rule in WORDS if rule != reports.rule]
    apart = "" if reports.rule == "value" else " (discounts and refunds by sales value)"
    return (
        f"What an order's lines share is split over them by {words}{apart}, to the cent. "
        "So are the costs of a fair over all that was sold there, and the costs of a "
        "channel over what it sold in the same month; where that is nothing, they are "
        f"unallocated. {' or '.join(others)} splits them otherwise."
    )


def elsewhere(reports: ProfitReports) -> Iterator[Note]:
    """Yield what the ledger has in other currencies.

    Args:
      reports: The reports.
    """
    for currency, amount in reports.elsewhere.items():
        code = plain(currency)
        yield Note(
            f"Besides, the ledger has {money(amount, currency)} {code} of net income on "
            f"these days, which is not in these figures; --currency {code} reports on it."
        )

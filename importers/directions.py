"""Which way money goes: by an amount's sign, or by what kind of movement a row is.

Most files write signs, and the sign is believed: a payout that failed comes back, a sale
is taken back, a dispute is won under the same word. Each of these can be right, so a
movement against its usual direction is booked as it is signed, and noted. One thing is
no sign: where a file has money in and money out by its words, and not one minus, its
amounts are most likely written without signs. That is refused until the layout says
which, `[forms] amounts = "signed"` or `"unsigned"`; unsigned, a word is the direction.
Adjustments and conversions go either way and can have no unsigned amount.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal

from offcut.importers.layout import Movement
from offcut.importers.problems import Problem
from offcut.importers.records import Payment
from offcut.importers.source_file import SourceFile
from offcut.importers.values import ZERO

# Each with +1 where money comes in, -1 where it goes out.
DIRECTIONS: dict[Movement, int] = {
    **dict.fromkeys(("sale", "reversal", "release", "tip", "gift-card-sale", "deposit"), 1),
    "gift-card-use": 1,
    **dict.fromkeys(("refund", "fee", "payout", "dispute", "dispute-fee", "hold"), -1),
    **dict.fromkeys(("tax-remitted", "postage"), -1),
}
# Against these something is often given back: fees, and labels not used.
_EITHER_WAY = ("fee", "dispute-fee", "postage")
_ROWS_SHOWN = 5
_CHOOSE = (
    'write [forms] amounts = "unsigned" in the layout where the type says which way money '
    'goes, or "signed" where the amounts do'
)


def without_signs(
    source: SourceFile,
    movements: Sequence[Movement | None],
    written: Sequence[Decimal],
    problems: list[Problem],
) -> list[int]:
    """Return the direction of each row of a file that writes no signs.

    Args:
      source: The file.
      movements: What kind of movement each row is.
      written: The amounts as they are written: the gross, or the net without one.
      problems: Takes a problem for each row that has a minus, or whose movement may go
        either way.
    """
    key = "gross" if "gross" in source.layout.columns else "net"
    signs = []
    for row, movement, amount in zip(source.numbers, movements, written, strict=True):
        sign = DIRECTIONS.get(movement, 0) if movement else 1
        signs.append(sign or 1)
        if movement is None or (amount >= ZERO and (sign or not amount)):
            continue
        if amount < ZERO:
            message = (
                f"expected an amount without a sign, found {amount}; correct the row, or "
                '[forms] amounts = "unsigned" in the layout'
            )
        else:
            message = (
                f"expected a movement that goes one way, found one of type {movement} "
                f"with {amount}, which may go either way; the layout says that amounts "
                "have no signs: give the word another meaning in its [types], or leave "
                "such rows out by [[leave-out]]"
            )
        problems.append(Problem(source.name, row, source.header(key), message))
    return signs


def check_signs(
    source: SourceFile,
    movements: Sequence[Movement | None],
    amounts: Sequence[Decimal],
    problems: list[Problem],
) -> None:
    """Check that a file with money in and money out has a minus somewhere.

    Args:
      source: The file; its layout has not said whether amounts are signed.
      movements: What kind of movement each row is.
      amounts: The gross amounts.
      problems: Takes a problem for each row that would be booked the wrong way.
    """
    layout = source.layout
    if layout.signs or "credit" in layout.columns or "type" not in layout.columns:
        return
    if not amounts or min(amounts) < ZERO:
        return
    ways = [DIRECTIONS.get(each, 0) if each else 0 for each in movements]
    comes_in = any(way > 0 and amount for way, amount in zip(ways, amounts, strict=True))
    if not comes_in:
        return
    key = "gross" if "gross" in layout.columns else "net"
    for row, way, movement, amount in zip(
        source.numbers, ways, movements, amounts, strict=True
    ):
        if way < 0 and amount:
            message = (
                f"expected a negative amount of a {movement}, which goes out, found "
                f"{amount}, and no amount of the file is negative; {_CHOOSE}"
            )
            problems.append(Problem(source.name, row, source.header(key), message))


def direction_notes(payments: Iterable[Payment]) -> list[str]:
    """Return a sentence for the new payments that go against their usual direction.

    Fees and labels are often given back, and are not among them.

    Args:
      payments: The payments that are booked now.
    """
    found: dict[tuple[str, str], list[Payment]] = defaultdict(list)
    usual = {key: way for key, way in DIRECTIONS.items() if key not in _EITHER_WAY}
    for payment in payments:
        way = usual.get(payment.movement, 0)
        if way and payment.gross and (payment.gross > ZERO) != (way > 0):
            found[payment.file, payment.movement].append(payment)
    notes = []
    for (file, movement), rows in found.items():
        shown = ", ".join(f"{each.row} ({each.gross})" for each in rows[:_ROWS_SHOWN])
        more = f" and {len(rows) - _ROWS_SHOWN} more" if len(rows) > _ROWS_SHOWN else ""
        noun = "row" if len(rows) == 1 else "rows"
        goes_out = usual[rows[0].movement] < 0
        what = "in, and usually goes out" if goes_out else "out, and usually comes in"
        notes.append(
            f"{file}: {noun} {shown}{more}: {movement} that goes {what}; booked as it is "
            "signed, correct the layout or the ledger where the sign is wrong"
        )
    return notes

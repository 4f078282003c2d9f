"""Take what a file marks as cancelled out of its orders, by the words of its status.

Some files say that an order, or a line of one, is cancelled by a word beside it and by
nothing else: its lines stand there as they were sold. A layout names the words:

    [orders]
    cancelled = ["cancelled", "void"]

- An order of which all rows have such a word is cancelled, as is one that is listed again
  with it: it is an order without lines.
- Rows with the word, beside rows of other items without it, are lines that are cancelled:
  the order has the others.
- Where cancelled pieces have a row of their own, with a negative number, that row says
  it, and the word does not say it again.

What else there may be, such as one of two rows of one item, can mean either; it is left
to `order_statuses`, which refuses it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from offcut.importers.records import order_key
from offcut.importers.rows import LeftOut
from offcut.importers.source_file import SourceFile
from offcut.importers.values import ZERO, number_reader, one_line

CANCELLED = "cancelled"


class Cancellations(NamedTuple):
    """A file without what it marks as cancelled, and what that is.

    Attributes:
      source: The file without those rows.
      left_out: The rows.
      whole: The rows of orders that are cancelled as a whole.
      in_part: The texts of the lines that are cancelled, by the keys of orders that
        have others.
    """

    source: SourceFile
    left_out: list[LeftOut]
    whole: SourceFile
    in_part: dict[str, tuple[str, ...]]


def without_cancelled(source: SourceFile) -> Cancellations:
    """Return a file without what it marks as cancelled, and what that is.

    Args:
      source: A file of order lines.
    """
    layout = source.layout
    statuses = (
        [one_line(each) for each in source.cells("status")] if layout.cancelled else []
    )
    marked = [status.casefold() in layout.cancelled for status in statuses]
    if not any(marked):
        none_of_it = source.without(range(len(source.numbers)))
        return Cancellations(source, [], none_of_it, {})
    orders: dict[str, list[int]] = defaultdict(list)
    for at, cell in enumerate(source.cells("order")):
        orders[order_key(one_line(cell), layout.prefix)].append(at)
    orders.pop("", None)  # rows without a number are refused where it is read
    pieces = _pieces_of(source)

    whole: set[int] = set()
    out: set[int] = set()
    in_part = {}
    for key, rows in orders.items():
        cancelled = [at for at in rows if marked[at]]
        others = [at for at in rows if not marked[at]]
        if not cancelled:
            continue
        if any(pieces[at].number < 0 for at in rows):
            if others and all(pieces[at].number < 0 for at in cancelled):
                for at in cancelled:  # the number says it, and the row is a line
                    statuses[at] = statuses[others[0]]
        elif _is_whole(cancelled, others, pieces, statuses):
            whole.update(rows)
        elif {pieces[at].item for at in cancelled}.isdisjoint(
            pieces[at].item for at in others
        ):
            out.update(cancelled)
            in_part[key] = tuple(pieces[at].item for at in cancelled)
    of_whole = source.without([at for at in range(len(marked)) if at not in whole])
    out |= whole
    left_out = [LeftOut(source.numbers[at], CANCELLED) for at in sorted(out)]
    columns = {**source.columns, source.header("status"): statuses}
    rest = source._replace(columns=columns).without(out)
    return Cancellations(rest, left_out, of_whole, in_part)


class _Pieces(NamedTuple):
    """What a row is of, and how many; 0 where its cell is no number."""

    item: str
    number: Decimal


def _pieces_of(source: SourceFile) -> list[_Pieces]:
    """Return what the rows of a file are of, and how many."""
    read = number_reader(source.layout.locale)

    @cache
    def number(cell: str) -> Decimal:
        try:
            return read(cell.strip())
        except ValueError:
            return ZERO  # refused where it is read as a line, if it is one

    cells = zip(source.cells("item"), source.cells("quantity"), strict=True)
    return [_Pieces(one_line(item), number(quantity)) for item, quantity in cells]


def _is_whole(
    cancelled: Sequence[int],
    others: Sequence[int],
    pieces: Sequence[_Pieces],
    statuses: Sequence[str],
) -> bool:
    """Return whether an order has no other rows, or was listed again as cancelled.

    Listed again, its pieces may be none, as they are none now.

    Args:
      cancelled: Its rows with the word, by their places in the file.
      others: Its other rows.
      pieces: What the file's rows are of.
      statuses: The words of the file's rows.
    """
    if not others:
        return True
    listed = Counter(pieces[at] for at in others if statuses[at] == statuses[others[0]])
    again = Counter(pieces[at] for at in cancelled if pieces[at].number)
    items = Counter(each.item for each in listed.elements())
    return items == Counter(pieces[at].item for at in cancelled) and again <= listed

"""Read an order once that a file lists again for each status it had: sent, then paid."""

from __future__ import annotations

from collections import Counter, defaultdict

from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.rows import LeftOut
from offcut.importers.source_file import SourceFile
from offcut.importers.values import one_line

# What may differ between two listings of one order: it is listed on another day.
_OF_THE_LISTING = ("status", "date", "id")


def without_other_statuses(source: SourceFile) -> tuple[SourceFile, list[LeftOut]]:
    """Return a file with each order's rows of one status, the first, and the other rows.

    Args:
      source: A file with columns `order` and `status`.

    Raises:
      ImportRefused: An order has not the same lines in each status.
    """
    keys = [key for key in source.layout.columns if key not in _OF_THE_LISTING]
    contents = list(zip(*(map(one_line, source.cells(key)) for key in keys), strict=True))
    statuses = list(map(one_line, source.cells("status")))
    listings: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    numbers = map(one_line, source.cells("order"))
    for at, (number, status) in enumerate(zip(numbers, statuses, strict=True)):
        listings[number][status].append(at)

    others: dict[int, str] = {}
    problems = []
    for number, by_status in listings.items():
        (first_status, first), *rest = by_status.items()
        expected = Counter(contents[at] for at in first)
        for status, rows in rest:
            if Counter(contents[at] for at in rows) != expected:
                row = source.numbers[rows[0]]
                message = (
                    f"expected the lines of order {number} as they are from row "
                    f"{source.numbers[first[0]]} on, under {quoted(first_status)}, found "
                    "others under "
                    f"{quoted(status)}; correct the file, or take status out of the "
                    "layout's [columns] where each line has a status of its own"
                )
                problems.append(Problem(source.name, row, source.header("status"), message))
            others.update(dict.fromkeys(rows, f"listed again as {status or 'blank'}"))
    if problems:
        raise ImportRefused(problems)
    left_out = [LeftOut(source.numbers[at], others[at]) for at in sorted(others)]
    return (source.without(others) if others else source), left_out

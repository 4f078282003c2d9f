"""Read the movements of money in a file of payments."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.columns import read_column, read_currencies, read_dates, read_money
from offcut.importers.layout import Movement
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.records import Payment, order_key, row_id
from offcut.importers.rows import LeftOut, leave_out, without_repeated
from offcut.importers.source_file import SourceFile
from offcut.importers.totals import Total, payment_totals
from offcut.importers.values import one_line


class PaymentFile(NamedTuple):
    """What was read of a file of payments.

    Attributes:
      payments: Its movements, in the file's order.
      left_out: The rows that are not among them.
      totals: The sums of the movements.
    """

    payments: list[Payment]
    left_out: list[LeftOut]
    totals: tuple[Total, ...]


def read_payments(source: SourceFile) -> PaymentFile:
    """Return the movements of a file.

    Raises:
      ImportRefused: Rows are not what the layout says.
    """
    layout = source.layout
    source, left_out = leave_out(source)
    source, repeated = without_repeated(source)
    left_out += repeated

    problems: list[Problem] = []
    dates = read_dates(source, problems)
    movements = _read_movements(source, problems)
    currencies = read_currencies(source, problems)
    money = _read_money(source, currencies, problems)
    if problems:
        raise ImportRefused(problems)

    nothing = [""] * len(source.numbers)
    has_order, has_text = "order" in layout.columns, "text" in layout.columns
    numbers = read_column(source, "order", one_line, problems) if has_order else nothing
    texts = read_column(source, "text", one_line, problems) if has_text else nothing
    payments = []
    for row, day, movement, number, text, (gross, fee, net), currency, name in zip(
        *(source.numbers, dates, movements, numbers, texts, money, currencies),
        _ids(source),
        strict=True,
    ):
        if movement is None:
            left_out.append(LeftOut(row, "of a type that the layout ignores"))
            continue
        payments.append(
            Payment(
                layout,
                source.name,
                row,
                day,
                movement,
                number,
                order_key(number, layout.prefix),
                text,
                gross,
                fee,
                net,
                currency,
                name,
            )
        )
    return PaymentFile(payments, left_out, payment_totals(payments))


def _read_movements(source: SourceFile, problems: list[Problem]) -> list[Movement | None]:
    """Return what kind of movement each row is; None for one to be left out."""
    layout = source.layout
    if "type" not in layout.columns:
        return [layout.default_type] * len(source.numbers)

    def read(cell: str) -> Movement | None:
        try:
            return layout.types[cell.casefold()]
        except KeyError:
            known = ", ".join(sorted(layout.types))
            raise ValueError(
                f"expected one of the words {known}, found {quoted(cell)}; add the word to "
                "the layout's [types]"
            ) from None

    return read_column(source, "type", read, problems)


def _read_money(
    source: SourceFile, currencies: Sequence[str], problems: list[Problem]
) -> list[tuple[Decimal, Decimal, Decimal]]:
    """Return gross, fee charged and net of each row, which must agree."""
    columns, before = source.layout.columns, len(problems)
    if len(currencies) != len(source.numbers):
        return []
    gross = read_money(source, "gross", currencies, problems, needed=True)
    fee = read_money(source, "fee", currencies, problems)
    net = read_money(source, "net", currencies, problems, needed=True)
    if len(problems) > before:
        return []
    if source.layout.fee_sign < 0:
        fee = [-each for each in fee]
    if "net" not in columns:
        net = [g - f for g, f in zip(gross, fee, strict=True)]
    elif "gross" not in columns:
        gross = [n + f for n, f in zip(net, fee, strict=True)]
    elif "fee" not in columns:
        fee = [g - n for g, n in zip(gross, net, strict=True)]
    money = list(zip(gross, fee, net, strict=True))
    for row, (g, f, n) in zip(source.numbers, money, strict=True):
        if g - f != n:
            message = (
                f"expected {g - f}, which is the gross {g} less the fee {f}, found {n}; "
                "correct the row, or the layout's [forms] fee where it has the wrong sign"
            )
            problems.append(Problem(source.name, row, source.header("net"), message))
    return money


def _ids(source: SourceFile) -> list[str]:
    """Return what tells each row from the others: its id, or a digest of its cells."""
    columns = source.layout.columns
    given = [""] * len(source.numbers)
    if "id" in columns:
        given = list(map(one_line, source.cells("id")))
        if all(given):
            return given
    rows = zip(*(source.cells(key) for key in sorted(columns)), strict=True)
    occurrences: Counter[tuple[str, ...]] = Counter()
    ids = []
    for name, row in zip(given, rows, strict=True):
        cells = tuple(map(one_line, row))
        ids.append(name or row_id(cells, occurrences[cells]))
        occurrences[cells] += 1
    return ids

"""Read the movements of money in a file of payments."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any, NamedTuple

from offcut.importers.columns import (
    problems_of_all_rows,
    read_column,
    read_currencies,
    read_dates,
)
from offcut.importers.directions import check_signs
from offcut.importers.layout import Movement
from offcut.importers.payment_amounts import Amounts, check_fees, read_amounts
from offcut.importers.problems import ImportRefused, Problem, by_row, quoted
from offcut.importers.records import Payment, order_key
from offcut.importers.row_ids import UnnamedRows, unnamed_rows
from offcut.importers.rows import LeftOut, fitting, leave_out, without_repeated
from offcut.importers.running_balance import Balances, check_balances
from offcut.importers.source_file import SourceFile
from offcut.importers.total_rows import check_totals
from offcut.importers.totals import Total, payment_totals
from offcut.importers.values import one_line


class PaymentFile(NamedTuple):
    """What was read of a file of payments.

    Attributes:
      payments: Its movements, in the file's order.
      left_out: The rows that are not among them.
      totals: The sums of the movements.
      balances: What the file says of the account's balance.
      unnamed: What tells its rows apart; None where each has an id of its own.
    """

    payments: list[Payment]
    left_out: list[LeftOut]
    totals: tuple[Total, ...]
    balances: Balances
    unnamed: UnnamedRows | None


def read_payments(source: SourceFile) -> PaymentFile:
    """Return the movements of a file.

    Raises:
      ImportRefused: Rows are not what the layout says.
    """
    layout, whole = source.layout, source
    source, left_out = leave_out(source)
    checks = check_totals(whole, source, layout.totals) if layout.totals else ()
    source, repeated = without_repeated(source)
    left_out += repeated

    problems: list[Problem] = []
    dates, movements, currencies, amounts = _read_rows(source, problems)
    if not problems:
        check_signs(source, movements, amounts.gross, problems)
    if problems:
        raise ImportRefused(by_row(problems_of_all_rows(source, problems, _read_rows)))

    nothing = [""] * len(source.numbers)
    columns = layout.columns
    texts: dict[str, Sequence[str]] = {
        key: read_column(source, key, one_line, problems)
        for key in ("order", "text", "reference", "payee")
        if key in columns
    }
    unnamed = unnamed_rows(source, dates, currencies, amounts, texts)
    ids = unnamed.ids(unnamed.letters) if unnamed else _given_ids(source)

    payments, positions = [], []
    for at, movement, row, day, number, text, gross, fee, net, currency, name in zip(
        *(range(len(source.numbers)), movements, source.numbers, dates),
        *(texts.get("order", nothing), texts.get("text", nothing)),
        *(amounts.gross, amounts.fee, amounts.net, currencies, ids),
        strict=True,
    ):
        if movement is None:
            left_out.append(LeftOut(row, "of a type that the layout ignores"))
            continue
        positions.append(at)
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
    fields: dict[str, Sequence[Any]] = dict(amounts.parts)
    if "tax-remitted" in columns:
        fields["remitted"] = amounts.remitted
    for key in ("reference", "payee"):
        if key in columns:
            fields[key] = texts[key]
    if layout.book_to:
        fields["account"] = _chosen_accounts(source)
    if fields:
        payments = [
            payment._replace(**{name: found[at] for name, found in fields.items()})
            for at, payment in zip(positions, payments, strict=True)
        ]
    if layout.several:
        payments = [_of_several_orders(payment) for payment in payments]
    balances = Balances((), ())
    if "balance" in columns:
        balances = check_balances(source, positions, payments)
    balances = balances._replace(checks=(*balances.checks, *checks))
    return PaymentFile(payments, left_out, payment_totals(payments), balances, unnamed)


class _Rows(NamedTuple):
    """What the rows of a file have in columns that no row may have wrong."""

    dates: list[datetime.date]
    movements: list[Movement | None]
    currencies: Sequence[str]
    amounts: Amounts


def _read_rows(source: SourceFile, problems: list[Problem]) -> _Rows:
    """Return dates, movements, currencies and amounts, which count without problems."""
    dates = read_dates(source, problems)
    movements = _read_movements(source, problems)
    currencies = read_currencies(source, problems)
    amounts = read_amounts(source, currencies, movements, problems)
    if not problems:
        check_fees(source, movements, amounts, problems)
    return _Rows(dates, movements, currencies, amounts)


def _chosen_accounts(source: SourceFile) -> list[str]:
    """Return the account that the user's rules book each row to; the first that fits."""
    accounts = [""] * len(source.numbers)
    for rule in source.layout.book_to:
        for at, fits in enumerate(fitting(source, rule, "book-to")):
            if fits and not accounts[at]:
                accounts[at] = rule.says
    return accounts


def _of_several_orders(payment: Payment) -> Payment:
    """Return a payment with the keys of all orders whose numbers its cell has."""
    layout = payment.layout
    numbers = [each.strip() for each in payment.number.split(layout.several)]
    keys = tuple(dict.fromkeys(order_key(each, layout.prefix) for each in numbers if each))
    if len(keys) > 1:
        return payment._replace(order="", orders=keys)
    return payment._replace(order=keys[0] if keys else "")


def _read_movements(source: SourceFile, problems: list[Problem]) -> list[Movement | None]:
    """Return what kind of movement each row is; None for one to be left out."""
    layout = source.layout
    if "type" not in layout.columns:
        return [layout.default_type] * len(source.numbers)

    def read(cell: str) -> Movement | None:
        try:
            return layout.types[cell.casefold()]
        except KeyError:
            known = ", ".join(sorted(layout.words, key=str.casefold))
            raise ValueError(
                f"expected one of the words {known}, found {quoted(cell)}; add the word to "
                "the layout's [types]"
            ) from None

    return read_column(source, "type", read, problems)


def _given_ids(source: SourceFile) -> list[str]:
    """Return the id of each row of a file in which each has one."""
    return list(map(one_line, source.cells("id")))

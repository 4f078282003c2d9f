"""Read what a movement of money comes to: gross, fee, net, and the parts of the gross."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.columns import read_money
from offcut.importers.directions import without_signs
from offcut.importers.layout import Movement
from offcut.importers.problems import Problem
from offcut.importers.source_file import SourceFile
from offcut.importers.values import ZERO

# Parts of the gross by the names of their columns.
PARTS = ("tip", "tax", "shipping")
# Movements for which buyers pay, and fees are charged.
MONEY_IN = ("sale", "tip", "gift-card-sale", "gift-card-use", "deposit")


class Amounts(NamedTuple):
    """The amounts of each row, in whole minor units.

    Attributes:
      gross: Before the fee; negative where money went out.
      fee: The fee charged, of all its columns.
      net: gross less fee and what was kept back as tax.
      remitted: Sales tax that the marketplace kept back.
      parts: Tip, tax and shipping, as far as the layout has columns of them.
    """

    gross: list[Decimal]
    fee: list[Decimal]
    net: list[Decimal]
    remitted: list[Decimal]
    parts: dict[str, list[Decimal]]


def read_amounts(
    source: SourceFile,
    currencies: Sequence[str],
    movements: Sequence[Movement | None],
    problems: list[Problem],
) -> Amounts:
    """Return the amounts of each row, which must agree.

    Args:
      source: The file.
      currencies: The currency of each row.
      movements: What kind of movement each row is.
      problems: Takes a problem for each row that is not what the layout says.
    """
    layout, before = source.layout, len(problems)
    columns = layout.columns
    if len(currencies) != len(source.numbers):
        return Amounts([], [], [], [], {})
    if "credit" in columns or "debit" in columns:
        gross = _read_credit_debit(source, currencies, problems)
    else:
        gross = read_money(source, "gross", currencies, problems, needed=True)
    fee = _read_fees(source, currencies, problems)
    net = read_money(source, "net", currencies, problems, needed=True)
    remitted = read_money(source, "tax-remitted", currencies, problems)
    parts = {
        key: read_money(source, key, currencies, problems)
        for key in PARTS
        if key in columns
    }
    if len(problems) > before:
        return Amounts([], [], [], [], {})
    if layout.fee_sign < 0:
        fee = [-each for each in fee]
    if layout.remitted_sign < 0:
        remitted = [-each for each in remitted]
    if layout.signs == "unsigned":
        if len(movements) != len(source.numbers):
            return Amounts([], [], [], [], {})
        written = Amounts(gross, fee, net, remitted, parts)
        gross, fee, net, remitted, parts = _signed(source, movements, written, problems)
        if len(problems) > before:
            return Amounts([], [], [], [], {})
    keeps_tax = "tax-remitted" in columns
    charges = [f + r for f, r in zip(fee, remitted, strict=True)] if keeps_tax else fee
    if "net" not in columns:
        net = [g - c for g, c in zip(gross, charges, strict=True)]
        return Amounts(gross, fee, net, remitted, parts)
    if "gross" not in columns:
        gross = [n + c for n, c in zip(net, charges, strict=True)]
        return Amounts(gross, fee, net, remitted, parts)
    if "fee" not in columns:
        fee = [g - n - r for g, n, r in zip(gross, net, remitted, strict=True)]
        return Amounts(gross, fee, net, remitted, parts)
    for at, (g, c, n) in enumerate(zip(gross, charges, net, strict=True)):
        if g - c != n:
            kept = f" and the tax {remitted[at]}" if keeps_tax else ""
            signs = "fee or tax-remitted" if keeps_tax else "fee"
            message = (
                f"expected {g - c}, which is the gross {g} less the fee {fee[at]}{kept}, "
                f"found {n}; correct the row, or the layout's [forms] {signs} where it has "
                "the wrong sign"
            )
            problems.append(
                Problem(source.name, source.numbers[at], source.header("net"), message)
            )
    return Amounts(gross, fee, net, remitted, parts)


def check_fees(
    source: SourceFile,
    movements: Sequence[str | None],
    amounts: Amounts,
    problems: list[Problem],
) -> None:
    """Check that no fee is given back where money came in, unless the file proves it.

    A net that is the gross less the fee proves the fee's sign. Without one, a negative
    fee on a sale is most likely a charge that the layout takes for the contrary. On a
    refund, or where a dispute was won, it is what was given back.

    Args:
      source: The file.
      movements: What kind of movement each row is.
      amounts: The amounts of the rows.
      problems: Takes a problem for each row whose fee is in doubt.
    """
    columns = source.layout.columns
    if "fee" not in columns or ("gross" in columns and "net" in columns):
        return
    sign = source.layout.fee_sign
    meant = "negative" if sign > 0 else "positive"
    for at, (gross, fee) in enumerate(zip(amounts.gross, amounts.fee, strict=True)):
        if fee < 0 < gross and movements[at] in MONEY_IN:
            message = (
                f"expected a fee that was charged, found {sign * fee} on a {movements[at]}"
                " of "
                f'{gross}, which would be one given back; write [forms] fee = "{meant}" '
                "where the file writes charges so, or name the columns of both gross and "
                "net, which prove it"
            )
            problems.append(
                Problem(source.name, source.numbers[at], source.header("fee"), message)
            )


def _signed(
    source: SourceFile,
    movements: Sequence[Movement | None],
    amounts: Amounts,
    problems: list[Problem],
) -> Amounts:
    """Return amounts with the signs of their movements, of a file that writes none.

    In a row that goes out, the fee may be one given back with the money or one charged
    beside it: only gross and net together say which.
    """
    columns = source.layout.columns
    gross, fee, net, remitted, parts = amounts
    proven = "gross" in columns and "net" in columns
    signs = without_signs(source, movements, gross if "gross" in columns else net, problems)
    fee, remitted = list(fee), list(remitted)
    for at, sign in enumerate(signs):
        if sign > 0 or not (fee[at] or remitted[at]):
            continue
        if not proven and "fee" in columns:
            message = (
                f"expected no fee on a {movements[at]} whose amount has no sign, found "
                f"{fee[at]}, which may be charged or given back; name the columns of both "
                "gross and net in the layout, which prove it"
            )
            row = source.numbers[at]
            problems.append(Problem(source.name, row, source.header("fee"), message))
        elif gross[at] + fee[at] + remitted[at] != net[at]:  # else it was charged
            fee[at], remitted[at] = -fee[at], -remitted[at]

    def turned(column: list[Decimal]) -> list[Decimal]:
        return [sign * each for sign, each in zip(signs, column, strict=True)]

    parts = {key: turned(column) for key, column in parts.items()}
    return Amounts(turned(gross), fee, turned(net), remitted, parts)


def _read_credit_debit(
    source: SourceFile, currencies: Sequence[str], problems: list[Problem]
) -> list[Decimal]:
    """Return the one amount of each row that has a column for each direction.

    Just one of the two is filled, a zero counting as blank, and written with the sign
    that the layout says: a minus where it does not belong may mean either direction.
    """
    layout, before = source.layout, len(problems)
    credits = read_money(source, "credit", currencies, problems)
    debits = read_money(source, "debit", currencies, problems)
    if len(problems) > before:
        return []
    if layout.debit_sign < 0:
        debits = [-each for each in debits]
    amounts = []
    for row, credit, debit in zip(source.numbers, credits, debits, strict=True):
        amounts.append(credit - debit)
        key, sign = ("credit", 1) if credit < 0 else ("debit", layout.debit_sign)
        if credit < 0 or debit < 0:
            written = "positive" if sign > 0 else "negative"
            found = credit if credit < 0 else sign * debit
            message = (
                f"expected a {written} amount, found {found}; put it into the column of "
                "the other direction, or correct the layout"
            )
        elif credit and debit:
            key = "credit"
            message = (
                f"expected an amount in one of {source.header('credit')} and "
                f"{source.header('debit')}, found {credit} and "
                f"{layout.debit_sign * debit}; correct the row"
            )
        else:
            continue
        problems.append(Problem(source.name, row, source.header(key), message))
    _refuse_blank(source, problems)
    return amounts


def _refuse_blank(source: SourceFile, problems: list[Problem]) -> None:
    """Add a problem for each row that has no amount in either direction."""
    cells = zip(source.cells("credit"), source.cells("debit"), strict=True)
    for row, (credit, debit) in zip(source.numbers, cells, strict=True):
        if not credit.strip() and not debit.strip():
            message = (
                f"expected an amount in one of {source.header('credit')} and "
                f"{source.header('debit')}, found none; correct the row, or leave it out "
                "by [[leave-out]]"
            )
            problems.append(Problem(source.name, row, source.header("credit"), message))


def _read_fees(
    source: SourceFile, currencies: Sequence[str], problems: list[Problem]
) -> list[Decimal]:
    """Return what all columns of fees of each row come to; a blank cell is nothing."""
    layout = source.layout
    headers = layout.columns.get("fee", ())
    if len(headers) < 2:
        return read_money(source, "fee", currencies, problems)
    columns = []
    for header in headers:
        one = dataclasses.replace(layout, columns={**layout.columns, "fee": (header,)})
        columns.append(read_money(source._replace(layout=one), "fee", currencies, problems))
    if not all(len(column) == len(source.numbers) for column in columns):
        return []
    return [sum(fees, ZERO) for fees in zip(*columns, strict=True)]

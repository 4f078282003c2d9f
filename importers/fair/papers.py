"""Read the papers of one day of a fair: tally sheet, counted cash, card reader's file."""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple, NoReturn

from offcut.importers.fair.bookings import Fair
from offcut.importers.fair.tally import Tally, read_tally
from offcut.importers.file_bytes import read_bytes
from offcut.importers.known import Known
from offcut.importers.layout import Layout
from offcut.importers.layout_choice import candidates, choose_layout
from offcut.importers.money import money_reader
from offcut.importers.payments import read_payments
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.records import Payment
from offcut.importers.row_ids import with_known_ids
from offcut.importers.settings import Settings
from offcut.importers.source_file import read_source
from offcut.importers.values import ZERO

_EVENT = re.compile(r"[A-Za-z0-9_/.-]+")
_OPERATING = re.compile(rb'\noption[ \t]+"operating_currency"[ \t]+"([A-Z]+)"')
AT_THE_TABLE = ("sale", "refund", "tip")


class FairPapers(NamedTuple):
    """What there is of one day of a fair, as the user gives it.

    Attributes:
      event: The fair's name, as its tag has it: `harbour-fair-2026`.
      tally: The tally sheet.
      day: The day; None where the sheet says it.
      cash: The cash that was counted, as it was typed; None where none was taken.
      float: The cash that was there before, likewise.
      card: The card reader's file; None where there is none.
      currency: The currency; where it is empty, the sheet or the ledger says it.
    """

    event: str
    tally: Path
    day: datetime.date | None = None
    cash: str | None = None
    float: str | None = None
    card: Path | None = None
    currency: str = ""


def read_fair(
    papers: FairPapers, known: Known, settings: Settings, layout_names: Sequence[str]
) -> tuple[Fair, list[str]]:
    """Return a day of a fair by its papers, and what to look at in these.

    Raises:
      ImportRefused: A paper is not what it should be.
    """
    if not _EVENT.fullmatch(papers.event):
        _refuse(
            "--event",
            "expected a name of letters, digits and -_/. only, such as harbour-fair-2026, "
            f"found {quoted(papers.event)}; correct it",
        )
    if papers.cash is None and papers.card is None:
        _refuse("--cash", "expected the money that was taken; give --cash, --card or both")
    if papers.cash is None and papers.float is not None:
        _refuse("--float", "expected the cash that was counted too; give it by --cash")
    contents = read_bytes(papers.tally)
    groups = _groups("tally", layout_names, settings)
    layout = choose_layout(papers.tally.name, contents, groups)
    currency = papers.currency or _currency(known, layout)
    tally = read_tally(papers.tally.name, contents, layout, papers.day, currency)
    if papers.currency not in ("", tally.currency):
        _refuse("--currency", f"expected {tally.currency}, as the tally says, correct it")
    cash = _cash(papers, tally)
    notes = []
    if tally.other_rows:
        notes.append(
            f"{papers.tally.name}: rows of other days or without a sale: {tally.other_rows}"
        )
    payments: list[Payment] = []
    if papers.card:
        groups = _groups("payments", layout_names, settings)
        payments = _card_payments(papers.card, groups, tally, known, notes)
    else:
        notes.append("no file of card payments was given (--card): none are counted")
    if papers.cash is None:
        notes.append("no cash was given (--cash): none is counted")
    return Fair(papers.event, tally, cash, tuple(payments), settings.fair), notes


def _groups(
    kind: str, names: Sequence[str], settings: Settings
) -> list[Mapping[str, Layout]]:
    """Return the layouts of a kind to try; those that were chosen, if one is of it."""
    groups: list[Mapping[str, Layout]] = []
    for chosen in (names, ()):
        groups = [
            {name: each for name, each in group.items() if each.kind == kind}
            for group in candidates(chosen, settings.layouts)
        ]
        if any(groups):
            break
    return groups


def _currency(known: Known, layout: Layout) -> str:
    """Return the currency of a sheet that does not say it: the ledger's, or the first."""
    main = next(iter(known.files.values()))
    operating = [each.decode() for each in _OPERATING.findall(b"\n" + main)]
    return next(
        (each for each in operating if each in layout.currencies), layout.currencies[0]
    )


def _cash(papers: FairPapers, tally: Tally) -> Decimal:
    """Return the cash that was taken."""
    read = money_reader(tally.layout.locale)
    amounts = []
    for option, text in (("--cash", papers.cash), ("--float", papers.float)):
        try:
            amount = read(text.strip(), tally.currency) if text is not None else ZERO
        except ValueError as error:
            what = str(error).partition("; correct")[0]
            _refuse(option, f"{what}; correct the amount")
        if amount < 0:
            _refuse(option, f"expected zero or more, found {amount}; correct the amount")
        amounts.append(amount)
    counted, before = amounts
    if before > counted:
        _refuse(
            "--float",
            f"expected not more than the cash that was counted, {counted}, found {before}; "
            "give the cash with the float in it",
        )
    return counted - before


def _card_payments(
    path: Path,
    groups: Sequence[Mapping[str, Layout]],
    tally: Tally,
    known: Known,
    notes: list[str],
) -> list[Payment]:
    """Return the payments of the day in the file of a card reader.

    Raises:
      ImportRefused: The file is not what its layout says, or has none.
    """
    contents = read_bytes(path)
    layout = choose_layout(path.name, contents, groups)
    file = read_payments(read_source(path.name, contents, layout))
    read = with_known_ids(file.payments, file.unnamed, known.source_ids)
    of_day = [each for each in read if each.date == tally.day]
    payments = [
        each for each in of_day if each.movement in AT_THE_TABLE and not each.account
    ]
    if not payments:
        days = ", ".join(map(str, sorted({each.date for each in read})[:3]))
        found = f"rows of {days}" if days else "none"
        _refuse(
            path.name,
            f"expected payments of {tally.day}, found {found}; correct --date, or "
            "leave --card away where nobody paid by card",
        )
    for payment in payments:
        if payment.currency != tally.currency:
            message = (
                f"expected {tally.currency} as in the tally, found {payment.currency}; "
                "write a tally for each currency"
            )
            raise ImportRefused([Problem(path.name, payment.row, None, message)])
    notes.extend(_parts_notes(path.name, payments, tally))
    others = Counter(each.movement for each in of_day if each not in payments)
    if others:
        what = ", ".join(
            f"{count} {movement}" for movement, count in sorted(others.items())
        )
        notes.append(f"{path.name}: left to `offcut import`: {what}")
    if len(read) > len(of_day):
        notes.append(f"{path.name}: rows of other days: {len(read) - len(of_day)}")
    return payments


def _parts_notes(name: str, payments: Sequence[Payment], tally: Tally) -> Iterator[str]:
    """Yield what card payments are said to be made of, which a tally cannot tell apart.

    Whether the prices in a tally are with the tax or before it, and which of the pieces
    were paid by card, no paper says.
    """
    accounts = tally.layout.accounts
    for what, amounts, account in (
        ("sales tax", [each.tax for each in payments], accounts.tax),
        ("shipping", [each.shipping for each in payments], accounts.shipping),
        (
            "sales tax that was kept back",
            [each.remitted for each in payments],
            accounts.tax_remitted,
        ),
    ):
        if amount := sum(amounts, ZERO):
            yield (
                f"{name}: {what}, {amount} {tally.currency} of the card payments, is in "
                "the tally's sales, or over where its prices are without; move it to "
                f"{account} in the ledger by hand"
            )


def _refuse(what: str, message: str) -> NoReturn:
    raise ImportRefused([Problem(what, None, None, message)])

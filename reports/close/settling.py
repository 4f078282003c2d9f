"""Write what settles a point: commands and ledger lines, whole and to be copied."""

from __future__ import annotations

import datetime
import shlex
from collections.abc import Collection, Iterable
from decimal import Decimal

from rich.cells import cell_len

from offcut.importers.ledger_text import posting_text, transaction_text
from offcut.importers.values import one_line

# Where money goes that nobody can name from here; the line says to put another.
OTHER_COST = "Expenses:Other"
OTHER_INCOME = "Income:Other"
# What fits a terminal of 80 columns, where it stands indented.
LONGEST = 72
CHOOSE = "; put the account that it belongs to\n"


def command(*words: str) -> str:
    """Return a command of `offcut`, its words quoted for a shell where they need it.

    A long one goes on in further lines, as shells take it.
    """
    lines = ["offcut"]
    for word in map(shlex.quote, words):
        if cell_len(f"{lines[-1]} {word}") > LONGEST and lines[-1].strip():
            lines.append(f"  {word}")
        else:
            lines[-1] += f" {word}"
    return " \\\n".join(lines)


def transfer(
    day: datetime.date,
    narration: str,
    links: Iterable[str],
    out_of: str,
    into: str,
    amount: Decimal,
    currency: str,
    opened: Collection[str],
    *,
    payee: str = "",
    channel: str = "",
) -> str:
    """Return a transaction that takes an amount out of an account, into another.

    An account that the ledger does not open is opened before it.

    Args:
      day: Its day.
      narration: What it is.
      links: Its links, without their marks.
      out_of: The account that has the amount; it is credited with it.
      into: The account that is debited with it.
      amount: The amount; where it is negative, it goes the other way.
      currency: Its currency.
      opened: The accounts that the ledger opens.
      payee: Who pays or is paid.
      channel: The channel of what is sold; empty where it is of none.
    """
    opens = "".join(
        f"{day} open {account}\n"
        for account in dict.fromkeys((into, out_of))
        if account not in opened
    )
    choose = CHOOSE if {into, out_of} & {OTHER_COST, OTHER_INCOME} else ""
    postings = posting_text(into, amount, currency) + posting_text(
        out_of, -amount, currency
    )
    text = transaction_text(
        day.isoformat(),
        one_line(narration),
        " ".join(sorted(links)),
        (("channel", one_line(channel)),),
        postings,
        one_line(payee),
    )
    return (opens + choose + text).rstrip("\n")

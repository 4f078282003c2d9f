"""Print what an import could not match of a bank's statement, and what to do about it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from itertools import groupby

from rich.console import Console
from rich.text import Text

from offcut.importers.bank.rules import BankRule
from offcut.importers.bank.state import WaitingRow
from offcut.importers.bank.statements import BankReport, Proposal
from offcut.reports.figures import money, plain
from offcut.reports.import_summary import counted, print_list, shortened


def print_bank(console: Console, bank: BankReport) -> None:
    """Print rows that were matched at last, rows that wait, and payouts that are missing.

    Args:
      console: Where to print.
      bank: What the import says of banks.
    """
    if bank.moved:
        was = "waited are" if bank.moved > 1 else "waited is"
        rows = counted(bank.moved, "row")
        console.print(Text(f"\n{rows} of the bank that {was} matched now"))
    if bank.notes:
        console.print()
        print_list(console, [plain(note) for note in bank.notes], "notes")
    by_account = sorted(bank.unmatched, key=lambda each: (each.row.account, each.row))
    for account, of_account in groupby(by_account, lambda each: each.row.account):
        console.print(Text(f"\nNot matched, in {account}:"))
        print_list(console, [_line(each) for each in of_account], "rows")
    if unknown := [each for each in bank.unmatched if not each.reason]:
        _print_rules(console, unknown)
    if bank.not_arrived:
        console.print(Text("\nPayouts that should have arrived at the bank and did not:"))
        print_list(
            console,
            [
                f"{each.date} {money(each.amount, each.currency)} {plain(each.currency)}, "
                f"^{each.link}"
                for each in bank.not_arrived
            ],
            "payouts",
        )


def _line(proposal: Proposal) -> str:
    """Return what a row is and may be."""
    row, like = proposal.row, proposal.like
    what = shortened(plain(", ".join(filter(None, (row.payee, row.text)))), "…")
    line = f"{row.date} {what or '(no text)'}: "
    line += f"{money(row.amount, row.currency)} {plain(row.currency)}"
    if proposal.reason:
        line += f"; {plain(proposal.reason)}"
    if like:
        earlier = shortened(plain(like.what), "…")
        line += f"; like {like.date} {earlier}, booked to {like.account}"
    return line


def _print_rules(console: Console, unknown: Iterable[Proposal]) -> None:
    """Print the rules that would book rows, as far as there are proposals."""
    console.print(
        Text(
            "\nSay in offcut.toml what such rows are; the next import goes by it. Rows "
            "that are booked already stay as they are: change their account in imports/ "
            "by hand. A payout, and an order that is named, is found by itself once its "
            "file is imported."
        )
    )
    rules = list(dict.fromkeys(each.rule for each in unknown if each.rule))
    if not rules:
        rules = list(_examples(each.row for each in unknown))
    for rule in rules[:5]:
        text = json.dumps(shortened(plain(rule.text), "*"), ensure_ascii=False)
        shown = f'  [[bank]]\n  text = {text}\n  account = "{rule.account}"'
        if rule.direction:
            shown += f'\n  direction = "{rule.direction}"'
        console.print(Text(shown))


def _examples(rows: Iterable[WaitingRow]) -> Iterator[BankRule]:
    """Yield a rule for the first row by which money comes in, and one for what goes out.

    Which account it is only the user knows; of what comes in it is no expense.
    """
    shown = set()
    for row in rows:
        root, direction = ("Income", "in") if row.amount > 0 else ("Expenses", "out")
        if direction not in shown:
            shown.add(direction)
            text = row.payee or row.text or "*"
            yield BankRule(text, f"{root}:YOUR-ACCOUNT", direction)

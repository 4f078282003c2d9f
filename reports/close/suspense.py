"""What waits in suspense: item texts that no rule knows, and money of nothing yet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from offcut.importers.learning.answers import likely_products
from offcut.importers.postings import ONE_SIDED
from offcut.importers.values import ZERO, one_line
from offcut.plugins.catalogue import Item
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.open_items import OpenItem, Posted
from offcut.reports.close.points import (
    TO_DO,
    TO_KNOW,
    ClosePoint,
    Found,
    Looked,
    counted,
    named,
)
from offcut.reports.close.settling import OTHER_COST, OTHER_INCOME, command, transfer

# Texts held against names of products; more of them take longer than one waits for.
MOST_COMPARED = 20_000


def check_texts(found: LedgerPass, catalogue: dict[str, Item], ledger: str) -> Found:
    """Return the item texts of lines that wait for a rule.

    Args:
      found: What the ledger has.
      catalogue: The items of stock.
      ledger: The main ledger as a command names it.
    """
    texts: dict[tuple[str, str, str], list[Posted]] = defaultdict(list)
    for posted in found.parked:
        meta, units = posted.posting.meta, posted.posting.units
        assert meta is not None and units is not None
        texts[str(meta["item-text"]), posted.posting.account, units.currency].append(posted)
    products = {name: item for name, item in catalogue.items() if item.kind == "product"}
    few = len(texts) * len(products) <= MOST_COMPARED
    points = []
    for (text, account, currency), postings in sorted(texts.items()):
        left = [
            posted for posted in _not_moved(postings) if posted.date <= found.month.last
        ]
        if not left:
            continue
        first = min(left, key=lambda posted: posted.rank)
        likely = likely_products(text, products, most=1) if few else []
        rule = f"{one_line(text)}={likely[0].currency}" if likely else ""
        advice = (
            f"By its name it may be {likely[0].currency}; if it is, this books it"
            if likely
            else "Say what it is: the command asks"
        )
        points.append(
            ClosePoint(
                TO_DO,
                "Unknown item text",
                f"“{named(text)}”: {counted(len(left), 'line')} in {account}. {advice}.",
                -sum([posted.number for posted in left], ZERO),
                currency,
                first.date,
                *first.place,
                settle=command("items", ledger, *(["--rule", rule] if rule else [])),
            )
        )
    moved = (
        "No item text waits." if not texts else f"{counted(len(texts), 'text')} looked at."
    )
    return Found(tuple(points), () if points else (Looked("Item texts are known", moved),))


def _not_moved(postings: Iterable[Posted]) -> list[Posted]:
    """Return the parked lines of one text that no other posting takes out again.

    What an import parks has the id of the order's lines, and what moves it names that; a
    posting by hand takes out a line of its amount.
    """
    lines: dict[str, list[Posted]] = defaultdict(list)
    moves, by_hand = [], []
    for posted in sorted(postings, key=lambda posted: posted.rank):
        meta = posted.entry.meta
        if "lines-id" in meta:
            lines[str(meta["lines-id"])].append(posted)
        elif "parked-id" in meta:
            moves.append(posted)
        else:
            by_hand.append(posted)
    for move in moves:
        of_order = lines[str(move.entry.meta["parked-id"]).rpartition("/")[0]]
        same = [line for line in of_order if line.number == -move.number]
        if of_order:
            of_order.remove((same or of_order)[0])
    of_amount: dict[Decimal, list[Posted]] = defaultdict(list)
    for line in (line for of_order in lines.values() for line in of_order):
        of_amount[line.number].append(line)
    for posted in by_hand:
        if of_amount[-posted.number]:
            of_amount[-posted.number].pop(0)
        else:
            of_amount[posted.number].append(posted)
    return [line for same in of_amount.values() for line in same]


def check_suspense(found: LedgerPass) -> Found:
    """Return what else stands in suspense, rows of banks apart.

    Args:
      found: What the ledger has.
    """
    items = [
        item
        for item in found.open_items("suspense")
        if not any(link.startswith("bank-") for link in item.links)
    ]
    points = [_suspended(found, item) for item in items]
    in_order = () if points else (Looked("Suspense is empty", "Nothing else waits there."),)
    return Found(tuple(points), in_order)


def _suspended(found: LedgerPass, item: OpenItem) -> ClosePoint:
    first = item.first
    note = (first.posting.meta or {}).get("note")
    why = f": {named(note)}" if isinstance(note, str) else ""
    if item.met:
        return ClosePoint(
            TO_KNOW,
            "Suspense, settled since",
            f"{item.name}, in {item.account}{why}; settled on {item.met}.",
            -item.amount,
            item.currency,
            first.date,
            *first.place,
        )
    layout = found.roles.layout_with("suspense", item.account)
    comes = item.amount < ZERO
    advice = "Write what it is"
    account = OTHER_INCOME if comes else OTHER_COST
    channel = ""
    if layout and layout.kind != "bank":
        account = layout.accounts.sales if comes else layout.accounts.refunds
        channel = layout.channel
        advice = "Import the file of its order lines; where there is none, this books it"
        if note == ONE_SIDED:
            account = OTHER_INCOME if comes else OTHER_COST
            channel = ""
            advice = "Import the file that has the other side; else write what it became"
    return ClosePoint(
        TO_DO,
        "In suspense",
        f"{item.name}, in {item.account}{why}. {advice}.",
        -item.amount,
        item.currency,
        first.date,
        *first.place,
        settle=transfer(
            first.date,
            first.entry.narration or "",
            item.links,
            item.account,
            account,
            item.amount,
            item.currency,
            found.opened,
            payee=first.entry.payee or "",
            channel=channel,
        ),
    )

"""Say in sentences what the user should look at after an import."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from offcut.importers.books import Books, Difference, EditedOrder, Waiting
from offcut.importers.import_report import FileReport
from offcut.importers.novelty import FileRecords
from offcut.importers.order_edits import ChangedOrder
from offcut.importers.problems import LISTED
from offcut.importers.records import Order, Payment
from offcut.importers.values import ZERO

_NEWER = "import it again with --newer"


def notes(files: Iterable[FileReport], books: Books) -> tuple[str, ...]:
    """Return what the user should look at, a sentence each."""
    found = _first([_difference(each) for each in books.differences], "orders differ so")
    found += _first([_edited(each) for each in books.edited], "orders were edited so")
    found += change_notes(books.changed)

    waiting: dict[tuple[str, str], list[Waiting]] = defaultdict(list)
    for each in books.waiting:
        payment = each.payment
        waiting[payment.layout.accounts.suspense, payment.currency].append(each)
    for (account, currency), amounts in waiting.items():
        paid = sum((each.amount for each in amounts), ZERO)
        what = "payment names an order" if len(amounts) == 1 else "payments name orders"
        found.append(
            f"{len(amounts)} {what} whose lines are not imported: {paid} {currency} of "
            f"sales is in {account} until they are"
        )
    found.extend(_roundings(files))
    return tuple(found)


def change_notes(changed: Iterable[ChangedOrder]) -> list[str]:
    """Return a sentence for each order that the ledger has otherwise, not booked."""
    return _first([_change(each) for each in changed], "orders changed so")


def doubt_notes(files: Iterable[FileRecords]) -> list[str]:
    """Return a sentence for each layout that has marks of a doubt still."""
    marked = {each.layout.name: each for each in files if each.layout.doubts}
    return [
        f"{each.file}: its layout {name} has {each.layout.doubts} open "
        f"DOUBT {'mark' if each.layout.doubts == 1 else 'marks'}: correct what is "
        "doubtful, or take the mark out of the layout where it is right"
        for name, each in marked.items()
    ]


def part_notes(payments: Iterable[Payment], orders: Iterable[Order]) -> list[str]:
    """Return a sentence for each part that is larger than what it is a part of.

    That is a tip above its amount, a discount above its line, or a reduction above the
    lines of its order: a misread column more likely than a gift.

    Args:
      payments: The payments that are booked now.
      orders: The orders that are booked now.
    """
    found = [
        f"{each.file}: row {each.row}: the tip {each.tip} is more than the amount "
        f"{each.gross}; booked as it is, check the row and the columns of the layout"
        for each in payments
        if each.tip and abs(each.tip) > abs(each.gross)
    ]
    for order in orders:
        off = order.reduction
        of_order = f"{order.file}: row {order.row}: order {order.number}"
        for line in order.lines:
            off += line.discount
            if line.discount and abs(line.discount) > abs(line.amount):
                found.append(
                    f"{of_order}: the discount {line.discount} of a line is more than the "
                    f"line, {line.amount}; booked as it is, check the row"
                )
        if order.reduction and off > sum((line.amount for line in order.lines), ZERO) >= 0:
            found.append(
                f"{of_order}: the reduction {order.reduction} is more than its lines come "
                "to; booked as it is, check the row"
            )
    return _first(found, "parts are too large so")


def _first(sentences: list[str], what: str) -> list[str]:
    """Return not more sentences than can be read, and how many more there are."""
    if len(sentences) <= LISTED:
        return sentences
    return [*sentences[:LISTED], f"and {len(sentences) - LISTED} more {what}"]


def _edited(each: EditedOrder) -> str:
    edit, order = each.edit, each.edit.order
    text = (
        f"{order.layout.channel} order {order.number} was edited: its lines come to "
        f"{edit.before + edit.owed} {order.currency} in {order.file} and came to "
        f"{edit.before}; the difference of {edit.owed} is booked"
    )
    if order.is_cancelled:
        text = (
            f"{order.layout.channel} order {order.number} was cancelled by {order.file}: "
            f"its lines came to {edit.before} {order.currency}, and are taken back"
        )
        if edit.packing:
            text += f"; take packing out of its transaction if no {edit.packing} was sent"
    if each.open:
        text = f"{text}, and {each.open} is in {each.account} now"
    if edit.undoes:
        text = (
            f"{text}; it is as it was before it was edited, and the file is taken for the "
            "newer word"
        )
    if edit.products:
        text = (
            f"{text}; {_other_products(edit.products)}, which were not changed: correct "
            "them there if the file is right"
        )
    return text


def _change(each: ChangedOrder) -> str:
    order = each.order
    name = f"{order.layout.channel} order {order.number}"
    if each.is_older:
        return (
            f"{name}: {order.file} has it as it was before it was edited, and is taken for "
            f"the older word; nothing was booked, {_NEWER} if the edit was undone"
        )
    if each.age <= 0:
        otherwise = (
            f"{name}: it comes to {each.now} {order.currency} in {order.file}, and to "
        )
        otherwise += f"{each.before} in the ledger"
        if each.age < 0:
            return (
                f"{otherwise}, which has later orders than the file and is taken for the "
                f"newer word; nothing was booked, {_NEWER} if the file is newer"
            )
        return (
            f"{otherwise}; which is newer cannot be told, as the file has no later order "
            f"than the ledger; nothing was booked, {_NEWER} if the file is newer"
        )
    if each.part:
        return (
            f"{name}: {order.file} has {each.part}, and nothing was booked: what it has "
            f"comes to {each.now} {order.currency}, what the ledger has to {each.before}; "
            "if it has a part of the order, import a file with all lines of it, or else "
            "correct the ledger"
        )
    if each.products:
        return (
            f"{name}: {order.file} {_other_products(each.products)}; it was not changed, "
            "correct it there if the file is right"
        )
    return (
        f"{name}: its lines come to {each.now} {order.currency} in {order.file} and to "
        f"{each.before} in the ledger, which was not changed; correct it there"
    )


def _other_products(products: Iterable[str]) -> str:
    return (
        f"names {', '.join(products)}, and the ledger other products of the same pieces "
        "and amounts"
    )


def _difference(each: Difference) -> str:
    return (
        f"{each.order}: paid {each.paid}, owed {each.owed} {each.currency}; the difference "
        f"of {each.paid - each.owed} is in {each.account}"
    )


def _roundings(files: Iterable[FileReport]) -> Iterable[str]:
    """Yield what rounding quantity times unit price to whole minor units came to."""
    for file in files:
        for total in file.booked_totals:
            if total.gross - total.fee - total.remitted != total.net:
                yield (
                    f"{file.file}: {total.kind} come to {total.gross} {total.currency} "
                    f"exactly and to {total.net} with each line rounded, as booked; the "
                    f"difference is {total.net - total.gross}"
                )

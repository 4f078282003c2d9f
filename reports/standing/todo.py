"""Say what is to do about books: the most urgent thing first."""

from __future__ import annotations

from collections.abc import Iterator

from offcut.importers.settings import FILE
from offcut.reports.close.inbox import INBOX
from offcut.reports.close.settling import command
from offcut.reports.standing.files import PLUGINS, is_costed
from offcut.reports.standing.found import Found


def todo_of(found: Found) -> Iterator[tuple[str, str]]:
    """Yield what is to do, the most urgent first, with what does it.

    Args:
      found: What was found out about the books.
    """
    books, main = found.books, found.books.path
    if found.left_out and books.errors:  # it is likely why
        yield _include(found)
    if not is_costed(books.options) and books.catalogue:
        yield (
            "Nothing works out what the things you sell had cost. Write into "
            f"{main.name}, above its include lines:",
            f'plugin "{PLUGINS}"',
        )
    if books.errors:
        yield "Put the first error right; all of them are listed by:", f"bean-check {main}"
    if found.mistakes:
        yield f"Correct {FILE}, then look again:", command("check", str(main))
    if found.inbox and found.inbox.waiting:
        last = max(max(each.days) for each in found.inbox.waiting).isoformat()[:7]
        name = min(last, found.month.name)
        yield "Import what lies in the inbox:", command("month", name, str(main))
    if not books.catalogue:
        yield (
            "Say what you sell and what it is made of, in catalogue.beancount or another "
            "file of the ledger; how, says:",
            command("guide", "first-month"),
        )
    if any(account.startswith("Income:") for account, _ in found.seen.suspense):
        yield "Say what the item texts in suspense are:", command("items", str(main))
    if not found.seen.transactions:
        yield (
            f"Download the files of a month into {INBOX}/ beside the ledger, then:",
            command("month", found.month.name, str(main)),
        )
    if found.left_out:
        yield _include(found)
    if found.closing and not found.closing.done:
        yield (
            f"See what stands between {found.month.label} and done:",
            command("close", found.month.name, str(main)),
        )
    yield f"Nothing: {found.month.label} is done.", ""


def _include(found: Found) -> tuple[str, str]:
    """Return what to do about a file that is not included, with what does it."""
    return (
        f"{found.left_out[0]} does not belong to the books yet. If it should, write into "
        f"{found.books.path.name}:",
        f'include "{found.left_out[0]}"',
    )

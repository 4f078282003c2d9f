"""Say which payments that the ledger has come to other amounts in a file.

A payment is known by its id: what the ledger has of it stays, and the user is told where
the file says something else. What stands in the ledger as an import writes
it is settled; only the other transactions are read one by one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from functools import cache

from offcut.importers.known import Known
from offcut.importers.ledger_text import escaped, posting_text
from offcut.importers.novelty import Sorted
from offcut.importers.postings import source_id
from offcut.importers.problems import LISTED
from offcut.importers.records import Payment, money_moved
from offcut.importers.transaction_texts import read_transaction, transaction_at

_ID = re.compile(rb'\n[ \t]+source-id:[ \t]*"([^"\\]*(?:\\.[^"\\]*)*)"')


def amount_notes(files: Iterable[Sorted], known: Known) -> list[str]:
    """Return the payments whose amounts are others in the ledger, a sentence each.

    Args:
      files: The files of the import, sorted.
      known: What the ledger has.
    """
    payments = [each for file in files for each in file.known_payments]
    if not payments:
        return []
    odd = _not_as_written(payments, known)
    found = list(_differing(odd, known)) if odd else []
    sentences = [_sentence(payment, before) for payment, before in found[:LISTED]]
    if len(found) > LISTED:
        sentences.append(f"and {len(found) - LISTED} more payments differ so")
    return sentences


def _not_as_written(payments: Iterable[Payment], known: Known) -> list[Payment]:
    """Return the payments whose money no import has written as it is in the file."""
    posting = cache(posting_text)
    waiting: dict[str, tuple[Payment, str]] = {}
    odd = []
    for payment in payments:
        account, moved = payment.layout.accounts.clearing, money_moved(payment)
        written = posting(account, moved, payment.currency)
        if (
            waiting.setdefault(escaped(source_id(payment)), (payment, written))[1]
            != written
        ):
            odd.append(payment)  # another file has it otherwise
    for contents in known.files.values():
        text = contents.decode("utf-8", "replace")
        if "\r" in text:
            text = text.replace("\r\n", "\n")
        for part in text.split('\n  source-id: "')[1:]:
            end = part.find('"\n')
            expected = waiting.get(part[:end])
            if expected is None:
                continue
            if not part.startswith(expected[1], end + 2):
                own = part.partition("\n\n")[0] + "\n"
                if f"\n{expected[1]}" not in own:
                    continue
            del waiting[part[:end]]
    return [*odd, *(payment for payment, _ in waiting.values())]


def _differing(
    payments: Iterable[Payment], known: Known
) -> Iterator[tuple[Payment, dict[str, Decimal]]]:
    """Yield payments that differ, and what the ledger has of the account, by currency.

    Nothing is said of a transaction in which the account is not posted to, or by an
    amount with a price or arithmetic in it: somebody has edited it, or it is an exchange.
    """
    by_id: dict[bytes, list[Payment]] = {}
    for payment in payments:
        by_id.setdefault(escaped(source_id(payment)).encode(), []).append(payment)
    for contents in known.files.values():
        for match in _ID.finditer(contents):
            if match[1] not in by_id:
                continue
            text = transaction_at(contents, match.start() + 1)
            transaction = read_transaction(text) if text else None
            if transaction is None:
                continue
            for payment in by_id[match[1]]:
                account = payment.layout.accounts.clearing
                ours = [each for each in transaction.postings if each.account == account]
                if not ours or any(each.number is None for each in ours):
                    continue
                sums = transaction.sums([account])
                expected = {payment.currency: money_moved(payment)}
                if sums != expected:
                    yield payment, sums


def _sentence(payment: Payment, before: dict[str, Decimal]) -> str:
    """Return what to say of a payment that differs."""
    channel = payment.layout.channel
    order = f"{channel} order {payment.number}, " if payment.number else ""
    has = " and ".join(f"{amount} {currency}" for currency, amount in before.items())
    return (
        f"{order}{payment.file} row {payment.row}: {money_moved(payment)} "
        f"{payment.currency} in the file and {has} in the ledger, which has the row's id "
        f"and was not changed; correct it there if the file is right"
    )

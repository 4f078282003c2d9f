"""Say which payments that the ledger has come to other amounts in a file.

A payment is known by its id: what the ledger has of it stays, and the user is told where
the file says something else. What stands in the ledger as an import writes
it is settled; only the other transactions are read one by one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from offcut.importers.known import Known
from offcut.importers.ledger_text import escaped, posting_text
from offcut.importers.novelty import Sorted
from offcut.importers.postings import source_id
from offcut.importers.problems import LISTED
from offcut.importers.records import Payment, money_moved
from offcut.importers.transaction_texts import read_transaction, transaction_at

_ID = re.compile(rb'\n[ \t]+source-id:[ \t]*"([^"\\]*(?:\\.[^"\\]*)*)"')
# As an import writes it, and with the posting after it. An expression that begins with a
# text is found sooner than one that begins with a line break.
_WRITTEN_ID = re.compile(rb'source-id: "(?<=\n  source-id: ")([^\n]*)"\n')
_FIRST_POSTING = re.compile(_WRITTEN_ID.pattern + rb"(?:  [a-z][^\n]*\n)*(  [A-Z][^\n]*\n)")


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


def _not_as_written(payments: Sequence[Payment], known: Known) -> list[Payment]:
    """Return the payments whose money no import has written as it is in the file."""
    texts: dict[tuple[str, Decimal, str], bytes] = {}
    written = []
    for payment in payments:
        money = payment.layout.accounts.clearing, money_moved(payment), payment.currency
        text = texts.get(money)
        if text is None:
            text = texts[money] = posting_text(*money).encode()
        written.append(text)
    names = [escaped(source_id(each)).encode() for each in payments]
    waiting = dict(zip(reversed(names), reversed(written), strict=True))
    odd = []
    if len(waiting) < len(names):  # other files have them too, and perhaps otherwise
        rows = zip(payments, names, written, strict=True)
        odd = [payment for payment, name, text in rows if waiting[name] != text]
    for contents in known.files.with_ids(map(bytes.decode, names), len(names)):
        if b"\r" in contents:
            contents = contents.replace(b"\r\n", b"\n")
        # The money's posting is mostly the first one.
        first = dict(_FIRST_POSTING.findall(contents))
        waiting = {name: text for name, text in waiting.items() if first.get(name) != text}
        if not waiting:
            return odd
        for match in _WRITTEN_ID.finditer(contents):
            if text := waiting.get(match[1]):
                start = match.end() - 1
                own = contents[start : contents.find(b"\n\n", start) + 1 or None]
                if b"\n" + text in own:
                    del waiting[match[1]]
    left = dict(zip(reversed(names), reversed(payments), strict=True))
    return odd + [left[name] for name in reversed(waiting)]


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
    for contents in known.files.with_ids(map(bytes.decode, by_id), len(by_id)):
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
                if not ours or any(
                    each.number is None or not each.is_plain for each in ours
                ):
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

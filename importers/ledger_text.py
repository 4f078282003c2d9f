"""Write transactions as ledger text, as a careful person would: aligned, and inert."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

# The column that the currency stands in, as in `bean-format -c 61`.
CURRENCY_COLUMN = 61

Meta = Iterable[tuple[str, str | Decimal]]


def escaped(text: str) -> str:
    """Return a text of one line as it stands between the quotes of a ledger's string."""
    if "\\" in text or '"' in text:
        return text.replace("\\", "\\\\").replace('"', '\\"')
    return text


def posting_text(account: str, amount: Decimal, currency: str, meta: Meta = ()) -> str:
    """Return the lines of a posting with its metadata, each with its line break.

    Args:
      account: The account.
      amount: A number of whole minor units, which prints without an exponent.
      currency: The currency.
      meta: Keys and values; a text is quoted, a number is not.
    """
    number = str(amount)
    blanks = " " * (CURRENCY_COLUMN - 6 - len(account) - len(number))
    text = f"  {account}{blanks}  {number} {currency}\n"
    for key, value in meta:
        shown = f'"{escaped(value)}"' if isinstance(value, str) else f"{value:f}"
        text += f"    {key}: {shown}\n"
    return text


def transaction_text(
    day: str,
    narration: str,
    link: str,
    meta: Iterable[tuple[str, str]],
    postings: str,
    payee: str = "",
) -> str:
    """Return a transaction's lines, each with its line break.

    Args:
      day: The date as ISO 8601 writes it.
      narration: What it is; a text of one line.
      link: A link without its mark, or several with a blank between them; empty where
        there is none.
      meta: Keys and texts; a key without a text is not written.
      postings: The lines of the postings.
      payee: Who paid or was paid; a text of one line, empty where it is not said.
    """
    noted = "".join([f'  {key}: "{escaped(text)}"\n' for key, text in meta if text])
    links = f" ^{link.replace(' ', ' ^')}" if link else ""
    who = f'"{escaped(payee)}" ' if payee else ""
    return f'{day} * {who}"{escaped(narration)}"{links}\n{noted}{postings}'


def balance_text(day: str, account: str, amount: Decimal, currency: str, name: str) -> str:
    """Return the lines of a balance assertion with its id, each with its line break."""
    head, number = f"{day} balance {account}", str(amount)
    blanks = " " * (CURRENCY_COLUMN - 4 - len(head) - len(number))
    return f'{head}{blanks}  {number} {currency}\n  source-id: "{escaped(name)}"\n'


def tagged(transaction: str, tags: Iterable[str]) -> str:
    """Return a transaction's lines with tags, given without their marks, on the first."""
    first, end, rest = transaction.partition("\n")
    return "".join([first, *(f" #{tag}" for tag in tags), end, rest])

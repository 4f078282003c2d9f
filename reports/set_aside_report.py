"""Put the statements of the tax set-aside together, and hold them against the ledger."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterator
from pathlib import Path

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.figures import money
from offcut.reports.period import Period
from offcut.reports.set_aside_statement import set_aside_statement
from offcut.reports.statement import Check, Statement
from offcut.reports.tax import CAUTION
from offcut.reports.tax.reserve import transfer
from offcut.reports.tax.rules_files import known_rules
from offcut.reports.tax.set_aside import SetAside, set_aside
from offcut.reports.tax.tax_settings import TaxSettings
from offcut.reports.tax_working_statement import tax_working_statement

EXAMPLE = """\
[tax]
# Whose rules hold; there are: {known}
jurisdiction = "us-federal"
# How you are taxed, as these rules call it
status = "single"
# Where you set money aside, and where you take it from
reserve = "Assets:Bank:TaxReserve"
bank = "Assets:Bank:Checking"
# What you book payments to the tax office to
payments = "Equity:Drawings:Tax"
"""


def settings_needed(settings: TaxSettings, beside: Path) -> Iterator[str]:
    """Yield what to write where the settings do not say whose rules hold, by lines.

    Args:
      settings: What is set about taxes.
      beside: The ledger's folder.
    """
    known = ", ".join(sorted({jurisdiction for jurisdiction, _ in known_rules(beside)}))
    if settings != TaxSettings():
        yield (
            "offcut.toml: jurisdiction is missing; add one to [tax], such as "
            f'jurisdiction = "us-federal"; there are {known}'
        )
        return
    yield (
        "offcut.toml has no [tax], so it is not known whose rules hold and who is taxed. "
        "Write it there, beside the ledger, with your own accounts:"
    )
    yield ""
    yield from EXAMPLE.format(known=known).splitlines()
    yield ""
    yield "What else matters is then asked for beside the figures."
    yield CAUTION


def set_aside_statements(
    books: Books, settings: TaxSettings, year: str | None, today: datetime.date
) -> list[Statement]:
    """Return what to set aside and to pay, and how the tax is worked out.

    Args:
      books: The books.
      settings: What is set about taxes; a jurisdiction among it.
      year: The year as the rules call it; None for the one that the day is in.
      today: The day.

    Raises:
      RulesError: There are no rules of the year, or it has not begun.
      HouseholdError: What the books cannot know is missing or wrong.
    """
    found = set_aside(books, settings, year, today)
    entry = ""
    if found.short_by and settings.reserve and settings.bank:
        entry = transfer(
            *(books.entries, settings.bank, settings.reserve, found.short_by),
            *(found.year.rules.currency, today),
        )
    return [
        set_aside_statement(
            found, entry, tuple(_checks(books, found)), tuple(_others(books, found))
        ),
        *(tax_working_statement(each) for each in reversed(found.years)),
    ]


def _checks(books: Books, found: SetAside) -> Iterator[Check]:
    """Yield what the figures were held against."""
    for error in found.year.errors:
        place = f"{error.source['filename']}:{error.source['lineno']}"
        yield Check(f"{place}: {error.message}", False)
    yield _tie(books, found)
    rules, account = found.year.rules, found.settings.payments
    for mistake in found.every.mistakes:
        yield Check(f"{mistake}. Until then it counts for no year.", False)
    if not account:
        return
    with_others = [each.amount for each in found.every.found]
    counted = [each.paid for each in found.years]
    currency = rules.currency
    with decimal.localcontext(EXACT):
        total, ours = sum(with_others, ZERO), sum(counted, ZERO)
    there = found.in_payments
    if total == there:
        elsewhere = EXACT.subtract(total, ours)
        yield Check(
            f"The payments listed, {money(ours, currency)}, and those for other years, "
            f"{money(elsewhere, currency)}, add up to what {account} has: "
            f"{money(there, currency)} {currency}.",
            True,
        )
    else:
        yield Check(
            f"THE PAYMENTS DO NOT ADD UP: they come to {money(total, currency)}, while "
            f"{account} has {money(there, currency)} {currency}. This is a fault in "
            "offcut: do not rely on these figures, and please report it.",
            False,
        )


def _tie(books: Books, found: SetAside) -> Check:
    """Return the profit so far held against the ledger's net income."""
    currency, to_date = found.year.rules.currency, found.year.to_date
    ledger = books.net_income(to_date.period).get(currency, ZERO)
    with decimal.localcontext(EXACT):
        steps = sum((step.amount for step in to_date.steps), ZERO)
        holds = to_date.ties and ledger + steps == to_date.profit
    figures = (
        f"{money(to_date.profit, currency)} {currency} of profit for tax, and "
        f"{money(ledger, currency)} of net income in the ledger with "
        f"{money(steps, currency)} that the tax rules see otherwise"
    )
    if holds:
        return Check(f"Profit so far agrees with the ledger: {figures}.", True)
    return Check(
        f"PROFIT SO FAR DOES NOT AGREE WITH THE LEDGER: {figures}. This is a fault in "
        "offcut: do not rely on these figures, and please report it.",
        False,
    )


def _others(books: Books, found: SetAside) -> Iterator[str]:
    """Yield what the books earned in currencies that the tax is not in."""
    projection, rules = found.year.projection, found.year.rules
    incomes = books.net_income(Period(projection.first, projection.until))
    for currency, amount in sorted(incomes.items()):
        if currency != rules.currency and amount:
            yield (
                f"Besides, the books have {money(amount, currency)} {currency} of net "
                f"income on these days, which does not count here: this tax is in "
                f"{rules.currency}."
            )

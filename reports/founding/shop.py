"""What has to be known of a shop to found its books, each answer checked."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from typing import NamedTuple

from offcut.importers.values import one_line
from offcut.plugins.catalogue import nearest
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.rules_files import find_rules, known_rules

CHANNELS = ("Web", "Market", "Fair", "Wholesale", "Commission")
LONGEST_TITLE = 80
# The years that beancount's grammar has, and none that is a slip of the pen for one.
FIRST_YEAR, LAST_YEAR = 1980, 2099


class Shop(NamedTuple):
    """A shop whose books are to be founded.

    Attributes:
      title: Its name.
      currency: The currency of its books.
      first: The first day of its books.
      channels: Where it sells; at least one of `CHANNELS`.
      rules: The tax rules that hold for it; None where none were chosen.
      status: How its owner is taxed, as these rules call it; empty without rules.
    """

    title: str
    currency: str
    first: datetime.date
    channels: tuple[str, ...] = CHANNELS
    rules: Rules | None = None
    status: str = ""

    @property
    def eve(self) -> datetime.date:
        """The day before the first one, at whose end the opening balances stand."""
        return self.first - datetime.timedelta(days=1)


def read_title(text: str) -> str:
    """Return the name of a shop.

    Raises:
      ValueError: It is none.
    """
    title = one_line(text)
    if not title or len(title) > LONGEST_TITLE:
        raise ValueError(
            f"expected the shop's name, of at most {LONGEST_TITLE} letters, such as "
            f"Corner Press; found '{title[:LONGEST_TITLE]}'"
        )
    return title


def read_currency(text: str) -> str:
    """Return the code of a currency.

    Raises:
      ValueError: It is none.
    """
    code = text.strip().upper()
    if not re.fullmatch("[A-Z]{3}", code):
        raise ValueError(
            f"expected the three letters of a currency, such as USD or EUR; found '{text}'"
        )
    return code


def read_day(text: str) -> datetime.date:
    """Return the first day of books.

    Raises:
      ValueError: It is no day.
    """
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text.strip(), re.ASCII):
            raise ValueError
        day = datetime.date.fromisoformat(text.strip())
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValueError
    except ValueError:
        raise ValueError(
            f"expected a day as year, month, day, such as 2025-01-01; found '{text}'"
        ) from None
    return day


def read_channels(text: str) -> tuple[str, ...]:
    """Return the channels that a text names, with commas between them.

    Raises:
      ValueError: It names none, or something that is no channel.
    """
    known = {channel.casefold(): channel for channel in CHANNELS}
    words = [word for word in re.split(r"[\s,]+", text.casefold()) if word]
    for word in words:
        if word not in known:
            raise ValueError(
                f"expected {', '.join(known)}, or several of these; found '{word}'"
                f"{nearest(word, known)}"
            )
    if not words:
        raise ValueError(f"expected at least one of {', '.join(known)}")
    return tuple(channel for word, channel in known.items() if word in words)


def jurisdictions() -> list[str]:
    """Return whose tax rules there are."""
    return sorted({jurisdiction for jurisdiction, _ in known_rules()})


def read_jurisdiction(text: str, currency: str, first: datetime.date) -> Rules | None:
    """Return the tax rules of a jurisdiction, of the year that books begin in.

    Args:
      text: Its name; "none", or nothing, where no rules are wanted.
      currency: The currency of the books.
      first: Their first day; where there are no rules of its year, the latest are taken.

    Raises:
      ValueError: There are no such rules, or they are in another currency.
    """
    name = text.strip().casefold()
    if name in ("", "none"):
        return None
    years = [year for jurisdiction, year in known_rules() if jurisdiction == name]
    if not years:
        known = jurisdictions()
        raise ValueError(
            f"expected {', '.join(known)} or none; found '{text}'{nearest(name, known)}"
        )
    of_years = [find_rules(name, year) for year in years]
    rules = next((each for each in of_years if each.first <= first <= each.last), None)
    rules = rules or of_years[-1]
    if rules.currency != currency:
        raise ValueError(
            f"the rules of {name} are in {rules.currency}, the books in {currency}; "
            "choose none"
        )
    return rules


def read_status(text: str, statuses: Sequence[str]) -> str:
    """Return how somebody is taxed.

    Raises:
      ValueError: The rules know no such status.
    """
    status = text.strip().casefold()
    if status not in statuses:
        raise ValueError(
            f"expected {', '.join(statuses)}; found '{text}'{nearest(status, statuses)}"
        )
    return status

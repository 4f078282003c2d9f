"""What of an account's postings is open: by order, payout or row, or by amount.

Postings that have a link of what they are about belong together: an order's, a payout's
or a bank row's. What comes to nothing over all days of the ledger is settled. Postings
without a link settle what has their amount, and then the oldest first.
"""

from __future__ import annotations

import datetime
from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

from beancount.core import data

from offcut.importers.values import ZERO
from offcut.reports.close.points import Place, named, place_of

Links = tuple[str, ...]
Account = tuple[str, str]
"""An account and a currency."""


class Posted(NamedTuple):
    """A posting.

    Attributes:
      date: Its day.
      number: Its amount.
      entry: Its transaction.
      posting: Itself.
    """

    date: datetime.date
    number: Decimal
    entry: data.Transaction
    posting: data.Posting

    @property
    def place(self) -> Place:
        """Where it stands."""
        place = place_of(self.posting.meta)
        return place if place.file else place_of(self.entry.meta)

    @property
    def rank(self) -> tuple[datetime.date, Place, Decimal]:
        """What it is sorted by."""
        return self.date, self.place, self.number


class Group:
    """The postings with the same links in an account.

    Attributes:
      links: The links, without their marks.
      at_end: What they come to by the month's last day.
      total: What they come to over all days.
      since: The first day of them.
      last: The last day of them.
    """

    __slots__ = ("_of_first_day", "at_end", "last", "links", "since", "total")

    def __init__(self, links: Links, first: Posted) -> None:
        self.links = links
        self.at_end = self.total = ZERO
        self.since = self.last = first.date
        self._of_first_day = [first]

    def begin_with(self, posted: Posted) -> None:
        """Note a posting that is of the first day, or before it."""
        if posted.date < self.since:
            self.since = posted.date
            self._of_first_day.clear()
        self._of_first_day.append(posted)

    @property
    def first(self) -> Posted:
        """The first of them, by its place where several are of one day."""
        return min(self._of_first_day, key=lambda posted: posted.rank)

    @property
    def open_at_end(self) -> Decimal:
        """What was open at the month's end, less what was settled of it since."""
        less = abs(self.total) < abs(self.at_end)
        same = (self.total > 0) == (self.at_end > 0)
        return self.total if less and same else self.at_end

    def joined(self, other: Group) -> Group:
        """Return this group and another as one."""
        both = Group(
            tuple(sorted({*self.links, *other.links})),
            min(self.first, other.first, key=lambda first: first.rank),
        )
        both.at_end = self.at_end + other.at_end
        both.total = self.total + other.total
        both.last = max(self.last, other.last)
        return both


class OpenItem(NamedTuple):
    """What is open of an account at the month's end.

    Attributes:
      account: The account.
      currency: The currency.
      links: What it is about; () where nothing says it.
      amount: What is open of it still; what was open, where that is met since.
      first: The posting that it began with.
      met: The day that it came to nothing, after the month; None where it has not.
    """

    account: str
    currency: str
    links: Links
    amount: Decimal
    first: Posted
    met: datetime.date | None

    @property
    def name(self) -> str:
        """What it is about: `order W1042`, or the transaction's own text."""
        if self.links:
            kind, _, key = self.links[0].partition("-")
            others = [link.partition("-")[2] for link in self.links[1:]]
            noun = "bank row" if kind == "bank" else kind
            return f"{noun} {' and '.join([key, *others])}"
        entry = self.first.entry
        return named(entry.payee or entry.narration or "a posting without a text")


def open_items(
    groups: Iterable[tuple[Account, Iterable[Group]]],
    unlinked: Iterable[tuple[Account, Sequence[Posted]]],
    end: datetime.date | None,
) -> list[OpenItem]:
    """Return what was open at a month's end, the oldest first.

    Args:
      groups: The postings that have links, by account.
      unlinked: Those that have none, by account.
      end: The month's last day; None for what is open after all days.
    """
    loose = {account: _without_opposites(postings) for account, postings in unlinked}
    found = []
    still: list[tuple[Account, Group]] = []
    for account, of_account in groups:
        for group in _joined(of_account):
            if not group.total:
                if group.at_end and end:
                    first, last = group.first, group.last
                    met = OpenItem(*account, group.links, group.at_end, first, last)
                    found.append(met)
            elif not _taken(loose.get(account, []), -group.total):
                still.append((account, group))
    left = {account: _oldest_first(postings) for account, postings in loose.items()}
    for account, group in still:
        rest = left.get(account, [])
        same = next((each for each in rest if each[1] == -group.total), None)
        if same:
            rest.remove(same)
        elif group.at_end or end is None:
            amount = group.total if end is None else group.open_at_end
            found.append(OpenItem(*account, group.links, amount, group.first, None))
    for (name, currency), postings in left.items():
        for posted, amount in postings:
            if end is None or posted.date <= end:
                found.append(OpenItem(name, currency, (), amount, posted, None))
    return sorted(found, key=lambda item: (item.first.rank, item.account, item.links))


def _joined(groups: Iterable[Group]) -> list[Group]:
    """Return groups that are open; those that have a link in common as one.

    What several orders were paid together is settled by what each of them is about.
    """
    is_open = [group for group in groups if group.total or group.at_end]
    if all(len(group.links) == 1 for group in is_open):
        return is_open
    of_link: dict[str, Group] = {}
    for group in sorted(is_open, key=lambda group: group.links):
        known = [of_link[link] for link in group.links if link in of_link]
        for other in {id(each): each for each in known}.values():
            group = group.joined(other)
        for link in group.links:
            of_link[link] = group
    return list({id(group): group for group in of_link.values()}.values())


def _taken(postings: list[Posted], number: Decimal) -> bool:
    """Take the first posting of an amount out of a list, if there is one."""
    same = [posted for posted in postings if posted.number == number]
    if same:
        postings.remove(min(same, key=lambda posted: posted.rank))
    return bool(same)


def _without_opposites(postings: Iterable[Posted]) -> list[Posted]:
    """Return the postings without links that none of the opposite amount settles.

    Of several of one amount the first ones are settled.
    """
    by_amount: dict[Decimal, list[Posted]] = defaultdict(list)
    for posted in sorted(postings, key=lambda posted: posted.rank):
        by_amount[posted.number].append(posted)
    rest: list[Posted] = []
    for number, same in by_amount.items():
        settled = len(by_amount.get(-number, ())) if number else len(same)
        rest.extend(same[settled:])
    return rest


def _oldest_first(postings: Iterable[Posted]) -> list[tuple[Posted, Decimal]]:
    """Return what is left of postings where each settles the oldest of the other sign."""
    queue: deque[tuple[Posted, Decimal]] = deque()
    for posted in sorted(postings, key=lambda posted: posted.rank):
        left = posted.number
        while queue and left and (queue[0][1] > 0) != (left > 0):
            oldest, open_of_it = queue.popleft()
            both = open_of_it + left
            left = both if (both > 0) == (left > 0) else ZERO
            if both and not left:
                queue.appendleft((oldest, both))
        if left:
            queue.append((posted, left))
    return list(queue)

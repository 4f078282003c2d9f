"""Hold the files of a ledger, each read where something is looked for that it may have."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from os import fstat
from pathlib import Path

from offcut.importers.facts_cache import FactsCache, stamp_of
from offcut.importers.file_facts import FileFacts, checksums, heads_of
from offcut.importers.problems import ImportRefused, Problem

# What is looked for one by one costs a few milliseconds each, to read all some hundred.
FEW = 32


class LedgerFiles(Mapping[Path, bytes]):
    """The bytes of a ledger's files, by path, in the order in which they were taken in.

    Those of a file of which enough is known are read once they are asked for. What is
    yielded for something looked for are the files that may have it.
    """

    def __init__(self) -> None:
        self._contents: dict[Path, bytes | None] = {}
        self._facts: dict[Path, FileFacts] = {}
        self._heads: dict[Path, bytes] = {}

    def take(self, path: Path, cache: FactsCache) -> None:
        """Take in a file.

        Raises:
          ImportRefused: It cannot be read.
        """
        contents = None
        try:
            with path.open("rb") as file:
                stamp = stamp_of(fstat(file.fileno()))
                facts = cache.find(path, stamp)
                if facts is None:
                    contents = file.read()
        except OSError as error:
            raise ImportRefused([unreadable(path, error)]) from error
        if contents is not None:
            facts = cache.make(path, stamp, contents)
        self._contents[path] = contents
        if facts is not None:
            self._facts[path] = facts
        self._heads[path] = facts.heads if facts else heads_of(contents or b"")

    def __getitem__(self, path: Path) -> bytes:
        contents = self._contents[path]
        if contents is None:
            try:
                contents = self._contents[path] = path.read_bytes()
            except OSError as error:
                raise ImportRefused([unreadable(path, error)]) from error
        return contents

    def __iter__(self) -> Iterator[Path]:
        return iter(self._contents)

    def __len__(self) -> int:
        return len(self._contents)

    def __contains__(self, path: object) -> bool:
        return path in self._contents

    def also(self, path: Path, contents: bytes) -> LedgerFiles:
        """Return these files and another one."""
        both = LedgerFiles()
        both._contents = {**self._contents, path: contents}
        both._facts = self._facts
        both._heads = {**self._heads, path: heads_of(contents)}
        return both

    def facts(self, path: Path) -> FileFacts | None:
        """Return what is known of a file without its bytes; None where nothing is."""
        return self._facts.get(path)

    def heads(self, path: Path) -> bytes:
        """Return the lines of a file that include, open, close or declare."""
        return self._heads[path]

    def with_marks(self, *marks: bytes) -> Iterator[bytes]:
        """Yield the files that may have one of some marks."""
        return self._where(lambda facts: facts.may_have_mark(*marks))

    def with_orders(self, orders: Collection[str]) -> Iterator[bytes]:
        """Yield the files that may have a link of one of some orders."""
        if self.are_many(len(orders)):
            return iter(self.values())
        wanted = checksums(orders)
        return self._where(lambda facts: not wanted.isdisjoint(facts.orders))

    def with_ids(self, ids: Iterable[str], count: int) -> Iterator[bytes]:
        """Yield the files that may have one of some ids.

        Args:
          ids: The ids, as a ledger's text has them.
          count: How many there are.
        """
        if self.are_many(count):
            return iter(self.values())
        wanted = checksums(ids)
        return self._where(lambda facts: not wanted.isdisjoint(facts.ids))

    def are_many(self, count: int) -> bool:
        """Return whether so many ids or orders are looked for sooner in all files."""
        return count > FEW + sum([len(each.ids) for each in self._facts.values()]) // 8

    def _where(self, may_have: Callable[[FileFacts], bool]) -> Iterator[bytes]:
        for path in self._contents:
            facts = self._facts.get(path)
            if facts is None or may_have(facts):
                yield self[path]


def unreadable(path: Path, error: OSError) -> Problem:
    """Return the problem of a file of the ledger that cannot be read."""
    message = (
        f"this file of the ledger cannot be read ({error.strerror}); give the path of "
        "the ledger's main file, which may be empty at first"
    )
    return Problem(str(path), None, None, message)

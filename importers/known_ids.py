"""Say whether a ledger has an id, reading only the files that may have it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Set
from itertools import chain
from pathlib import Path

from offcut.importers.file_facts import ROW_ID, FileFacts, checksums
from offcut.importers.ledger_files import FEW, LedgerFiles


class KnownIds(Set[str]):
    """The ids of one kind in a ledger, as its text has them.

    What is in them is always as if all files had been read; what is expected costs less.

    Args:
      search: What finds ids of all kinds.
      kind: The kind.
    """

    def __init__(self, search: IdSearch, kind: str) -> None:
        self._search = search
        self._found = search.found[kind]

    def __contains__(self, name: object) -> bool:
        if name in self._found:
            return True
        if not isinstance(name, str) or not self._search.may_find(name):
            return False
        return name in self._found

    def __iter__(self) -> Iterator[str]:
        self._search.read_all()
        return iter(self._found)

    def __len__(self) -> int:
        self._search.read_all()
        return len(self._found)

    def telling(self) -> Iterator[str]:
        """Yield ids of rows by whose forms what is there can be told.

        All ids of opening balances are among them, and of the ids that are digests one
        at least of each source and form.
        """
        return chain(self._found, self._search.telling())


def telling_ids(source_ids: Collection[str]) -> Iterator[str]:
    """Yield ids of rows by whose forms what is there can be told; see `KnownIds`."""
    return source_ids.telling() if isinstance(source_ids, KnownIds) else iter(source_ids)


class IdSearch:
    """What finds ids in the files of a ledger.

    Attributes:
      found: The ids in files that were read, by kind.
    """

    def __init__(self, files: LedgerFiles) -> None:
        self.found: dict[str, set[str]] = {"source": set(), "lines": set()}
        self._files = files
        self._left: dict[Path, FileFacts] = {}
        self._done: set[str] = set()
        self._singly = 0
        for path in files:
            if (facts := files.facts(path)) is None:
                self._read(path)
            else:
                self._left[path] = facts

    def of_kind(self, kind: str) -> Set[str]:
        """Return the ids of one kind: `source` or `lines`."""
        return KnownIds(self, kind) if self._left else self.found[kind]

    def expect(self, names: Iterable[str], count: int) -> None:
        """Find what there is of some ids, of whatever kind, all at once.

        Args:
          names: The ids; not looked at where all files are read anyway.
          count: How many there are.
        """
        if not self._left:
            return
        if self._files.are_many(count):
            self.read_all()
            return
        expected = set(names)
        sums = checksums(expected)
        for path in [
            path for path, facts in self._left.items() if not sums.isdisjoint(facts.ids)
        ]:
            self._read(path)
        self._done |= expected

    def may_find(self, name: str) -> bool:
        """Return whether an id may have been found only now that it is asked for."""
        if not self._left or name in self._done:
            return False
        self._singly += 1
        if self._singly > FEW:
            self.read_all()
        else:
            self.expect([name], 1)
        return True

    def telling(self) -> Iterator[str]:
        """Yield the telling ids of rows in the files that were not read."""
        for facts in self._left.values():
            for name in facts.telling:
                yield name.decode()

    def read_all(self) -> None:
        """Find the ids of all files."""
        for path in [*self._left]:
            self._read(path)

    def _read(self, path: Path) -> None:
        self._left.pop(path, None)
        found = ROW_ID.findall(b"\n" + self._files[path])
        for kind, names in self.found.items():
            ours = kind.encode()
            names.update(
                [name.decode("utf-8", "replace") for of, name in found if of == ours]
            )

"""Let fava's own import page import the files of the inbox with offcut's layouts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fava.core.ingest import LoadedImportConfig, WrappedImporter
from fava.helpers import FavaAPIError

from offcut.importers.csv_importer import extract_in_turn, importers
from offcut.importers.problems import ImportRefused
from offcut.reports.close.inbox import INBOX

if TYPE_CHECKING:
    from fava.core import FavaLedger


class _Importers(Mapping[str, WrappedImporter]):
    """The importers by name, as the settings beside a ledger have them when asked.

    What is learned by `offcut items` while the viewer runs counts at once.
    """

    def __init__(self, ledger: Path) -> None:
        self._ledger = ledger

    def _now(self) -> dict[str, WrappedImporter]:
        try:
            found = importers(self._ledger)
        except ImportRefused as refused:
            raise FavaAPIError("; ".join(map(str, refused.problems))) from None
        return {each.name: WrappedImporter(each) for each in found}

    def __getitem__(self, name: str) -> WrappedImporter:
        return self._now()[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._now())

    def __len__(self) -> int:
        return len(self._now())


def offer_imports(ledger: FavaLedger) -> None:
    """Give fava's import page importers and the inbox, where the ledger names no others.

    fava has them from `import-config` and `import-dirs` in the ledger; whoever wrote these
    keeps what they say.

    Args:
      ledger: A ledger that fava loaded just now.
    """
    options = ledger.fava_options
    if options.import_config is not None:
        return
    path = Path(ledger.beancount_file_path)
    # fava calls a hook with the importer where its annotation asks for one, as this does.
    hooks: Any = (extract_in_turn,)
    ledger.ingest.loaded_config = LoadedImportConfig(_Importers(path), hooks)
    # The page looks whether there is one, no more.
    options.import_config = "offcut"
    if not options.import_dirs:
        options.import_dirs = (INBOX,)

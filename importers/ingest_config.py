"""An import configuration for beangulp's command and for the viewer's import page.

From the ledger's folder, with the files to import in `downloads`:

    python -m offcut.importers.ingest_config identify downloads
    python -m offcut.importers.ingest_config extract -e main.beancount downloads
    python -m offcut.importers.ingest_config archive -o documents downloads

For the viewer a copy of this file beside the ledger, `import.py`, does as it is; a copy
that is run by itself takes the place of `-m offcut.importers.ingest_config`, too:

    2025-01-01 custom "fava-option" "import-config" "import.py"
    2025-01-01 custom "fava-option" "import-dirs" "downloads"

Settings and layouts are those beside the ledger. An order's payment and its lines, in two
files, are two transactions here, which meet in the receivable or the suspense account;
`offcut import` joins them to one. In the viewer, save one file before extracting the next.
"""

from __future__ import annotations

from pathlib import Path

import beangulp

from offcut.importers.csv_importer import extract_in_turn, importers

_HERE = Path(__file__).resolve().parent
_IS_A_COPY = not (_HERE / "csv_importer.py").exists()

CONFIG = importers((_HERE if _IS_A_COPY else Path.cwd()) / "main.beancount")
HOOKS = [extract_in_turn]

if __name__ == "__main__":
    beangulp.Ingest(CONFIG, HOOKS)()  # type: ignore[no-untyped-call]

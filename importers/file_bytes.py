"""Read the bytes of a stranger's file: text only, and no more than a month's file has."""

from __future__ import annotations

import os
from pathlib import Path

from offcut.importers.problems import ImportRefused, Problem

# The lines of a million orders take less.
MEBIBYTES_AT_MOST = 256

# What a file begins with that is no text. Nothing is unpacked: what comes out of a small
# archive may be larger than the machine.
_NOT_TEXT = {
    b"PK\x03\x04": "a zip archive or a spreadsheet",
    b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1": "a spreadsheet",
    b"\x1f\x8b": "a gzip archive",
    b"BZh91AY&SY": "a bzip2 archive",
    b"\xfd7zXZ\x00": "an xz archive",
    b"\x28\xb5\x2f\xfd": "a zstandard archive",
    b"%PDF-": "a PDF",
}


def read_bytes(path: Path) -> bytes:
    """Return the contents of a file to import.

    Raises:
      ImportRefused: There is no such file, it cannot be read, it is empty, too large, or
        an archive.
    """
    name = path.name or str(path)
    most = MEBIBYTES_AT_MOST << 20
    try:
        with path.open("rb") as file:
            size = os.fstat(file.fileno()).st_size
            # A pipe and a device have no size, and may have no end.
            contents = file.read(most + 1) if size == 0 else b""
            if 0 < size <= most:
                contents = file.read()
    except OSError as error:
        what = "give the path of a CSV file"
        if isinstance(error, PermissionError):
            what = "close it in other programs, or change its permissions"
        message = f"the file cannot be read ({error.strerror}); {what}"
        raise ImportRefused([Problem(name, None, None, message)]) from error
    if max(size, len(contents)) > most:
        message = (
            f"expected a file of at most {MEBIBYTES_AT_MOST} MiB, found a larger one; "
            "export it a month at a time"
        )
        raise ImportRefused([Problem(name, None, None, message)])
    for begin, what in _NOT_TEXT.items():
        if contents.startswith(begin):
            message = f"expected a CSV file, found {what}; unpack it, or save it as CSV"
            raise ImportRefused([Problem(name, None, None, message)])
    if not contents or contents.isspace():
        message = "the file is empty, expected a header and rows; export it again"
        raise ImportRefused([Problem(name, None, None, message)])
    return contents

"""Find ledger files that do not count, and plugin lines where they do not count."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

SUFFIX = ".beancount"
PLUGINS = "offcut.plugins"
# Deeper than this, and in folders like these, are other people's files.
_PATTERNS = (f"*{SUFFIX}", f"*/*{SUFFIX}")
_PLUGIN = re.compile(rf'^plugin[ \t]+"{re.escape(PLUGINS)}[".]', re.M)


class PluginLine(NamedTuple):
    """A line that switches the costing on, in a file where it does not count."""

    file: str
    line: int


def files_left_out(ledger: Path, options: Mapping[str, Any]) -> list[str]:
    """Return the ledger files beside a ledger that it does not include.

    Args:
      ledger: Its main file.
      options: Its options, which name the files that it was read from.

    Returns:
      Their names as an include line has them, sorted.
    """
    included = _included(options)
    folder = ledger.resolve().parent
    return sorted(
        path.relative_to(folder).as_posix()
        for pattern in _PATTERNS
        for path in folder.glob(pattern)
        if path.resolve() not in included
        and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    )


def lost_plugin_line(ledger: Path, options: Mapping[str, Any]) -> PluginLine | None:
    """Return where the costing is switched on in an included file; None where nowhere.

    Args:
      ledger: The main file.
      options: Its options.
    """
    main = ledger.resolve()
    for path in sorted(_included(options) - {main}):
        for line in _plugin_lines(path):
            return PluginLine(_from(main.parent, path), line)
    return None


def is_costed(options: Mapping[str, Any]) -> bool:
    """Return whether the costing is switched on where it counts.

    Args:
      options: The ledger's options.
    """
    return any(name in (PLUGINS, f"{PLUGINS}.stock") for name, _ in options["plugin"])


def _included(options: Mapping[str, Any]) -> set[Path]:
    """Return the files that a ledger was read from."""
    return {Path(name).resolve() for name in options.get("include", ())}


def _plugin_lines(path: Path) -> Iterator[int]:
    """Yield the numbers of the lines of a file that switch the costing on."""
    try:
        text = path.read_text("utf-8", errors="replace")
    except OSError:
        return  # that it cannot be read is an error of the ledger
    for match in _PLUGIN.finditer(text):
        yield text.count("\n", 0, match.start()) + 1


def _from(folder: Path, path: Path) -> str:
    """Return a path as seen from a folder, where it is in it."""
    return path.relative_to(folder).as_posix() if path.is_relative_to(folder) else str(path)

"""Find the layout that a file has, by its header."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from offcut.importers.layout import Layout, read_layout, shipped_layouts
from offcut.importers.layout_schema import nearest
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.source_file import first_row

_NOT_BYTEWISE = (
    "expected text in the encoding of a layout, found a NUL: it may be utf-16, which "
    "spreadsheets call Unicode; save it as CSV in utf-8, or name its encoding in the "
    "[file] of a layout of its own"
)


def candidates(
    names: Sequence[str], own: Mapping[str, Layout]
) -> list[Mapping[str, Layout]]:
    """Return the layouts to try, in groups: a group is tried where none before it fits.

    Args:
      names: What the user chose, names or paths of TOML files; the layouts of the
        settings and then the shipped ones where nothing was chosen.
      own: The layouts of the user's settings, by name.

    Raises:
      ImportRefused: A name is not known, or a path is not a layout's.
    """
    shipped = shipped_layouts()
    if not names:
        return [own, shipped]
    known = {**shipped, **own}
    chosen = {}
    for name in names:
        if name in known:
            chosen[name] = known[name]
        elif name.endswith(".toml"):
            layout = read_layout(Path(name))
            chosen[layout.name] = layout
        else:
            message = (
                f"there is no such layout ({nearest(name, known)}); give a name or the "
            )
            message += "path of a TOML file"
            raise ImportRefused([Problem(f"--layout {name}", None, None, message)])
    return [chosen]


def choose_layout(
    name: str, contents: bytes, groups: Iterable[Mapping[str, Layout]]
) -> Layout:
    """Return the one layout whose columns a file has.

    A file without a header fits no layout by its columns: the layout for it has to be
    the only one chosen.

    Args:
      name: The file's name.
      contents: Its bytes.
      groups: The layouts to try.

    Raises:
      ImportRefused: No layout fits, or several do.
    """
    groups = [group for group in groups if group]
    nameless = [each for group in groups for each in group.values() if each.file.names]
    if len(groups) == 1 and len(groups[0]) == 1 and nameless:
        return nameless[0]
    missing: dict[str, list[str]] = {}
    for group in groups:
        fitting = []
        for layout in group.values():
            lacking = missing_columns(contents, layout)
            if not lacking and not layout.file.names:
                fitting.append(layout)
            missing[layout.name] = lacking
        if len(fitting) == 1:
            return fitting[0]
        if fitting:
            fits = " and ".join(layout.name for layout in fitting)
            message = f"several layouts fit this file, {fits}; choose one by --layout"
            raise ImportRefused([Problem(name, None, None, message)])
    raise ImportRefused([Problem(name, *_nothing_fits(contents, groups, missing))])


def check_together(files: Iterable[tuple[str, Layout]]) -> None:
    """Check that the layouts of a channel agree on where its open amounts stand.

    Args:
      files: The files of an import, each with its layout.

    Raises:
      ImportRefused: They do not: what one file books as owed, the other would not find.
    """
    first: dict[str, tuple[str, Layout]] = {}
    for name, layout in files:
        if layout.kind not in ("payments", "order-lines"):
            continue
        before, other = first.setdefault(layout.channel, (name, layout))
        for key in ("receivable", "suspense", "deposits"):
            one, here = getattr(other.accounts, key), getattr(layout.accounts, key)
            if one != here:
                message = (
                    f"expected {one} as {key}, as in {other.name}, the layout of {before} "
                    f"of the same channel {layout.channel}, found {here} in {layout.name}; "
                    "name the same account in the [accounts] of both"
                )
                raise ImportRefused([Problem(name, None, None, message)])


def fits(contents: bytes, layout: Layout) -> bool:
    """Return whether a file has the columns of a layout.

    For a file without a header: whether its first row has as many cells as the layout
    has names.
    """
    if layout.file.names:
        return len(first_row(contents, layout.file)) == len(layout.file.names)
    return not missing_columns(contents, layout)


def missing_columns(contents: bytes, layout: Layout) -> list[str]:
    """Return the headers that a layout needs and a file does not have."""
    header = layout.file.names or first_row(contents, layout.file)
    return [column for column in layout.headers if column not in header]


def _nothing_fits(
    contents: bytes,
    groups: Iterable[Mapping[str, Layout]],
    missing: Mapping[str, list[str]],
) -> tuple[int | None, str | None, str]:
    """Return row, column and message for a file that no layout fits."""
    layouts = [
        layout for group in groups for layout in group.values() if not layout.file.names
    ]
    if not layouts:
        return None, None, "a file without a header needs its layout; choose it by --layout"
    nearly = min(
        layouts, key=lambda layout: len(missing[layout.name]) / len(layout.headers)
    )
    lacking = missing[nearly.name]
    if len(lacking) == len(nearly.headers):
        if b"\0" in contents:
            return 1, None, _NOT_BYTEWISE
        found = ", ".join(cell for cell in first_row(contents, nearly.file) if cell)
        if not found:
            message = (
                "the heading row is blank; take the blank lines out, or have a layout with "
                "preamble in its [file], the lines before the heading"
            )
            return nearly.file.preamble + 1, None, message
        mark = next((mark for mark in ";\t|" if mark in found and "," not in found), "")
        parted = f" and check that it has delimiter = {mark!r} in [file]" if mark else ""
        return (
            1,
            None,
            f"no layout knows these columns: {found[:200]}; have a layout proposed by "
            f"`offcut layout FILE`{parted}, then import again",
        )
    return (
        nearly.file.preamble + 1,
        lacking[0] if len(lacking) == 1 else None,
        f"expected the columns of {nearly.name}, which is nearest, but there is no "
        f"{', no '.join(lacking)}; export the file again, or choose another by --layout",
    )

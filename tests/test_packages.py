"""What is installed: every folder of the code, as an editable install would have it."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
LAYERS = ("plugins", "importers", "reports")


def test_every_folder_is_installed() -> None:
    setup = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]
    folders = {
        path.parent.relative_to(ROOT).as_posix()
        for layer in LAYERS
        for path in (ROOT / layer).rglob("*")
        if path.suffix in (".py", ".toml", ".html", ".css", ".js")
        and "node_modules" not in path.parts
    }
    packages = {f"offcut.{folder.replace('/', '.')}": folder for folder in folders}
    assert set(setup["packages"]) == packages.keys()
    assert setup["package-dir"] == packages

"""Hold a page in Chromium against axe-core, whose file OFFCUT_AXE names."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

AXE = os.environ.get("OFFCUT_AXE", "")
needs_axe = pytest.mark.skipif(
    not AXE, reason="OFFCUT_AXE does not name the file of axe-core"
)


def violations(browser: Any, part: str = "") -> list[Any]:
    """Return what axe-core finds in a part of a page that is serious or critical.

    Args:
      browser: Chromium, at the page.
      part: A selector of the part; without one, the whole page.
    """
    browser.execute_cdp_cmd(
        "Runtime.evaluate", {"expression": Path(AXE).read_text(encoding="utf-8")}
    )
    browser.set_script_timeout(300)
    found = browser.execute_async_script(
        "const [part, done] = arguments;"
        "axe.run(part || document, {resultTypes: ['violations']}).then("
        " found => done(found.violations.map(one => [one.id, one.impact,"
        "  one.nodes.slice(0, 3).map(node => node.html)])),"
        " error => done(String(error)))",
        part,
    )
    assert isinstance(found, list), found
    return [one for one in found if one[1] in ("serious", "critical")]

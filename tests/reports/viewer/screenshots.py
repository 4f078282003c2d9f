"""Take the pictures of three pages, of the example ledger, for the documents.

    python tests/reports/viewer/screenshots.py [FOLDER]

They go into `example_ledger/screenshots` where no folder is named: PNG files of few
colours. Chromium and its driver must be there.
"""

from __future__ import annotations

import base64
import shutil
import sys
import tempfile
import threading
from io import BytesIO
from pathlib import Path
from typing import Any

from cheroot.wsgi import Server
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[3]))

from offcut.reports.viewer.server import LOOPBACK, address, viewer
from tests.reports.viewer.browsing import chromium, show

EXAMPLE = Path(__file__).parents[3] / "example_ledger"
PICTURES = {
    "designs": ("?report=design", "light", 760),
    "one-design": ("?report=design&name=Heron%20at%20Dusk", "dark", 760),
    "month-end": ("?report=close&time=2026-10", "light", 760),
}
WIDTH = 1280
COLOURS = 64


def main() -> None:
    """Write the pictures."""
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else EXAMPLE / "screenshots"
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        ledger = Path(folder, "ledger")
        # Its last month is there to be imported; it may have been here.
        left_out = shutil.ignore_patterns(".*", "*-2026-10.beancount")
        shutil.copytree(EXAMPLE, ledger, ignore=left_out)
        app = viewer(ledger / "main.beancount", can_edit=False)
        server = Server((LOOPBACK, 0), app)
        server.prepare()
        serving = threading.Thread(target=server.serve)
        serving.start()
        browser = chromium(Path(folder, "profile"))
        try:
            for name, (page, scheme, height) in PICTURES.items():
                show(browser, address(app, server.bind_addr[1]) + page, scheme, WIDTH)
                picture = taken(browser, height)
                picture.save(target / f"{name}.png", optimize=True)
        finally:
            browser.quit()
            server.stop()
            serving.join()


def taken(browser: Any, height: int) -> Image.Image:
    """Return a picture of what the browser shows, in few colours."""
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": WIDTH, "height": height, "deviceScaleFactor": 1, "mobile": False},
    )
    # The fonts are fava's own, and come after the page.
    browser.execute_async_script("document.fonts.ready.then(arguments[0])")
    shot = browser.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})
    with Image.open(BytesIO(base64.b64decode(shot["data"]))) as whole:
        return whole.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)


if __name__ == "__main__":
    main()

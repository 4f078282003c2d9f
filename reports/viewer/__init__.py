"""The reports as pages of fava: `custom "fava-extension" "offcut.reports.viewer"`.

fava makes an instance of each extension class that it finds here, so there is one.
"""

from __future__ import annotations

from fava.context import g
from fava.ext import FavaExtensionBase
from flask import request
from markupsafe import Markup

from offcut.reports.viewer import views
from offcut.reports.viewer.load import Load


class Offcut(FavaExtensionBase):
    """The page that shows one report at a time: `?report=shelf` says which."""

    report_title = "Offcut"

    def after_load_file(self) -> None:
        """Forget what was made of the ledger as it was, and add its errors to fava's."""
        self._load = Load(self.ledger)
        self.ledger.extensions.errors += self._load.errors

    def content(self) -> Markup:
        """Return what the request asks for; fava's template puts it into its page."""
        return self._load.page(views.asked(self.ledger, g, request.args))

"""The reports as pages of fava: `custom "fava-extension" "offcut.reports.viewer"`.

fava makes an instance of each extension class that it finds here, so there is one.
"""

from __future__ import annotations

from fava.context import g
from fava.ext import FavaExtensionBase, FavaExtensionError
from flask import request
from markupsafe import Markup

from offcut.reports.viewer import views
from offcut.reports.viewer.import_page import offer_imports
from offcut.reports.viewer.load import Load


class Offcut(FavaExtensionBase):
    """The page that shows one report at a time: `?report=shelf` says which."""

    report_title = "Offcut"

    def after_load_file(self) -> None:
        """Forget what was made of the ledger as it was; add errors, and ways to import."""
        self._load = Load(self.ledger)
        self.ledger.extensions.errors += self._load.errors
        try:
            self._load.prepare()
        except Exception as error:
            # fava and its editor must be there to find and mend what it is.
            message = f"offcut's reports cannot be made: {type(error).__name__}: {error}"
            failed = FavaExtensionError(None, message, None)
            self.ledger.extensions.errors.append(failed)
        offer_imports(self.ledger)

    def content(self) -> Markup:
        """Return what the request asks for; fava's template puts it into its page."""
        return self._load.page(views.asked(self.ledger, g, request.args))

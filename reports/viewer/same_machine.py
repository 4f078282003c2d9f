"""Refuse requests that a page from elsewhere makes a browser send to this machine.

A name that its owner lets point to 127.0.0.1 would make the ledger readable to that
owner's pages, and a form of theirs could send something to be saved. What the browser
says of both cannot be forged by a page: Host (RFC 9110, 7.2) and Origin (RFC 6454).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from werkzeug.sansio.utils import host_is_trusted
from werkzeug.wrappers import Response

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

OWN_NAMES = ("127.0.0.1", "localhost")
REFUSAL = "Refused: this ledger is shown to its own machine only, at http://{}/\n"


def own_machine_only(application: WSGIApplication) -> WSGIApplication:
    """Return an application that refuses what is not asked of this machine by itself.

    Args:
      application: The application to guard.
    """

    def guarded(environ: WSGIEnvironment, respond: StartResponse) -> Iterable[bytes]:
        if _is_own(environ):
            return application(environ, respond)
        text = REFUSAL.format(f"127.0.0.1:{environ.get('SERVER_PORT', '')}")
        return Response(text, status=403, mimetype="text/plain")(environ, respond)

    return guarded


def _is_own(environ: WSGIEnvironment) -> bool:
    """Tell whether a request names this machine, and comes from no other page."""
    host = environ.get("HTTP_HOST")
    if not host_is_trusted(host, OWN_NAMES):
        return False
    origin = environ.get("HTTP_ORIGIN")
    # Reading across pages is what browsers forbid; what saves, they may let through.
    return origin is None or urlsplit(origin).netloc == host

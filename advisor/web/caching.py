"""Entity tags, cache rules and security headers."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from threading import Lock

from flask import Flask, Response, request

from advisor.web.state import Site

REVALIDATE = "public, no-cache"
"""Any cache may keep a page, and asks before it shows it again."""
A_YEAR = 31_536_000
PAGES_KEPT = 256

SECURITY = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; img-src 'self' data:; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}


class Pages:
    """The pages shown last, by entity tag; a page is a function of its tag, so it never goes stale.

    Args:
        most: pages kept; an answer page has about 80 kB.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._pages: OrderedDict[str, tuple[bytes, str]] = OrderedDict()
        self._lock = Lock()

    def find(self, tag: str) -> Response | None:
        """Return the page with this tag, if it is still kept."""
        with self._lock:
            found = self._pages.get(tag)
            if found is None:
                return None
            self._pages.move_to_end(tag)
        return Response(found[0], content_type=found[1])

    def keep(self, tag: str, response: Response) -> None:
        """Keep a page, and let the one go that was not wanted for longest."""
        with self._lock:
            self._pages[tag] = (response.get_data(), response.content_type or "text/html")
            self._pages.move_to_end(tag)
            if len(self._pages) > self._most:
                self._pages.popitem(last=False)


def register(app: Flask, site: Site) -> None:
    """Answer known entity tags and pages kept before any work, and set the headers of every response."""
    app.config["SEND_FILE_MAX_AGE_DEFAULT"] = A_YEAR
    pages = Pages(app.config.get("PAGES_KEPT", PAGES_KEPT))

    def tag() -> str:
        # The host is part of it: pages print their own address.
        parts = (site.consultant.kb.digest, site.code, request.host_url, request.full_path)
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:32]

    @app.before_request
    def answer_known_tag() -> Response | None:
        if request.endpoint in (None, "static") or request.method not in ("GET", "HEAD"):
            return None
        # Only a page that was answered with 200 was ever given a tag, so a match needs no second look.
        if request.if_none_match.contains_weak(tag()):
            return Response(status=304)
        return pages.find(tag())

    @app.after_request
    def set_headers(response: Response) -> Response:
        for name, value in SECURITY.items():
            response.headers.setdefault(name, value)
        if request.endpoint == "static":
            return response
        if response.status_code in (200, 304):
            response.headers["Cache-Control"] = REVALIDATE
            response.set_etag(tag())
            if request.method == "GET" and response.status_code == 200 and not response.is_streamed:
                pages.keep(tag(), response)
        else:
            response.headers.setdefault("Cache-Control", "no-store" if response.status_code >= 400 else REVALIDATE)
        return response

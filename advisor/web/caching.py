"""Entity tags, cache rules and security headers."""

from __future__ import annotations

import hashlib

from flask import Flask, Response, request

from advisor.web.state import Site

REVALIDATE = "public, no-cache"
"""Any cache may keep a page, and asks before it shows it again."""
A_YEAR = 31_536_000

SECURITY = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; img-src 'self' data:; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}


def register(app: Flask, site: Site) -> None:
    """Answer a known entity tag with 304 before any work, and set the headers of every response."""
    app.config["SEND_FILE_MAX_AGE_DEFAULT"] = A_YEAR

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
        return None

    @app.after_request
    def set_headers(response: Response) -> Response:
        for name, value in SECURITY.items():
            response.headers.setdefault(name, value)
        if request.endpoint == "static":
            return response
        if response.status_code in (200, 304):
            response.headers["Cache-Control"] = REVALIDATE
            response.set_etag(tag())
        else:
            response.headers.setdefault(
                "Cache-Control", "no-store" if response.status_code >= 400 else REVALIDATE
            )
        return response

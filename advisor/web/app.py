"""The application factory.

No session, no cookie and no secret: every page is a function of its address, the knowledge base and
the code, which is also what makes it cacheable.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Flask

from advisor.consult import Consultant
from advisor.knowledge.load import shipped_folder
from advisor.web import (
    advice_views,
    caching,
    catalogue_views,
    compare_views,
    error_pages,
    showing,
    why_not_views,
)
from advisor.web.state import Site

LARGEST_BODY = 64 * 1024
"""Bytes of a request body that are read; no page takes any."""


def create_app(consultant: Consultant | None = None, config: Mapping[str, Any] | None = None) -> Flask:
    """Return the WSGI application.

    Args:
        consultant: knowledge to answer from; the shipped one by default.
        config: Flask settings that replace the defaults.

    Raises:
        ErrorList: the knowledge files cannot be used.
    """
    app = Flask("advisor.web", static_folder="static", template_folder=str(shipped_folder("templates")))
    app.config.update(MAX_CONTENT_LENGTH=LARGEST_BODY, MAX_FORM_MEMORY_SIZE=LARGEST_BODY)
    app.config.update(config or {})
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    site = Site.of(consultant or Consultant.open())
    app.extensions["whetrule"] = site
    showing.register(app, site)
    app.register_blueprint(_advice_pages())
    app.register_blueprint(catalogue_views.pages)
    caching.register(app, site)
    error_pages.register(app)
    return app


def _advice_pages() -> Blueprint:
    pages = Blueprint("advice", __name__)
    for address, endpoint, view in (*advice_views.RULES, *compare_views.RULES, *why_not_views.RULES):
        pages.add_url_rule(address, endpoint, view)
    return pages

"""The web form: pages and their JSON twins, all from GET requests, without state."""

from advisor.web.app import create_app

__all__ = ["create_app"]

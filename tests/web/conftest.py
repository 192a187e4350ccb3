"""One application for all web tests, and a reader for its pages."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from bs4 import BeautifulSoup
from flask import Flask
from flask.testing import FlaskClient

from advisor.consult import Consultant
from advisor.web import create_app

QUESTION = "grade=440C&hardness=58&use=everyday-carry"

PAGE_TYPES = {
    "ask form": "/",
    "ask form, filled": f"/?{QUESTION}",
    "form with errors": "/ask?angel=3&chip_depth=x&grade=44OC&hardness=80&use=flying",
    "answer": f"/ask?{QUESTION}",
    "answer, geometry known": f"/ask?edge_thickness=0.4&{QUESTION.replace('&use', '&present_angle=24&use')}",
    "answer, nothing known": "/ask",
    "bench card": f"/card?{QUESTION}",
    "check form": "/check",
    "check": f"/check?angle=22&finish=1+um&{QUESTION}&strop_passes=40",
    "diagnose form": "/diagnose",
    "diagnose": f"/diagnose?{QUESTION}&symptom=slick-but-shaves,lost-bite-after-strop",
    "diagnose, errors": "/diagnose?symptom=sad",
    "why not": f"/why-not?{QUESTION}&want=finish+1+um",
    "why not, errors": "/why-not?grade=440C&want=mirror",
    "compare form": "/compare",
    "compare": "/compare?grades=440C@58%0AD2&use=everyday-carry",
    "rules": "/rules?q=carbide",
    "rules, none found": "/rules?q=zzzz",
    "steels": "/grades?q=440",
    "sources": "/sources",
    "about": "/about",
    "not found": "/nowhere",
}
"""One address of every kind of page."""


@pytest.fixture(scope="session")
def consultant() -> Consultant:
    return Consultant.open()


@pytest.fixture(scope="session")
def app(consultant: Consultant) -> Flask:
    return create_app(consultant)


@pytest.fixture()
def client(app: Flask) -> FlaskClient:
    # Cold: no cookie of an earlier page, and none kept.
    return app.test_client(use_cookies=False)


@pytest.fixture()
def page(client: FlaskClient) -> Callable[..., Any]:
    """Return a page as parsed HTML; follows the redirect to the canonical address."""

    def read(address: str, status: int = 200) -> BeautifulSoup:
        response = client.get(address, follow_redirects=True)
        assert response.status_code == status, address
        return BeautifulSoup(response.get_data(as_text=True), "html.parser")

    return read


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run a test that asks for ``page_address`` once for every kind of page."""
    if "page_address" in metafunc.fixturenames:
        metafunc.parametrize("page_address", PAGE_TYPES.values(), ids=PAGE_TYPES)

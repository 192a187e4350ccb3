"""Shared fixtures: the shipped knowledge base, loaded once a run."""

from __future__ import annotations

import os
import tempfile

import pytest

# Tests keep their compiled copies apart from the user's.
os.environ.setdefault("WHETRULE_CACHE", tempfile.mkdtemp(prefix="whetrule-test-cache-"))

from advisor.consult import Consultant
from advisor.knowledge.model import KnowledgeBase


@pytest.fixture(scope="session")
def consultant() -> Consultant:
    """The shipped rules, ready to answer."""
    return Consultant.open()


@pytest.fixture(scope="session")
def kb(consultant: Consultant) -> KnowledgeBase:
    """The shipped knowledge base."""
    return consultant.kb

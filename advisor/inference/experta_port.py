"""The one place where experta is imported, with the two cures it needs.

experta 1.9.4 depends on frozendict 1.2, which asks for ``collections.Mapping``, gone since Python 3.10;
and both ``experta.engine`` and ``experta.watchers`` call ``logging.basicConfig()`` on import, which would
change the logging of whatever program uses Whetrule.  Both are held off while the import runs.
"""

from __future__ import annotations

import collections
import collections.abc
import logging
from typing import Any

_had_mapping = hasattr(collections, "Mapping")
_basic_config = logging.basicConfig


def _leave_logging_alone(**_: Any) -> None:
    return None


if not _had_mapping:
    collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
logging.basicConfig = _leave_logging_alone
try:
    from experta import AND, OR, Fact, KnowledgeEngine, P, Rule
    from experta.abstract import Matcher, Strategy
    from experta.activation import Activation
    from experta.agenda import Agenda
    from experta.factlist import FactList
    from experta.matchers import ReteMatcher
    from experta.strategies import DepthStrategy
finally:
    logging.basicConfig = _basic_config
    if not _had_mapping:
        del collections.Mapping  # type: ignore[attr-defined]

__all__ = [
    "AND",
    "OR",
    "Activation",
    "Agenda",
    "DepthStrategy",
    "Fact",
    "FactList",
    "KnowledgeEngine",
    "Matcher",
    "P",
    "ReteMatcher",
    "Rule",
    "Strategy",
]

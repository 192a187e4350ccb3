"""Importing experta leaves the program around it as it was."""

from __future__ import annotations

import subprocess
import sys


def run(code: str) -> None:
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_logging_and_collections_are_left_alone() -> None:
    """experta 1.9.4 calls logging.basicConfig() on import; frozendict 1.2 wants collections.Mapping."""
    run(
        "import logging, collections; before = logging.basicConfig; had = hasattr(collections, 'Mapping');"
        "import advisor.inference.experta_port;"
        "assert not logging.getLogger().handlers, logging.getLogger().handlers;"
        "assert logging.basicConfig is before;"
        "assert hasattr(collections, 'Mapping') is had"
    )


def test_the_programs_own_logging_configuration_still_works() -> None:
    run(
        "import advisor.consult, logging; logging.basicConfig(level=logging.WARNING);"
        "assert len(logging.getLogger().handlers) == 1"
    )


def test_the_core_leaves_flask_and_click_out() -> None:
    run(
        "import sys, advisor, advisor.consult, advisor.inference.engine;"
        "found = {'flask', 'click', 'wtforms', 'waitress', 'jinja2'} & set(sys.modules);"
        "assert not found, found"
    )


def test_sessions_do_not_share_what_they_find() -> None:
    """Two sessions on one rule set, run in turns."""
    run(
        "from advisor.consult import Consultant; from advisor.inference.engine import Session;"
        "c = Consultant.open(); plan = c.reasoner.plan;"
        "a, b = Session(c.reasoner.rule_set), Session(c.reasoner.rule_set);"
        "values = [{'use': 'shaving'}, {'use': 'chopping', 'hardness': 58.0}];\n"
        "for level in plan:\n"
        "    a.settle(level.makers, values[0]); b.settle(level.makers, values[1])\n"
        "a.run(); b.run();\n"
        "alone = Session(c.reasoner.rule_set)\n"
        "for level in plan: alone.settle(level.makers, values[0])\n"
        "alone.run()\n"
        "ids = [[r.rule.id for r in s.fired] for s in (a, alone, b)]\n"
        "assert ids[0] == ids[1] != ids[2]"
    )

"""Write a new rule with its two cases, ready to be filled in."""

from __future__ import annotations

import json
import re
from pathlib import Path

from advisor.errors import ErrorList, InputError
from advisor.knowledge.model import KnowledgeBase
from advisor.knowledge.reader import NOT_TOPICS
from advisor.knowledge.words import did_you_mean

VERBS = ("conclude", "assume", "favour", "limit", "shift", "advise", "suspect")
_ID = re.compile(r"[a-z0-9][a-z0-9-]*")


def new_rule(kb: KnowledgeBase, name: str, topic: str, verb: str) -> list[Path]:
    """Write a draft rule and its two cases; return the files.

    Args:
        kb: the knowledge base of the folder to write into.
        name: id of the rule, lower-case words joined by hyphens.
        topic: folder of rules/ it goes into.
        verb: what it does, one of VERBS.

    Raises:
        ErrorList: of InputError, an id, topic or verb that cannot be used.
    """
    folder = Path(kb.folder)
    paths = [folder / topic / f"{name}.yaml", folder / "cases" / f"{name}.yaml"]
    errors = [*_wrong_name(kb, name), *_wrong_topic(folder, topic)]
    if verb not in VERBS:
        errors.append(InputError(f"there is no verb '{verb}'", field="verb", hint=did_you_mean(verb, VERBS)))
    errors += [InputError(f"{p} exists already", field="id", hint="choose another id") for p in paths if p.exists()]
    if errors:
        raise ErrorList(errors)
    for path, text in zip(paths, (_rule(kb, name, verb), _cases(kb, name)), strict=True):
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return paths


def _wrong_name(kb: KnowledgeBase, name: str) -> list[InputError]:
    if not _ID.fullmatch(name):
        return [InputError(f"'{name[:60]}' cannot be an id", field="id", hint="use lower-case words joined by hyphens")]
    if name in kb.rules_by_id:
        return [InputError(f"rule '{name}' exists", field="id", hint=f"see {kb.rules_by_id[name].place}")]
    if name in kb.retired:
        return [InputError(f"id '{name}' was retired ({kb.retired[name]})", field="id", hint="choose a new one")]
    taken = [f"{name}-{kind}" for kind in ("fires", "quiet") if f"{name}-{kind}" in kb.cases]
    return [InputError(f"case '{t}' exists", field="id", hint="choose another id") for t in taken]


def _wrong_topic(folder: Path, topic: str) -> list[InputError]:
    if _ID.fullmatch(topic) and topic not in NOT_TOPICS:
        return []
    topics = sorted(p.name for p in folder.iterdir() if p.is_dir() and p.name not in NOT_TOPICS)
    return [
        InputError(
            f"'{topic[:60]}' cannot be a topic",
            field="topic",
            hint=did_you_mean(topic, topics, list_up_to=30),
        )
    ]


def _rule(kb: KnowledgeBase, name: str, verb: str) -> str:
    use = kb.attributes["use"].words[0]
    return f"""# yaml-language-server: $schema=../schemas/rules.schema.json
- id: {name}
  title: "TODO: the rule in one line"
  status: draft              # TODO: accepted or contested, once it may count
  when:                      # TODO: the conditions; all must hold
    use: {{equals: {use}}}
  then:                      # TODO: what follows
    {verb}: {_conclusion(kb, verb)}
  because: "TODO: why, for a viewer, in one to three sentences"
  does_not_apply_when: "TODO: where this rule is wrong"
  basis: memory              # TODO: published (then name sources), common-practice or memory
  cases: {{fires: [{name}-fires], quiet: [{name}-quiet]}}
"""


def _conclusion(kb: KnowledgeBase, verb: str) -> str:
    target = next(t for t in kb.targets.values() if t.scale == "linear")
    low, high = (f"{end:g}" for end in target.range)
    strength = next(iter(kb.strengths))
    first = next(a for a in kb.attributes.values() if a.origin == "concluded")
    asked = next(a for a in kb.asked if a.type == "choice" and a.name != "use")
    return {
        "conclude": f"{{{first.name}: {first.words[0]}}}",
        "assume": f"{{{asked.name}: {asked.words[0]}}}",
        "favour": f"{{{target.name}: {{from: {low}, to: {high}}}, strength: {strength}}}",
        "limit": f"{{{target.name}: {{no_lower_than: {low}}}}}",
        "shift": f"{{{target.name}: {{by: 1}}}}",
        "advise": f'{{topic: {next(iter(kb.topics))}, text: "TODO: what to do"}}',
        "suspect": f"{{cause: {next(iter(kb.causes), 'TODO')}, strength: {strength}}}",
    }[verb]


def _cases(kb: KnowledgeBase, name: str) -> str:
    first, other = kb.attributes["use"].words[:2]
    grade = next((g.name for g in kb.grades.values() if g.hardness_low is not None), next(iter(kb.grades)))
    text = "# yaml-language-server: $schema=../schemas/cases.schema.json\n"
    for kind, use, told in (("fires", first, "fires"), ("quiet", other, "stays quiet")):
        text += f"""- id: {name}-{kind}
  title: "TODO: a real question in which the rule {told}"
  mode: ask
  inputs: {{grade: {json.dumps(grade, ensure_ascii=False)}, use: {use}}}   # TODO
  expect:                    # TODO: what an expert would insist on
    values.use.motion: {{absent: false}}
  basis: memory              # TODO
"""
    return text

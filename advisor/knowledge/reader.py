"""Read and cross-check the files of one rules/ folder; everything wrong is reported at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from advisor.errors import ErrorList, KnowledgeError, WhetruleError
from advisor.knowledge import build
from advisor.knowledge.build_rules import RuleBuilder
from advisor.knowledge.marked_yaml import Marked, read_json, read_yaml, yaml_files
from advisor.knowledge.model import Case, Grade, KnowledgeBase, Source
from advisor.knowledge.rule import Rule
from advisor.knowledge.schema import schema_errors
from advisor.knowledge.words import did_you_mean

COMPUTATION_FOLDERS = ("abrasives", "metallurgy", "planning", "kits")
"""Folders of rules/ whose data the computations read as it stands."""
NOT_TOPICS = (*COMPUTATION_FOLDERS, "grades", "sources", "cases", "schemas", "trials")


class Reader:
    """Reads one folder; collects errors over all files."""

    def __init__(self, folder: Path, digest: str) -> None:
        self.folder, self.digest = folder, digest
        self.errors: list[KnowledgeError] = []

    def read(self) -> KnowledgeBase:
        vocabulary = self._file("vocabulary.yaml", "vocabulary")
        if vocabulary is None:
            raise ErrorList(self.errors)
        v = vocabulary.data
        attributes = build.attributes(vocabulary, self.errors)
        strengths = {s["name"]: float(s["weight"]) for s in v["strengths"]}
        topics = {t["name"]: t["label"] for t in v["topics"]}
        verdicts = {x["name"]: {k: x[k] for k in ("label", "good", "text")} for x in v["verdicts"]}
        targets = build.targets(vocabulary, verdicts, self.errors)
        sources: dict[str, Source] = {}
        for marked in self._files("sources", "sources"):
            build.sources(marked, sources, self.errors)
        grades: dict[str, Grade] = {}
        for marked in self._files("grades", "grades"):
            build.grades(marked, grades, self.errors)
        cases: dict[str, Case] = {}
        for marked in self._files("cases", "cases"):
            build.cases(marked, cases, self.errors)
        uses_file = self._file("uses.yaml", "uses")
        uses = build.uses(uses_file, attributes["use"].words, self.errors) if uses_file else {}
        causes_file = self._file("causes.yaml", "causes")
        causes, tests = build.causes(causes_file, self.errors) if causes_file else ({}, {})
        retired_file = self._file("retired.yaml", "retired")
        retired = {r["id"]: f"{r['was']}: {r['why']}" for r in (retired_file.data or [])} if retired_file else {}
        rules = self._rules(attributes, targets, strengths, topics, verdicts)
        kb = KnowledgeBase(
            version=v["version"],
            digest=self.digest,
            folder=str(self.folder),
            attributes=attributes,
            targets=targets,
            strengths=strengths,
            topics=topics,
            verdicts=verdicts,
            uses=uses,
            grades=grades,
            rules=rules,
            sources=sources,
            causes=causes,
            bench_tests=tests,
            cases=cases,
            retired=retired,
            name_words={side: tuple(words) for side, words in v["grade_names"].items()},
            data=self._data(),
        )
        self._cross_check(kb)
        if self.errors:
            raise ErrorList(self.errors)
        return kb

    def _parse(self, path: Path) -> Marked | None:
        try:
            return (read_json if path.suffix == ".json" else read_yaml)(path, self._shown(path))
        except ErrorList as exc:
            self.errors.extend(e for e in exc.errors if isinstance(e, KnowledgeError))
        except WhetruleError as exc:
            assert isinstance(exc, KnowledgeError)
            self.errors.append(exc)
        return None

    def _shown(self, path: Path) -> str:
        return f"{self.folder.name}/{path.relative_to(self.folder).as_posix()}"

    def _checked(self, path: Path, kind: str) -> Marked | None:

        marked = self._parse(path)
        if marked is None:
            return None
        found = schema_errors(marked, kind, self.folder / "schemas")
        self.errors.extend(found)
        return None if found else marked

    def _file(self, name: str, kind: str) -> Marked | None:
        path = self.folder / name
        if not path.is_file():
            self.errors.append(KnowledgeError("is missing", path=self._shown(path)))
            return None
        return self._checked(path, kind)

    def _files(self, subfolder: str, kind: str) -> list[Marked]:
        marked = [self._checked(path, kind) for path in yaml_files(self.folder / subfolder)]
        return [m for m in marked if m is not None]

    def _rules(self, *vocabulary: Any) -> tuple[Rule, ...]:

        rules: list[Rule] = []
        topics = sorted(p for p in self.folder.iterdir() if p.is_dir() and p.name not in NOT_TOPICS)
        for topic in topics:
            for path in yaml_files(topic):
                marked = self._checked(path, "rules")
                if marked is not None:
                    builder = RuleBuilder(marked, topic.name, *vocabulary)
                    rules.extend(builder.build())
                    self.errors.extend(builder.errors)
        return tuple(sorted(rules, key=lambda r: r.id))

    def _data(self) -> dict[str, Any]:
        data: dict[str, Any] = {}
        for name in COMPUTATION_FOLDERS:
            for path in (*yaml_files(self.folder / name), *sorted((self.folder / name).glob("*.json"))):
                marked = self._checked(path, "kit" if name == "kits" else _data_kind(name, path))
                if marked is not None:
                    data[path.relative_to(self.folder).as_posix()] = marked.data
        return data

    # ---- references between files ----------------------------------------------------------------

    def _cross_check(self, kb: KnowledgeBase) -> None:
        seen: dict[str, Rule] = {}
        for rule in kb.rules:
            if rule.id in seen:
                self._at(rule, f"rule '{rule.id}' is defined twice", f"the other is at {seen[rule.id].place}")
            seen[rule.id] = rule
            if rule.id in kb.retired:
                self._at(rule, f"id '{rule.id}' was retired ({kb.retired[rule.id]})", "choose a new id")
            for source in rule.sources:
                if source not in kb.sources:
                    self._at(
                        rule,
                        f"rule '{rule.id}' names the unknown source '{source}'",
                        did_you_mean(source, kb.sources) or "add it to rules/sources",
                    )
            for case in (*rule.fires_in, *rule.quiet_in):
                if case not in kb.cases:
                    self._at(
                        rule,
                        f"rule '{rule.id}' names the unknown case '{case}'",
                        did_you_mean(case, kb.cases) or "add it to rules/cases",
                    )
            if rule.then.verb == "suspect" and rule.then.subject not in kb.causes:
                self._at(
                    rule,
                    f"rule '{rule.id}' suspects the unknown cause '{rule.then.subject}'",
                    did_you_mean(rule.then.subject, kb.causes) or "add it to rules/causes.yaml",
                )
        for grade in kb.grades.values():
            for source in grade.sources:
                if source not in kb.sources:
                    self.errors.append(
                        KnowledgeError(
                            f"grade '{grade.id}' names the unknown source '{source}'",
                            path=grade.place.path,
                            line=grade.place.line,
                            hint=did_you_mean(source, kb.sources) or "add it to rules/sources",
                        )
                    )

    def _at(self, rule: Rule, message: str, hint: str) -> None:
        place = rule.place
        self.errors.append(KnowledgeError(message, hint=hint, path=place.path, line=place.line, column=place.column))


def _data_kind(folder: str, path: Path) -> str:
    """Return the schema's name of a file of data; one in JSON must not share that of its YAML neighbour."""
    return f"{folder}-{path.stem}" + ("_json" if path.suffix == ".json" else "")

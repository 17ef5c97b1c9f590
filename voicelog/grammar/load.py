"""Loads a grammar with all it imports and checks that every rule named exists."""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from voicelog.grammar.jsgf import GrammarError, GrammarFile, read_jsgf
from voicelog.grammar.tree import Branch, Choice, Expansion, Ref, Repeat, Rule, Sequence, Tagged

if TYPE_CHECKING:
    from voicelog.grammar.network import Network

SUFFIXES = (".jsgf", ".gram")
"""Endings that a file of an imported grammar may have; imported files stand beside the importing one."""


@dataclass(frozen=True)
class Grammar:
    """A grammar with its imports resolved.  Rules go by qualified names, `grammar.rule`."""

    name: str
    rules: dict[str, Rule]
    public: tuple[str, ...]
    """Qualified names of the public rules of the file that was asked for."""
    files: tuple[Path, ...]
    sha256: str
    """Over the texts of all files used, in order of their names."""

    def network(self, rule: str | None = None) -> Network:
        """The word network of one rule, or of all public rules as alternatives.

        Raises:
            GrammarError: no such rule, or recursion that no finite network can hold.
        """
        from voicelog.grammar.network import build_network

        if rule is None:
            return build_network(self, self.public)
        found = rule if rule in self.rules else f"{self.name}.{rule}"
        if found not in self.rules:
            found = next((name for name in self.rules if name.rpartition(".")[2] == rule), "")
        if not found:
            raise GrammarError(f"there is no rule <{rule}>", where=str(self.files[0]))
        return build_network(self, (found,))


def load_grammar(path: Path | str) -> Grammar:
    """Load a JSGF file and the files it imports.

    Raises:
        GrammarError: a file cannot be read or parsed, or names rules that do not exist; all of
            those are named together.
    """
    start = read_jsgf(Path(path))
    files = {start.name: start}
    _read_imports(start, files)
    rules: dict[str, Rule] = {}
    problems: list[str] = []
    for file in files.values():
        for rule in file.rules:
            part = _qualified(rule.part, file, files, problems)
            rules[f"{file.name}.{rule.name}"] = replace(rule, part=part)
    if problems:
        raise GrammarError("; ".join(dict.fromkeys(problems)))
    public = tuple(f"{start.name}.{rule.name}" for rule in start.rules if rule.public)
    if not public:
        raise GrammarError(
            "no public rule", where=str(path), todo='write "public" before the rule that is said'
        )
    digest = hashlib.sha256()
    for name in sorted(files):
        digest.update(files[name].text.encode())
    return Grammar(start.name, rules, public, tuple(file.path for file in files.values()), digest.hexdigest())


def _read_imports(file: GrammarFile, files: dict[str, GrammarFile]) -> None:
    for wanted in file.imports:
        grammar = wanted.rule.rpartition(".")[0]
        if grammar in files:
            continue
        short = grammar.rpartition(".")[2]
        tried = [
            file.path.with_name(name + end) for name in dict.fromkeys((grammar, short)) for end in SUFFIXES
        ]
        found = next((path for path in tried if path.is_file()), None)
        if found is None:
            raise GrammarError(
                f"the imported grammar {grammar} is not there",
                where=f"{file.path}:{wanted.line}:{wanted.column}",
                todo=f"put {tried[0].name} beside it",
            )
        files[grammar] = replace(read_jsgf(found), name=grammar)
        _read_imports(files[grammar], files)


def _names(file: GrammarFile, files: dict[str, GrammarFile]) -> dict[str, str]:
    """What a file may call a rule -> the rule's qualified name."""
    names: dict[str, str] = {}
    for wanted in file.imports:
        grammar, _, rule = wanted.rule.rpartition(".")
        public = [item.name for item in files[grammar].rules if item.public]
        for name in public if rule == "*" else [item for item in public if item == rule]:
            full = f"{grammar}.{name}"
            names |= {full: full, f"{grammar.rpartition('.')[2]}.{name}": full}
            names.setdefault(name, full)
    for own in file.rules:
        names[own.name] = names[f"{file.name}.{own.name}"] = f"{file.name}.{own.name}"
    return names


def _qualified(
    part: Expansion, file: GrammarFile, files: dict[str, GrammarFile], problems: list[str]
) -> Expansion:
    names = _names(file, files)

    def walk(part: Expansion) -> Expansion:
        match part:
            case Ref(rule, line, column):
                if rule not in names:
                    near = difflib.get_close_matches(rule, names, 1)
                    hint = f", did you mean <{near[0]}>" if near else ""
                    problems.append(f"{file.path}:{line}:{column}: there is no rule <{rule}>{hint}")
                return Ref(names.get(rule, rule), line, column)
            case Sequence(parts):
                return Sequence(tuple(walk(item) for item in parts))
            case Choice(branches):
                return Choice(tuple(Branch(b.weight, walk(b.part), b.label) for b in branches))
            case Repeat(inner, least, most):
                return Repeat(walk(inner), least, most)
            case Tagged(inner, tags):
                return Tagged(walk(inner), tags)
            case _:
                return part

    for wanted in file.imports:
        grammar, _, rule = wanted.rule.rpartition(".")
        public = {item.name for item in files[grammar].rules if item.public}
        if rule != "*" and rule not in public:
            near = difflib.get_close_matches(rule, public, 1)
            hint = f", did you mean <{grammar}.{near[0]}>" if near else ""
            problems.append(
                f"{file.path}:{wanted.line}:{wanted.column}: {grammar} has no public rule <{rule}>{hint}"
            )
    return walk(part)


def references(part: Expansion) -> Iterator[Ref]:
    """Every reference below a part."""
    match part:
        case Ref():
            yield part
        case Sequence(parts):
            for item in parts:
                yield from references(item)
        case Choice(branches):
            for branch in branches:
                yield from references(branch.part)
        case Repeat(inner) | Tagged(inner):
            yield from references(inner)
        case _:
            return

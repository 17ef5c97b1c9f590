"""Loads a grammar with all it imports and checks that every rule named exists."""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from voicelog.grammar.errors import GrammarError, too_deep
from voicelog.grammar.jsgf import GrammarFile, read_jsgf
from voicelog.grammar.own_words import OwnWords, add_own_words, phrases_of
from voicelog.grammar.tree import Branch, Choice, Expansion, Ref, Repeat, Rule, Sequence, Tagged

SUFFIXES = (".jsgf", ".gram")
"""Endings that a file of an imported grammar may have; imported files stand beside the importing one."""


@dataclass(frozen=True)
class Rules:
    """The rules of a grammar with its imports resolved, by qualified names, `grammar.rule`."""

    name: str
    rules: dict[str, Rule]
    public: tuple[str, ...]
    """Qualified names of the public rules of the file that was asked for."""
    files: tuple[Path, ...]
    sha256: str
    """Over the texts of all files used, in order of their names, and the user's own words."""
    own: OwnWords = ()
    """The user's own words that are in the rules."""
    left_out: tuple[str, ...] = ()
    """Phrases of theirs that mean something else already."""


def load_rules(path: Path | str, own: OwnWords = ()) -> Rules:
    """Load a JSGF file and the files it imports, with a user's own words where their values stand.

    Raises:
        GrammarError: a file cannot be read or parsed, a rule is defined twice or can never end, or
            rules are named that do not exist; all of those are told together.
    """
    try:
        return _with_own(_load(Path(path)), own)
    except RecursionError:
        raise too_deep(path) from None


def _with_own(found: Rules, own: OwnWords) -> Rules:
    if not own:
        return found
    known = phrases_of(found.rules)
    fitting = tuple(word for word in own if word.phrase not in known)
    return replace(
        found,
        rules=add_own_words(found.rules, fitting),
        sha256=hashlib.sha256(f"{found.sha256} {fitting}".encode()).hexdigest(),
        own=fitting,
        left_out=tuple(dict.fromkeys(word.phrase for word in own if word.phrase in known)),
    )


def _load(path: Path) -> Rules:
    start = read_jsgf(path)
    files = {start.name: start}
    _read_imports(start, files)
    rules: dict[str, Rule] = {}
    problems: list[str] = []
    for file in files.values():
        names = _names(file, files, problems)
        for rule in file.rules:
            full = f"{file.name}.{rule.name}"
            if full in rules:
                first = rules[full].line
                problems.append(f"{file.path}:{rule.line}: <{rule.name}> is defined in line {first} already")
                continue
            rules[full] = replace(rule, part=_qualified(rule.part, file, names, problems))
    if problems:
        raise GrammarError("; ".join(dict.fromkeys(problems)))
    _check_ends(rules)
    public = tuple(f"{start.name}.{rule.name}" for rule in start.rules if rule.public)
    if not public:
        raise GrammarError(
            "no public rule", where=str(path), todo='write "public" before the rule that is said'
        )
    digest = hashlib.sha256()
    for name in sorted(files):
        digest.update(files[name].text.encode())
    return Rules(start.name, rules, public, tuple(file.path for file in files.values()), digest.hexdigest())


def _read_imports(file: GrammarFile, files: dict[str, GrammarFile]) -> None:
    """Read what a file imports, and what it names in full without an import (which JSGF allows)."""
    imported = {wanted.rule.rpartition(".")[0] for wanted in file.imports}
    known = {file.name, *imported, *(name.rpartition(".")[2] for name in (file.name, *imported))}
    in_full = (ref for rule in file.rules for ref in references(rule.part) if "." in ref.rule)
    for wanted in [*file.imports, *(ref for ref in in_full if ref.rule.rpartition(".")[0] not in known)]:
        grammar = wanted.rule.rpartition(".")[0]
        if grammar in files:
            continue
        where = f"{file.path}:{wanted.line}:{wanted.column}"
        short = grammar.rpartition(".")[2]
        tried = [
            file.path.with_name(name + end) for name in dict.fromkeys((grammar, short)) for end in SUFFIXES
        ]
        found = next((path for path in tried if path.is_file()), None)
        if found is None:
            raise GrammarError(
                f"the imported grammar {grammar} is not there",
                where=where,
                todo=f"put {tried[0].name} beside it",
            )
        read = read_jsgf(found)
        if read.name.rpartition(".")[2] != short:
            raise GrammarError(f"{found.name} holds the grammar {read.name}, not {grammar}", where=where)
        files[grammar] = replace(read, name=grammar)
        _read_imports(files[grammar], files)


def _names(file: GrammarFile, files: dict[str, GrammarFile], problems: list[str]) -> dict[str, str]:
    """What a file may call a rule -> the rule's qualified name, "" where two imports share the name."""
    names: dict[str, str] = {}
    for wanted in file.imports:
        grammar, _, rule = wanted.rule.rpartition(".")
        public = [item.name for item in files[grammar].rules if item.public]
        if rule != "*" and rule not in public:
            where = f"{file.path}:{wanted.line}:{wanted.column}"
            problems.append(f"{where}: {grammar} has no public rule <{rule}>{_near(rule, public)}")
        for name in public if rule == "*" else [item for item in public if item == rule]:
            full = f"{grammar}.{name}"
            for called in (name, f"{grammar.rpartition('.')[2]}.{name}"):
                names[called] = full if names.get(called, full) == full else ""
    for grammar, other in files.items():
        names |= {f"{grammar}.{rule.name}": f"{grammar}.{rule.name}" for rule in other.rules if rule.public}
    short = file.name.rpartition(".")[2]
    for own in file.rules:
        full = f"{file.name}.{own.name}"
        names |= dict.fromkeys((own.name, f"{short}.{own.name}", full), full)
    return names


def _near(rule: str, names: Iterable[str]) -> str:
    near = difflib.get_close_matches(rule, names, 1)
    return f", did you mean <{near[0]}>" if near else ""


def _qualified(part: Expansion, file: GrammarFile, names: dict[str, str], problems: list[str]) -> Expansion:
    """The part with every reference by its qualified name; what cannot be found goes to `problems`."""

    def walk(part: Expansion) -> Expansion:
        match part:
            case Ref(rule, line, column):
                if not names.get(rule):
                    what = (
                        f"<{rule}> is imported from two grammars, write which"
                        if rule in names
                        else f"there is no rule <{rule}>{_near(rule, names)}"
                    )
                    problems.append(f"{file.path}:{line}:{column}: {what}")
                return Ref(names.get(rule) or rule, line, column)
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

    return walk(part)


def _check_ends(rules: dict[str, Rule]) -> None:
    """Refuse rules that refer to themselves on every way, so that no sentence of theirs ends."""
    ending: set[str] = set()

    def ends(part: Expansion) -> bool:
        match part:
            case Ref(rule):
                return rule in ending
            case Sequence(parts):
                return all(ends(item) for item in parts)
            case Choice(branches):
                return any(ends(branch.part) for branch in branches)
            case Repeat(inner, least):
                return not least or ends(inner)
            case Tagged(inner):
                return ends(inner)
            case _:
                return True

    waiting = dict(rules)
    while found := [name for name, rule in waiting.items() if ends(rule.part)]:
        ending.update(found)
        for name in found:
            del waiting[name]
    for rule in waiting.values():
        raise GrammarError(
            f"<{rule.name}> never ends: every way through it comes back to itself",
            where=f"{rule.file}:{rule.line}",
            todo="add an alternative that ends",
        )


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

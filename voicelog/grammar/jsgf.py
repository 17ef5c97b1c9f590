"""Reads one JSGF 1.0 file into rules, with the tags kept as their plain text.

The syntax is that of the JSpeech Grammar Format, W3C Note of 5 June 2000.  The parser is
lark's; the JSGF package of the registry (pyjsgf 1.9.0) fails on tags such as
`{panel=quarter.rear}`.
"""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock

from lark import Lark, Token, Transformer, UnexpectedInput

from voicelog.grammar.errors import GrammarError, syntax_error
from voicelog.grammar.tree import (
    NULL,
    Branch,
    Choice,
    Expansion,
    Ref,
    Repeat,
    Rule,
    Sequence,
    Tagged,
    Void,
    Word,
)

__all__ = ["GrammarError", "GrammarFile", "parse_jsgf", "read_jsgf"]

SYNTAX = r"""
    file: "grammar" NAME SEMI (importing | rule)*
    importing: "import" REF SEMI
    rule: PUBLIC? REF "=" choice SEMI
    choice: branch ("|" branch)*
    branch: WEIGHT? tagged+
    tagged: atom SUFFIX? TAG*
    ?atom: WORD -> word
         | QUOTED -> quoted
         | REF -> ref
         | LPAR choice RPAR -> group
         | LSQB choice RSQB -> optional

    PUBLIC: "public"
    NAME: /[^\s;<>|()\[\]{}*+\/="]+/
    REF: /<[^<>\s]+>/
    WEIGHT: /\/\s*(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?\s*\//
    WORD: /[^\s;<>|()\[\]{}*+\/="\\]+/
    QUOTED: /"(\\.|[^"\\])*"/s
    TAG: /\{(\\.|[^}\\])*\}/s
    SUFFIX: "*" | "+"
    SEMI: ";"
    LPAR: "("
    RPAR: ")"
    LSQB: "["
    RSQB: "]"
    BLANK: /\s+/
    COMMENT: /\/\*.*?\*\//s | /\/\/[^\n]*/
    %ignore BLANK
    %ignore COMMENT
"""

HEADER = re.compile(
    r"\A\ufeff?#JSGF[ \t]+V1\.0(?:[ \t]+(?P<encoding>[\w.-]+))?(?:[ \t]+(?P<locale>[\w-]+))?[ \t]*;"
)
COMMENT = re.compile(r"/\*.*?\*/|//[^\n]*", re.DOTALL)
ESCAPE = re.compile(r"\\(.)", re.DOTALL)


@dataclass(frozen=True)
class GrammarFile:
    """One file as it stands: its own rules and what it imports."""

    path: Path
    name: str
    imports: tuple[Ref, ...]
    rules: tuple[Rule, ...]
    text: str


def read_jsgf(path: Path) -> GrammarFile:
    """Read one grammar file.

    Raises:
        GrammarError: unreadable, no header, or not JSGF; says what was expected where.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        reason = error.strerror or "unreadable"
        raise GrammarError(
            f"the grammar cannot be read ({reason})", where=str(path), todo="check the path"
        ) from error
    return parse_jsgf(_decoded(raw, path), path)


def _decoded(raw: bytes, path: Path) -> str:
    encoding = "utf-8"
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    elif found := HEADER.match(raw.removeprefix(codecs.BOM_UTF8)[:200].decode("latin-1")):
        encoding = found["encoding"] or encoding
    try:
        return raw.decode(encoding).removeprefix("\ufeff")
    except (LookupError, UnicodeDecodeError) as error:
        raise GrammarError(
            f"the text is not {encoding}", where=f"{path}:1", todo="save it as UTF-8"
        ) from error


def parse_jsgf(text: str, path: Path) -> GrammarFile:
    """Parse the text of a grammar file; `path` is for messages only.

    Raises:
        GrammarError: no header, or not JSGF; says what was expected where.
    """
    found = HEADER.match(text)
    if found is None:
        raise GrammarError('expected the header "#JSGF V1.0;"', where=f"{path}:1:1")
    # Blanks in place of the header keep the line and column numbers of the rest.
    body = " " * found.end() + text[found.end() :]
    with _LOCK:
        if not _PARSER:
            _PARSER.append(Lark(SYNTAX, parser="lalr", start="file", transformer=_READER))
        _READER.begin(path, body)
        try:
            # The reader makes the file while the parser goes along, so no tree comes back.
            result: GrammarFile = _PARSER[0].parse(body)  # type: ignore[assignment]
        except UnexpectedInput as error:
            raise syntax_error(error, text, path) from None
    return result


@dataclass(frozen=True, slots=True)
class _Found:
    """Something read, with where it stands in the text."""

    item: Expansion | Branch | Rule | Ref
    start: int
    end: int


_Items = list[Token | _Found]


class _Reader(Transformer[Token, object]):
    """Turns what lark finds into rules."""

    def begin(self, path: Path, text: str) -> None:
        self._path = path
        self._text = text

    def file(self, items: _Items) -> GrammarFile:
        name, semi, *statements = items
        before = semi.end_pos if isinstance(semi, Token) else 0
        imports: list[Ref] = []
        rules: list[Rule] = []
        for found in statements:
            assert isinstance(found, _Found)
            if isinstance(found.item, Rule):
                rules.append(replace(found.item, doc=_doc(self._text[before : found.start])))
            elif isinstance(found.item, Ref):
                imports.append(found.item)
            before = found.end
        return GrammarFile(self._path, str(name), tuple(imports), tuple(rules), self._text)

    def importing(self, items: list[Token]) -> _Found:
        if "." not in items[0]:
            raise self._error(items[0], "an import names a grammar and a rule, such as <grammar.rule>")
        return _Found(_ref(items[0]), _start(items[0]), _end(items[-1]))

    def rule(self, items: _Items) -> _Found:
        name, choice, semi = items[-3:]
        assert isinstance(name, Token)
        if name in ("<NULL>", "<VOID>"):
            raise self._error(name, f"{name} has its own meaning and cannot be defined")
        public = len(items) == 4
        rule = Rule(str(name)[1:-1], public, _part(choice), "", str(self._path), name.line or 0)
        return _Found(rule, _start(items[0]), _end(semi))

    def choice(self, items: _Items) -> _Found:
        branches = tuple(found.item for found in items if isinstance(found, _Found))
        return _Found(Choice(branches), _start(items[0]), _end(items[-1]))  # type: ignore[arg-type]

    def branch(self, items: _Items) -> _Found:
        start, end = _start(items[0]), _end(items[-1])
        weight = 1.0
        parts = items
        if isinstance(items[0], Token):
            weight = float(items[0].strip("/ \t\r\n"))
            parts = items[1:]
        body: Expansion = _part(parts[0]) if len(parts) == 1 else Sequence(tuple(map(_part, parts)))
        line = self._text.count("\n", 0, start) + 1
        text = " ".join(self._text[start:end].split())
        return _Found(Branch(weight, body, f"{self._path.name}:{line}: {text}"), start, end)

    def tagged(self, items: _Items) -> _Found:
        part = _part(items[0])
        tags: list[str] = []
        for item in items[1:]:
            if isinstance(item, Token) and item.type == "SUFFIX":
                part = Repeat(part, 0 if item == "*" else 1, None)
            elif isinstance(item, Token):
                tags.append(self._tag(item))
        return _Found(Tagged(part, tuple(tags)) if tags else part, _start(items[0]), _end(items[-1]))

    def _tag(self, token: Token) -> str:
        # A brace that was forgotten makes the tag run on to the end of the next one.
        if "\n" in token and "{" in token[1:].replace("\\{", ""):
            raise self._error(token, 'this tag has no closing "}"')
        return ESCAPE.sub(r"\1", token[1:-1]).strip()

    def word(self, items: list[Token]) -> _Found:
        return _Found(Word(str(items[0])), _start(items[0]), _end(items[0]))

    def quoted(self, items: list[Token]) -> _Found:
        # A lexicon holds words without blanks, so "New York" is two of them.
        words = [Word(word) for word in ESCAPE.sub(r"\1", items[0][1:-1]).split()]
        if not words:
            raise self._error(items[0], "there is no word between these quotes")
        part: Expansion = words[0] if len(words) == 1 else Sequence(tuple(words))
        return _Found(part, _start(items[0]), _end(items[0]))

    def ref(self, items: list[Token]) -> _Found:
        own: dict[str, Expansion] = {"<NULL>": NULL, "<VOID>": Void()}
        return _Found(own.get(str(items[0])) or _ref(items[0]), _start(items[0]), _end(items[0]))

    def group(self, items: _Items) -> _Found:
        return _Found(_part(items[1]), _start(items[0]), _end(items[-1]))

    def optional(self, items: _Items) -> _Found:
        return _Found(Repeat(_part(items[1]), 0, 1), _start(items[0]), _end(items[-1]))

    def _error(self, token: Token, what: str) -> GrammarError:
        return GrammarError(what, where=f"{self._path}:{token.line}:{token.column}")


_LOCK = Lock()
"""One parser, and its reader, serve all files in turn."""
_PARSER: list[Lark] = []
_READER = _Reader()


def _part(found: Token | _Found) -> Expansion:
    assert isinstance(found, _Found)
    assert not isinstance(found.item, Branch | Rule)
    return found.item


def _start(item: Token | _Found) -> int:
    return item.start if isinstance(item, _Found) else item.start_pos or 0


def _end(item: Token | _Found) -> int:
    return item.end if isinstance(item, _Found) else item.end_pos or 0


def _ref(token: Token) -> Ref:
    return Ref(str(token)[1:-1], token.line or 0, token.column or 0)


def _doc(gap: str) -> str:
    """The last doc comment of the text between two statements, without its stars."""
    comments = [comment for comment in COMMENT.findall(gap) if comment.startswith("/**") and len(comment) > 4]
    if not comments:
        return ""
    lines = comments[-1].removeprefix("/**").removesuffix("*/").splitlines()
    return "\n".join(line.strip().removeprefix("*").strip() for line in lines).strip()

"""Reads one JSGF 1.0 file into rules, with the tags kept as their plain text.

The syntax is that of the JSpeech Grammar Format, W3C Note of 5 June 2000.  The parser is
lark's; the JSGF package of the registry (pyjsgf 1.9.0) fails on tags such as
`{panel=quarter.rear}`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lark import Lark, Token, Transformer, Tree, UnexpectedInput, v_args

from voicelog.errors import VoicelogError
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

SYNTAX = r"""
    file: DOC? "grammar" NAME ";" statement*
    statement: DOC? (importing | rule)
    importing: "import" REF ";"
    rule: PUBLIC? REF "=" choice ";"
    choice: branch ("|" branch)*
    branch: WEIGHT? sequence
    sequence: repeated+
    repeated: tagged
    tagged: atom SUFFIX? TAG*
    ?atom: WORD -> word
         | QUOTED -> quoted
         | REF -> ref
         | "(" choice ")" -> group
         | "[" choice "]" -> optional

    PUBLIC.3: /public(?=[\s<])/
    NAME: /[^\s;<>|()\[\]{}*+\/="]+/
    REF: /<[^<>\s]+>/
    WEIGHT: /\/\s*(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?\s*\//
    WORD: /[^\s;<>|()\[\]{}*+\/="\\]+/
    QUOTED: /"(\\.|[^"\\])*"/
    TAG: /\{(\\.|[^}\\])*\}/
    SUFFIX: "*" | "+"
    DOC: /\/\*\*.*?\*\//s
    COMMENT: /\/\*(?!\*).*?\*\//s | /\/\/[^\n]*/
    %ignore /\s+/
    %ignore COMMENT
"""

HEADER = re.compile(
    r"\A\ufeff?#JSGF[ \t]+V1\.0(?:[ \t]+(?P<encoding>[\w.-]+))?(?:[ \t]+(?P<locale>[\w-]+))?[ \t]*;"
)

READABLE = {
    "NAME": "a name", "REF": "a rule such as <name>", "WEIGHT": "a weight", "WORD": "a word",
    "QUOTED": "a quoted word", "TAG": "a tag", "SUFFIX": '"*" or "+"', "SEMICOLON": '";"', "VBAR": '"|"',
    "RPAR": '")"', "LPAR": '"("', "RSQB": '"]"', "LSQB": '"["', "EQUAL": '"="', "PUBLIC": '"public"',
    "IMPORT": '"import"', "GRAMMAR": '"grammar"', "$END": "the end of the file",
}  # fmt: skip


class GrammarError(VoicelogError):
    """A grammar that cannot be used; names file, line and column."""


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
    found = HEADER.match(raw[:200].decode("latin-1").replace("\u00ef\u00bb\u00bf", "", 1))
    encoding = (found and found["encoding"]) or "utf-8"
    try:
        return raw.decode(encoding).removeprefix("\ufeff")
    except (LookupError, UnicodeDecodeError) as error:
        raise GrammarError(
            f"the text is not {encoding}", where=f"{path}:1", todo="save it as UTF-8"
        ) from error


def parse_jsgf(text: str, path: Path) -> GrammarFile:
    """Parse the text of a grammar file; `path` is for messages only."""
    found = HEADER.match(text)
    if found is None:
        raise GrammarError('expected the header "#JSGF V1.0;"', where=f"{path}:1:1")
    # Blanks in place of the header keep the line and column numbers of the rest.
    body = " " * found.end() + text[found.end() :]
    try:
        tree = _parser().parse(body)
    except UnexpectedInput as error:
        raise _error(error, text, path) from None
    result: GrammarFile = _Reader(path, body).transform(tree)
    return result


_PARSER: list[Lark] = []


def _parser() -> Lark:
    if not _PARSER:
        _PARSER.append(Lark(SYNTAX, parser="lalr", start="file", propagate_positions=True))
    return _PARSER[0]


def _error(error: UnexpectedInput, text: str, path: Path) -> GrammarError:
    names_of = (getattr(error, name, None) for name in ("accepts", "expected", "allowed"))
    expected: set[str] = next((found for found in names_of if found), set())
    names = sorted({READABLE.get(name, name) for name in expected if name not in ("DOC", "COMMENT")})
    token = getattr(error, "token", None)
    if token is not None and token.type != "$END":
        what = f'"{str(token)[:20]}"'
    elif token is not None:
        what = "the end of the file"
    else:
        what = repr(text[error.pos_in_stream or 0 : (error.pos_in_stream or 0) + 1])
    line, column = error.line, error.column
    if line is None or line < 1:
        line, column = text.count("\n") + 1, 1
    return GrammarError(
        f"found {what}, expected {' or '.join(names) or 'something else'}", where=f"{path}:{line}:{column}"
    )


class _Reader(Transformer[Token, Any]):
    """Turns lark's tree into rules."""

    def __init__(self, path: Path, text: str) -> None:
        super().__init__()
        self._path = path
        self._text = text

    def file(self, items: list[Any]) -> GrammarFile:
        name, *statements = (item for item in items if not _is(item, "DOC"))
        imports = tuple(item for item in statements if isinstance(item, Ref))
        rules = tuple(item for item in statements if isinstance(item, Rule))
        return GrammarFile(self._path, str(name), imports, rules, self._text)

    def statement(self, items: list[Any]) -> Ref | Rule:
        found: Ref | Rule = items[-1]
        if isinstance(found, Rule) and _is(items[0], "DOC"):
            return replace(found, doc=_plain_doc(str(items[0])))
        return found

    def importing(self, items: list[Token]) -> Ref:
        return _ref(items[0])

    def rule(self, items: list[Any]) -> Rule:
        name = next(item for item in items if _is(item, "REF"))
        return Rule(str(name)[1:-1], _is(items[0], "PUBLIC"), items[-1], "", str(self._path), name.line or 0)

    def choice(self, items: list[Branch]) -> Expansion:
        return Choice(tuple(items))

    @v_args(tree=True)
    def branch(self, tree: Tree[Any]) -> Branch:
        items = tree.children
        weight = 1.0
        if isinstance(items[0], Token):
            weight = float(items[0].strip("/ \t\n"))
        meta = tree.meta
        text = " ".join(self._text[meta.start_pos : meta.end_pos].split())
        part: Any = items[-1]
        return Branch(weight, part, f"{self._path.name}:{meta.line}: {text}")

    def sequence(self, items: list[Expansion]) -> Expansion:
        return items[0] if len(items) == 1 else Sequence(tuple(items))

    def repeated(self, items: list[Expansion]) -> Expansion:
        return items[0]

    def tagged(self, items: list[Any]) -> Expansion:
        part: Expansion = items[0]
        tags: list[str] = []
        for item in items[1:]:
            if item.type == "SUFFIX":
                part = Repeat(part, 0 if item == "*" else 1, None)
            else:
                tags.append(re.sub(r"\\(.)", r"\1", item[1:-1]).strip())
        return Tagged(part, tuple(tags)) if tags else part

    def word(self, items: list[Token]) -> Expansion:
        return Word(str(items[0]))

    def quoted(self, items: list[Token]) -> Expansion:
        return Word(re.sub(r"\\(.)", r"\1", items[0][1:-1]))

    def ref(self, items: list[Token]) -> Expansion:
        if items[0] == "<NULL>":
            return NULL
        return Void() if items[0] == "<VOID>" else _ref(items[0])

    def group(self, items: list[Expansion]) -> Expansion:
        return items[0]

    def optional(self, items: list[Expansion]) -> Expansion:
        return Repeat(items[0], 0, 1)


def _is(item: object, kind: str) -> bool:
    return isinstance(item, Token) and item.type == kind


def _ref(token: Token) -> Ref:
    return Ref(str(token)[1:-1], token.line or 0, token.column or 0)


def _plain_doc(comment: str) -> str:
    lines = comment.removeprefix("/**").removesuffix("*/").splitlines()
    return "\n".join(line.strip().removeprefix("*").strip() for line in lines).strip()

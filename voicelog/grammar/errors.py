"""What is wrong with a grammar, told by file, line and column."""

from __future__ import annotations

from pathlib import Path

from lark import UnexpectedInput

from voicelog.errors import VoicelogError

READABLE = {
    "NAME": "a name", "REF": "a rule such as <name>", "WEIGHT": "a weight such as /0.5/", "WORD": "a word",
    "QUOTED": "a quoted word", "TAG": "a tag", "SUFFIX": '"*" or "+"', "SEMI": '";"', "VBAR": '"|"',
    "RPAR": '")"', "LPAR": '"("', "RSQB": '"]"', "LSQB": '"["', "EQUAL": '"="', "PUBLIC": '"public"',
    "IMPORT": '"import"', "GRAMMAR": '"grammar"', "$END": "the end of the file",
}  # fmt: skip

UNENDED = {
    "{": ('this tag has no closing "}"', 'write "\\}" for a brace within a tag'),
    '"': ("this quoted word has no closing quote", 'write "\\"" for a quote within it'),
    "/*": ('this comment has no closing "*/"', None),
    "/": (
        "this is no weight: expected a number between two slashes",
        'write the word in quotes if it holds a "/"',
    ),
}
"""What the text begins with where the parser finds nothing it knows."""


class GrammarError(VoicelogError):
    """A grammar that cannot be used; names file, line and column."""


def too_deep(file: Path | str) -> GrammarError:
    """For rules and brackets within each other beyond what can be followed (some hundreds)."""
    return GrammarError(
        "rules or brackets are nested too deeply", where=str(file), todo="nest fewer within each other"
    )


def syntax_error(error: UnexpectedInput, text: str, path: Path) -> GrammarError:
    """A lark error in words: where, what was found, what was expected."""
    token = getattr(error, "token", None)
    if token is not None and token.type == "$END":
        line, column = text.count("\n") + 1, len(text) - text.rfind("\n")
        return GrammarError(f"the file ends here, {_expected(error)}", where=f"{path}:{line}:{column}")
    where = f"{path}:{error.line}:{error.column}"
    if token is not None:
        return GrammarError(f'found "{str(token)[:20]}", {_expected(error)}', where=where)
    rest = text[error.pos_in_stream or 0 :]
    for beginning, (what, todo) in UNENDED.items():
        if rest.startswith(beginning):
            return GrammarError(what, where=where, todo=todo)
    return GrammarError(f"found {rest[:1]!r}, {_expected(error)}", where=where)


def _expected(error: UnexpectedInput) -> str:
    sets = (getattr(error, name, None) for name in ("accepts", "expected", "allowed"))
    names: set[str] = next((found for found in sets if found), set())
    readable = sorted({READABLE.get(name, name) for name in names} - {"COMMENT", "BLANK"})
    return f"expected {' or '.join(readable)}"

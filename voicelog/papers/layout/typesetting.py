"""Typst: a template of ours and data become a PDF after PDF/UA-1 (ISO 14289-1), which typst checks itself."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from importlib import util
from importlib.resources import as_file, files
from typing import Any

_LAYOUT = files("voicelog.papers.layout")
_NO_GLYPH = re.compile(r'the text `"([^`]+)"` could not be displayed')


class TooLongError(Exception):
    """The template found that its words take more pages than they may."""


@dataclass(frozen=True)
class Typeset:
    """A PDF, and what is wrong with it."""

    pdf: bytes
    missing: str = ""
    """Letters that no font has: boxes stand for them, and the file is not PDF/UA."""


def can_typeset() -> bool:
    """Whether typst is installed: no wheel is made for Windows on ARM."""
    return util.find_spec("typst") is not None


def typeset(template: str, inputs: Mapping[str, str], made_at: datetime) -> Typeset:
    """The PDF that `template` makes of `inputs`; same inputs, date and fonts, same bytes.

    Letters that the fonts shipped along do not have are looked for in those of the system.

    Raises:
        TooLongError: see there.
    """
    import typst

    source = (_LAYOUT / "templates" / template).read_bytes()
    given = {"sys_inputs": dict(inputs), "timestamp": int(made_at.timestamp())}
    for system_fonts in (False, True):
        try:
            made = _compiler(system_fonts).compile(source, format="pdf", pdf_standards=["ua-1"], **given)
            return Typeset(made)
        except typst.TypstError as error:
            if "assertion" in error.message:
                raise TooLongError from error
            if "PDF/UA-1" not in error.diagnostic:
                raise
            missing = _letters(error.diagnostic)
    return Typeset(_compiler(True).compile(source, format="pdf", **given), missing)


def _letters(diagnostic: str) -> str:
    texts = "".join(dict.fromkeys(_NO_GLYPH.findall(diagnostic)))
    return re.sub(r"\\u\{([0-9a-f]+)\}", lambda found: chr(int(found[1], 16)), texts) or "\ufffd"


@lru_cache(maxsize=2)
def _compiler(system_fonts: bool) -> Any:
    import typst

    with as_file(_LAYOUT / "fonts") as folder:
        fonts = typst.Fonts(
            include_system_fonts=system_fonts, include_embedded_fonts=False, font_paths=[folder]
        )
        return typst.Compiler(root=folder, font_paths=fonts)

"""Text that leaves the program: what would be a command to a terminal or hide in a text shows as a mark."""

from __future__ import annotations

import re
from typing import Any, Final

CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202d\u202e]|\r(?!\n)")
"""C0 and C1 (ECMA-48) but tab and ends of lines, and what turns text around (overrides of Unicode's
bidirectional algorithm, UAX 9).  No voice and no rate card makes them."""
_IN_JSON: Final = re.compile(CONTROL.pattern + r"|\\(?:u00|[bfr])")


def visible(text: str) -> str:
    r"""The text with a mark for each such character: the six letters of its escape in JSON, "\u001b".

    Done to JSON it changes only how these characters are written there.
    """
    return CONTROL.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def visible_data(data: Any, text: str) -> Any:
    """What JSON text holds, with marks in all its texts."""
    return _marked(data) if _IN_JSON.search(text) else data


def _marked(data: Any) -> Any:
    if isinstance(data, str):
        return visible(data)
    if isinstance(data, dict):
        return {visible(key): _marked(value) for key, value in data.items()}
    return [_marked(item) for item in data] if isinstance(data, list) else data

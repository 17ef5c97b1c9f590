"""Files that commands write bit by bit and put in place in one step."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO


@contextmanager
def atomic_text(path: Path) -> Iterator[TextIO]:
    """A text file that gets its name only when it is complete; readable by the user only."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise

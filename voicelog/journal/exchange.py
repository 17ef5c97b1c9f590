"""A journal as JSON Lines."""

from __future__ import annotations

import json
from typing import Any

from voicelog.journal.rows import Row


def line_of(row: Row) -> dict[str, Any]:
    """One row as JSON Lines holds it."""
    return {
        "id": row.id,
        "group": row.grp,
        "at": row.at,
        "order": row.ord,
        "device": row.device,
        "version": row.version,
        "job": row.job,
        "type": row.type,
        "schema": row.schema,
        "body": json.loads(row.body),
        "derived": json.loads(row.derived),
        "personal": None if row.personal is None else row.personal.hex(),
        "salt": row.salt,
        "apart": None if row.data is None else json.loads(row.data),
        "prev": row.prev.hex(),
        "hash": row.hash.hex(),
    }

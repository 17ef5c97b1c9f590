"""What a record may hold: slots, their canonical values and the shape of panels.

Canonical values are what records, JSON, papers and tests use.  How people *say*
them is written in `grammars/` only; a test holds both against each other.
This is a leaf: it imports nothing of voicelog.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Kind = Literal[
    "damage", "reading", "step", "time", "job", "told", "correction",
    "undo", "answer", "question", "control", "none",
]  # fmt: skip
Decision = Literal["accepted", "asked", "rejected", "kept"]


@dataclass(frozen=True)
class Panel:
    """A panel of the car and what must be said to name one of them."""

    name: str
    sides: bool
    """Exists left and right: a note must say which."""
    ends: tuple[str, ...] = ()
    """Ends that tell panels of this name apart; a note must say which."""
    implied_end: str | None = None
    """The only end such a panel can have (a wing is at the front)."""


PANELS: Final[dict[str, Panel]] = {
    panel.name: panel
    for panel in (
        Panel("bonnet", sides=False, implied_end="front"),
        Panel("roof", sides=False),
        Panel("boot-lid", sides=False, implied_end="rear"),
        Panel("tailgate", sides=False, implied_end="rear"),
        Panel("wing", sides=True, implied_end="front"),
        Panel("door", sides=True, ends=("front", "rear")),
        Panel("quarter", sides=True, implied_end="rear"),
        Panel("sill", sides=True),
        Panel("roof-rail", sides=True),
        Panel("pillar-a", sides=True),
        Panel("pillar-b", sides=True),
        Panel("pillar-c", sides=True),
        Panel("pillar-d", sides=True),
        Panel("bumper", sides=False, ends=("front", "rear")),
        Panel("sliding-door", sides=True),
        Panel("bed-side", sides=True),
        Panel("fuel-flap", sides=False),
    )
}

CHOICES: Final[dict[str, tuple[str, ...]]] = {
    "panel": tuple(PANELS),
    "end": ("front", "rear"),
    "side": ("left", "right"),
    "material": ("steel", "high-strength-steel", "aluminium", "plastic", "composite"),
    "shape": ("round", "crease", "sharp", "bowl", "high"),
    "depth": ("shallow", "medium", "deep"),
    "features": ("body-line", "edge", "double-skin", "brace", "stretched", "paint-broken", "filler"),
    "access": ("open", "trim-off", "limited", "none"),
    "take_off": (
        "door-card",
        "tail-light",
        "headlight",
        "liner",
        "head-lining",
        "bumper",
        "trim",
        "mirror",
        "door-handle",
    ),
    "method": ("push", "glue-pull", "lever", "knock-down", "mixed"),
    "density": ("light", "moderate", "heavy"),
    "same": ("panel", "side", "other-side", "size"),
    "probe": ("magnetic", "eddy-current"),
    "step": ("clean", "warm", "pull", "push", "lever", "knock-down", "check-lines", "polish", "wipe"),
    "tab": ("round", "crease", "flat"),
    "direction": ("front", "rear", "left", "right", "above"),
    "tool_base": ("magnetic", "suction", "clamp"),
    "time": ("start", "pause", "resume", "stop"),
    "job": ("new", "finished", "close-day"),
    "quote": ("give", "accepted", "declined"),
    "invoice": ("issue", "anyway", "credit"),
    "by": ("cash", "card", "transfer"),
    "extra": ("parts", "travel", "work-bought-in"),
    "risk": ("crease-may-show", "high-spots", "paint-may-lift", "texture", "not-fully-out", "edge-may-show"),
    "undo": ("last", "redo"),
    "answer": ("yes", "no"),
    "question": (
        "read-back",
        "price",
        "total",
        "time",
        "missing",
        "repeat",
        "how-long",
        "plan",
        "owed",
        "left",
        "jobs",
    ),
    "control": ("sleep", "wake", "louder", "quieter", "memo", "photo", "understood"),
    "clear": ("length_mm", "width_mm", "count", "material", "shape", "depth", "features", "access", "method"),
}
"""Closed sets of canonical values by slot."""

LISTS: Final[frozenset[str]] = frozenset({"features", "take_off", "direction", "risk", "same"})
"""Slots that hold several values (a tuple, in the order of `CHOICES`)."""

NUMBERS: Final[frozenset[str]] = frozenset({
    "length_mm", "width_mm", "count", "paint_um", "reference_um", "pulls", "tab_mm",
    "belongs_to", "dent", "go_to", "remove", "restore", "discount_percent", "number",
    "go_to_job", "paid", "deposit", "price", "agreed_price", "extra_amount",
    "minutes", "mileage", "year", "excess", "square_mm", "area_m2", "join", "join_to",
})  # fmt: skip
"""Slots that hold a number: `int` where whole, else `Decimal`. mm, µm or a plain count."""

LENGTHS: Final[frozenset[str]] = frozenset({"length_mm", "width_mm", "tab_mm"})
"""Numbers in millimetres, shown and heard in the unit of the settings."""

THICKNESSES: Final[frozenset[str]] = frozenset({"paint_um", "reference_um"})
"""Numbers in micrometres, shown and heard in thousandths of an inch with inches."""

SPELLED: Final[frozenset[str]] = frozenset({
    "plate", "vin", "find", "find_stock", "phone", "claim", "policy", "order", "stock",
})  # fmt: skip
"""Slots that hold upper-case letters and digits without spaces."""

TEXTS: Final[frozenset[str]] = frozenset({
    "place", "tool", "glue", "customer", "make", "model", "colour", "insurer", "technician", "memo",
    "find_car",
})  # fmt: skip
"""Slots that hold words as they were said."""

FLAGS: Final[frozenset[str]] = frozenset({
    "next_dent", "same_again", "before", "declined", "oversize", "paid_all", "hail", "panel_again",
    "done",
})  # fmt: skip
"""Slots that are True where said and absent otherwise."""

JOB_DETAILS: Final[tuple[str, ...]] = (
    "plate", "vin", "customer", "phone", "make", "model", "colour", "year", "mileage", "insurer", "claim",
    "policy", "excess", "order", "stock", "technician",
)  # fmt: skip
"""What is known of car and customer, in the order in which it is read back."""

DAMAGE_SLOTS: Final[tuple[str, ...]] = (
    "panel", "end", "side", "material", "length_mm", "width_mm", "count", "shape",
    "depth", "features", "access", "take_off", "method", "belongs_to",
    "place", "density", "oversize", "before", "declined", "hail", "square_mm", "area_m2", "done",
)  # fmt: skip
"""The fields of a damage record, in the order in which screens and papers show them."""

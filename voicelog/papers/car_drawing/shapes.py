"""The outline of a car seen from above with its sides opened out: which panel lies where.

A schematic of our own, no particular car.  Units are those of the drawing (see `WIDTH`);
x runs to the car's right, y to its rear.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

_BREADTH: Final = 1.35
"""Shapes are set down on a narrow grid, 320 wide, and drawn this much broader."""
WIDTH: Final = 320.0 * _BREADTH
HEIGHT: Final = 470.0

Points = tuple[tuple[float, float], ...]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


@dataclass(frozen=True)
class Shape:
    """A panel, or several of which a car has one, at one place of the drawing."""

    panels: tuple[str, ...]
    """Canonical names, the usual one first; empty for glass and wheels."""
    points: Points
    inside: Box
    """Where marks may stand."""
    end: str | None = None
    side: str | None = None


def curve(start: tuple[float, float], bend: tuple[float, float], stop: tuple[float, float]) -> Points:
    """A quadratic curve as nine points."""
    return tuple(
        (
            round((1 - t) ** 2 * start[0] + 2 * t * (1 - t) * bend[0] + t * t * stop[0], 2),
            round((1 - t) ** 2 * start[1] + 2 * t * (1 - t) * bend[1] + t * t * stop[1], 2),
        )
        for t in (step / 8 for step in range(9))
    )


def _box(left: float, top: float, right: float, bottom: float) -> Points:
    return ((left, top), (right, top), (right, bottom), (left, bottom))


_MIDDLE: Final = (
    Shape(
        ("bumper",),
        (*curve((86, 40), (160, 4), (234, 40)), *curve((228, 52), (160, 24), (92, 52))),
        (100, 22, 220, 40),
        end="front",
    ),
    Shape(
        ("bonnet",),
        (*curve((112, 58), (160, 42), (208, 58)), *curve((214, 138), (160, 122), (106, 138))),
        (114, 58, 206, 124),
    ),
    Shape(("roof",), _box(116, 186, 204, 318), (120, 192, 200, 312)),
    Shape(
        ("boot-lid", "tailgate"),
        (*curve((112, 362), (160, 374), (208, 362)), *curve((210, 414), (160, 428), (110, 414))),
        (116, 372, 204, 414),
    ),
    Shape(
        ("bumper",),
        (*curve((92, 422), (160, 446), (228, 422)), *curve((234, 436), (160, 468), (86, 436))),
        (100, 432, 220, 450),
        end="rear",
    ),
)

GLASS: Final = (
    Shape((), (*curve((108, 144), (160, 128), (212, 144)), (200, 180), (120, 180)), (0, 0, 0, 0)),
    Shape((), ((120, 324), (200, 324), *curve((209, 356), (160, 366), (111, 356))), (0, 0, 0, 0)),
)

_LEFT: Final = (
    Shape(
        ("wing",),
        ((84, 56), (106, 60), (100, 138), (56, 148), *curve((56, 118), (76, 96), (56, 74))),
        (70, 66, 104, 138),
    ),
    Shape(("pillar-a",), ((101, 143), (106, 146), (117, 182), (107, 182)), (100, 150, 116, 180)),
    Shape(("roof-rail",), _box(102, 186, 112, 318), (101, 190, 113, 314)),
    Shape(("door",), ((56, 154), (99, 148), (98, 232), (56, 232)), (58, 156, 97, 230), end="front"),
    Shape(("pillar-b",), _box(56, 236, 98, 246), (58, 235, 96, 247)),
    Shape(
        ("door", "sliding-door"), ((56, 250), (98, 250), (99, 322), (56, 322)), (58, 252, 97, 320), end="rear"
    ),
    Shape(("sill",), _box(36, 154, 50, 322), (36, 158, 50, 318)),
    Shape(("pillar-c",), ((107, 322), (116, 322), (107, 356), (102, 356)), (102, 324, 116, 354)),
    Shape(
        ("quarter", "bed-side"),
        ((56, 328), (99, 328), (103, 410), (84, 416), (56, 406), *curve((56, 394), (76, 374), (56, 354))),
        (70, 332, 102, 408),
    ),
)
"""The left side; the right one is its mirror image."""

_LEFT_REAR_PILLAR: Final = Shape(
    ("pillar-d",), ((104, 360), (109, 364), (107, 412), (104, 412)), (101, 364, 111, 408)
)

_LEFT_WHEELS: Final = (
    Shape((), (*curve((54, 76), (70, 96), (54, 116)), (44, 116), (44, 76)), (0, 0, 0, 0)),
    Shape((), (*curve((54, 354), (70, 374), (54, 394)), (44, 394), (44, 354)), (0, 0, 0, 0)),
)


def _sided(shape: Shape) -> Shape:
    return Shape(shape.panels, shape.points, shape.inside, shape.end, "left")


def _mirrored(shape: Shape) -> Shape:
    left, top, right, bottom = shape.inside
    return Shape(
        shape.panels,
        tuple((WIDTH - x, y) for x, y in shape.points),
        (WIDTH - right, top, WIDTH - left, bottom),
        shape.end,
        "right" if shape.panels else None,
    )


def _broad(shape: Shape) -> Shape:
    left, top, right, bottom = shape.inside
    return Shape(
        shape.panels,
        tuple((round(x * _BREADTH, 2), y) for x, y in shape.points),
        (left * _BREADTH, top, right * _BREADTH, bottom),
        shape.end,
        shape.side,
    )


_LEFT_SIDE: Final = tuple(_sided(_broad(shape)) for shape in (*_LEFT, _LEFT_REAR_PILLAR))
_LEFT_BARE: Final = tuple(_broad(shape) for shape in _LEFT_WHEELS)
PANEL_SHAPES: Final[tuple[Shape, ...]] = (
    *(_broad(shape) for shape in _MIDDLE),
    *_LEFT_SIDE,
    *(_mirrored(shape) for shape in _LEFT_SIDE),
)
BARE_SHAPES: Final[tuple[Shape, ...]] = (
    *(_broad(shape) for shape in GLASS),
    *_LEFT_BARE,
    *(_mirrored(shape) for shape in _LEFT_BARE),
)
"""Glass and wheels: drawn so that the eye finds its way, never marked."""

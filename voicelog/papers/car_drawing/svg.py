"""The panel plan as inline SVG, legible in greyscale: dented panels are shaded and thickly drawn."""

from __future__ import annotations

from markupsafe import Markup, escape

from voicelog.papers.car_drawing.marks import Mark, Plan

RING_GAP = 0.32
"""How far the second ring lies outside the first, in half heights."""
LETTERS = 1.22
"""Size of the figures, in half heights."""
INK, THIN, SHADE, GLASS = "#1b1b1b", "#767676", "#dcdcdc", "#f4f4f4"


def plan_svg(plan: Plan, key: int | str = 1) -> Markup:
    """The drawing with a title and a description; `key` keeps its ids apart from other drawings'."""
    middle = plan.width / 2
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-8 -26 {plan.width + 16:g} {plan.height + 52:g}" '
        f'role="img" aria-labelledby="plan-{key}-title plan-{key}-words">',
        f'<title id="plan-{key}-title">{escape(plan.title)}</title>',
        f'<desc id="plan-{key}-words">{escape("; ".join(plan.spoken) or "no dents")}</desc>',
        f'<g font-family="Source Sans 3, Arial, sans-serif" fill="{INK}" text-anchor="middle">',
    ]
    for outline in sorted(plan.outlines, key=lambda item: item.dented):
        fill = SHADE if outline.dented else GLASS if outline.glass else "#ffffff"
        stroke, width = (INK, 2) if outline.dented else (THIN, 0.9)
        points = " ".join(f"{x:g},{y:g}" for x, y in outline.points)
        parts.append(
            f'<polygon points="{points}" fill="{fill}" stroke="{stroke}" stroke-width="{width:g}" '
            'stroke-linejoin="round"/>'
        )
    parts += [_mark(mark) for mark in plan.marks]
    parts.append(_words(middle, -7, "FRONT"))
    parts.append(_words(middle, plan.height + 21, "REAR"))
    parts.append(_words(14, plan.height / 2, "LEFT", turned=-90))
    parts.append(_words(plan.width - 14, plan.height / 2, "RIGHT", turned=90))
    parts.append("</g></svg>")
    return Markup("\n".join(parts))


def _words(x: float, y: float, text: str, turned: int = 0) -> str:
    turn = f' transform="rotate({turned} {x:g} {y:g})"' if turned else ""
    return f'<text x="{x:g}" y="{y:g}" font-size="20" fill="#444444"{turn}>{text}</text>'


def _mark(mark: Mark) -> str:
    half = mark.half_height
    ring = _ring(mark, half * RING_GAP) if mark.several else ""
    return (
        f"{ring}{_ring(mark, 0)}"
        f'<text x="{mark.x:g}" y="{mark.y + half * 0.44:g}" font-size="{half * LETTERS:g}" '
        f'font-weight="700">{mark.dent}</text>'
    )


def _ring(mark: Mark, more: float) -> str:
    half, wide = mark.half_height + more, mark.half_width + more
    return (
        f'<rect x="{mark.x - wide:g}" y="{mark.y - half:g}" width="{2 * wide:g}" height="{2 * half:g}" '
        f'rx="{half:g}" fill="#ffffff" stroke="{INK}" stroke-width="1.3"/>'
    )

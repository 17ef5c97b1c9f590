"""The panel plan: every dent is on the drawing or named beneath it, marks stay in their panel."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_day import Tape

from voicelog.jobs.records import Dent
from voicelog.papers import Letterhead
from voicelog.papers.car_drawing.marks import Plan, draw_plan
from voicelog.papers.car_drawing.shapes import BARE_SHAPES, HEIGHT, PANEL_SHAPES, WIDTH
from voicelog.papers.car_drawing.svg import plan_svg
from voicelog.papers.wording import Words
from voicelog.vocabulary import PANELS

WORDS = Words(Letterhead(name="Sample"))
PLACES = [
    {"panel": panel.name, **({"end": end} if end else {}), **({"side": side} if side else {})}
    for panel in PANELS.values()
    for end in (panel.ends or ("",))
    for side in (("left", "right") if panel.sides else ("",))
]


def dents(places: Iterable[dict[str, str]], count: int = 1) -> list[Dent]:
    """A dent at each place."""
    tape = Tape().job(1)
    for number, place in enumerate(places, start=1):
        tape.dent(number, **place, length_mm=20, **({} if count == 1 else {"count": count}))
    return list(tape.state().jobs["job-1"].listed())


def shown(plan: Plan) -> set[int]:
    """Numbers that are marked or named beneath."""
    named = {int(part.split()[0]) for part in plan.beside.split("; ") if part}
    return {mark.dent for mark in plan.marks} | named


@pytest.mark.parametrize("place", PLACES, ids=lambda place: "-".join(place.values()))
def test_every_panel_is_drawn_where_it_belongs(place: dict[str, str]) -> None:
    plan = draw_plan(dents([place]), WORDS)
    if place["panel"] == "fuel-flap":  # on either side of the car: the record does not say which
        assert plan.beside == "1 fuel flap"
        return
    (mark,) = plan.marks
    assert sum(outline.dented for outline in plan.outlines) == 1
    if "side" in place:
        assert (mark.x < WIDTH / 2) == (place["side"] == "left")
    else:
        assert mark.x == WIDTH / 2
    if "end" in place:
        assert (mark.y < HEIGHT / 2) == (place["end"] == "front")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(PLACES), min_size=1, max_size=40), st.sampled_from([1, 22]))
def test_no_dent_is_out_of_sight_and_marks_do_not_meet(places: list[dict[str, str]], count: int) -> None:
    found = dents(places, count)
    plan = draw_plan(found, WORDS)
    assert shown(plan) == {dent.number for dent in found}
    for mark in plan.marks:
        assert mark.x - mark.half_width > 0
        assert mark.x + mark.half_width < WIDTH
        assert 0 < mark.y < HEIGHT
    assert len({(mark.x, mark.y) for mark in plan.marks}) == len(plan.marks)


def test_sixty_dents_on_a_roof_have_marks_that_do_not_overlap() -> None:
    plan = draw_plan(dents([{"panel": "roof"}] * 60), WORDS)
    marks = plan.marks
    assert len(marks) == 60
    for one in marks:
        for two in marks:
            if one.dent < two.dent:
                apart = abs(one.x - two.x) >= 2 * one.half_width or abs(one.y - two.y) >= 2 * one.half_height
                assert apart, (one, two)


def test_the_drawing_is_a_mirror_image_of_itself() -> None:
    def mirrored(points: Iterable[tuple[float, float]]) -> set[tuple[float, float]]:
        return {(round(WIDTH - x), round(y)) for x, y in points}

    drawn = [{(round(x), round(y)) for x, y in s.points} for s in (*PANEL_SHAPES, *BARE_SHAPES)]
    for shape in (*PANEL_SHAPES, *BARE_SHAPES):
        assert mirrored(shape.points) in drawn, shape.panels


def test_marks_lie_within_the_outline_of_their_panel() -> None:
    """Even-odd rule on the outline, for the middle of each panel's marks."""
    for shape in PANEL_SHAPES:
        left, top, right, bottom = shape.inside
        x, y = (left + right) / 2, (top + bottom) / 2
        edges = zip(shape.points, (*shape.points[1:], shape.points[0]), strict=True)
        crossings = sum(
            (y0 > y) != (y1 > y) and x < (x1 - x0) * (y - y0) / (y1 - y0) + x0 for (x0, y0), (x1, y1) in edges
        )
        assert crossings % 2 == 1, shape


def test_the_svg_is_well_formed_numbered_and_described() -> None:
    found = dents([{"panel": "door", "end": "rear", "side": "right"}, {"panel": "roof"}], 22)
    root = ET.fromstring(str(plan_svg(draw_plan(found, WORDS))))
    space = "{http://www.w3.org/2000/svg}"
    assert root.get("role") == "img"
    ids = {element.get("id") for element in root.iter()}
    assert set(str(root.get("aria-labelledby")).split()) <= ids
    assert root.findtext(f"{space}desc") == "1 ×22: rear right door; 2 ×22: roof"
    labels = [text.text for text in root.iter(f"{space}text")]
    assert labels[:2] == ["1", "2"]
    assert set(labels[2:]) == {"FRONT", "REAR", "LEFT", "RIGHT"}


def test_dented_panels_differ_without_colour() -> None:
    """In greyscale (ITU-R BT.601 luma, as Pillow's "L" has it) and by the width of the line."""
    root = ET.fromstring(str(plan_svg(draw_plan(dents([{"panel": "roof"}]), WORDS))))
    shapes = list(root.iter("{http://www.w3.org/2000/svg}polygon"))

    def grey(colour: str) -> float:
        red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
        return 0.299 * red + 0.587 * green + 0.114 * blue

    dented = [s for s in shapes if float(s.get("stroke-width", 0)) >= 2]
    plain = [s for s in shapes if s.get("fill") == "#ffffff"]
    assert len(dented) == 1
    assert grey(str(plain[0].get("fill"))) - grey(str(dented[0].get("fill"))) >= 30
    assert grey(str(plain[0].get("stroke"))) - grey(str(dented[0].get("stroke"))) >= 60

"""The plan of the car with the dents on each panel."""

from __future__ import annotations

from rich.segment import Segment
from rich.style import Style
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from voicelog.board.live.car_plan import Block, Plan

_GLASS = "╱"


def usable(block: Block) -> int:
    """Rows of a block that are drawn; tall blocks keep one free between them and the next."""
    return block.height - 1 if block.height >= 4 else block.height


class PlanView(Widget):
    """Draws a `Plan`; panels with dents stand out by shape and figure, the open one by its arrows."""

    COMPONENT_CLASSES = {"plan--panel", "plan--dented", "plan--open", "plan--edge", "plan--ground"}  # noqa: RUF012
    DEFAULT_CSS = "PlanView { height: auto; width: auto; }"

    plan: reactive[Plan | None] = reactive(None, layout=True)

    def get_content_width(self, container: object, viewport: object) -> int:
        """Columns of the plan."""
        return self.plan.width if self.plan else 28

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """Rows of the plan and of what has no block."""
        return self.plan.height + len(self.plan.elsewhere) if self.plan else 13

    def render_line(self, y: int) -> Strip:
        """One row."""
        if self.plan is None:
            return Strip.blank(self.size.width)
        ground = self.get_component_rich_style("plan--ground")
        if y >= self.plan.height:
            return self._elsewhere(y - self.plan.height, ground)
        segments: list[Segment] = []
        at = 0
        for block in sorted((b for b in self.plan.blocks if b.y <= y < b.y + b.height), key=lambda b: b.x):
            segments.append(Segment(self._between(y, at, block.x), ground))
            segments.extend(self._row(block, y - block.y, ground))
            at = block.x + block.width
        segments.append(Segment(self._between(y, at, self.plan.width), ground))
        return Strip(segments).adjust_cell_length(self.size.width, ground)

    def _elsewhere(self, number: int, ground: Style) -> Strip:
        assert self.plan is not None
        if number >= len(self.plan.elsewhere):
            return Strip.blank(self.size.width, ground)
        name, dents = self.plan.elsewhere[number]
        return Strip([Segment(f"also {name}: {dents}", ground)]).adjust_cell_length(self.size.width, ground)

    def _between(self, y: int, start: int, end: int) -> str:
        """Ground between two blocks; glass where the screens are."""
        assert self.plan is not None
        middle = next(block for block in self.plan.blocks if block.panel == "roof")
        rows = {block.y for block in self.plan.blocks if block.panel in ("pillar-a", "pillar-c")}
        if y not in rows:
            return " " * (end - start)
        inside = range(middle.x, middle.x + middle.width - 1)
        return "".join(_GLASS if column in inside else " " for column in range(start, end))

    def _row(self, block: Block, row: int, ground: Style) -> list[Segment]:
        """One row of a block; its last column, and in tall blocks its last row, stays free."""
        gap = 0 if block.width <= 3 else 1
        width = block.width - gap
        if row >= usable(block):
            return [Segment(" " * block.width, ground)]
        bare = "plan--edge" if block.width <= 3 or usable(block) == 1 else "plan--panel"
        name = "plan--open" if block.is_open else "plan--dented" if block.dents else bare
        text = self._text(block, row, width)
        return [Segment(text, self.get_component_rich_style(name)), Segment(" " * gap, ground)]

    def _text(self, block: Block, row: int, width: int) -> str:
        count = str(block.dents) if block.dents else ""
        if block.is_open:
            count = f"▸{count}◂" if width >= len(count) + 2 else count
        rows = usable(block)
        if rows == 1:
            both = (
                f"{block.label[: width - len(count) - 1]} {count}"
                if count and width > 5
                else count or block.label
            )
            return both[:width].center(width)
        if block.width <= 3:
            return (count if row == rows // 2 else "│" if not count else "").center(width)[:width]
        middle = rows // 2
        return (block.label if row == middle - 1 else count if row == middle else "")[:width].center(width)

"""Tables on the pages of a PDF: heads repeated on each page, rows broken only where a page is too short."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.papers.blocks import Align, Cell, Row, Table
from voicelog.papers.layout.pdf_sheet import (
    BODY,
    BOLD,
    HEAD,
    INK,
    SHADE,
    SIDE,
    SMALL,
    SUM,
    Line,
    Sheet,
    Style,
)
from voicelog.papers.layout.pdf_tags import scope

PAD_X = 1.5
PAD_Y = 1.1


def write_table(sheet: Sheet, table: Table) -> None:
    """A table over the width of the page."""
    whole = sum(column.share for column in table.columns)
    widths = [sheet.epw * column.share / whole for column in table.columns]
    head = [_broken(sheet, Cell(c.head), w, HEAD) for c, w in zip(table.columns, widths, strict=True)]
    rows = [_row(sheet, row, widths) for row in table.rows]
    first = _height(rows[0]) if rows else 0.0
    sheet.need(min(_height(head) + first, sheet.body_height))
    with sheet.group("Table", alt=table.caption):
        with sheet.group("TR"):
            _write_head(sheet, table, head, widths)
        sums = _sums_at(table.rows)
        for place, (row, cells) in enumerate(zip(table.rows, rows, strict=True)):
            if place == sums:
                _keep_together(sheet, table, rows[place:], head, widths)
            _write_row(sheet, table, row, cells, head, widths)
    sheet.set_y(sheet.y + 2.5)


def _sums_at(rows: Sequence[Row]) -> int:
    """Where the sums at the end begin: the last rows whose first cell is empty."""
    place = len(rows)
    while place and not rows[place - 1].cells[0].text:
        place -= 1
    return place


def _keep_together(
    sheet: Sheet,
    table: Table,
    rows: Sequence[Sequence[Sequence[Line]]],
    head: Sequence[Sequence[Line]],
    widths: Sequence[float],
) -> None:
    """A new page for the sums where they do not all fit: a total stands with what it is made of."""
    height = sum(_height(cells) for cells in rows)
    if sheet.room < height < sheet.body_height / 2:
        sheet.new_page()
        _write_head(sheet, table, head, widths, again=True)


def _row(sheet: Sheet, row: Row, widths: Sequence[float]) -> list[list[Line]]:
    named = _naming(row)
    styles = [SUM if row.strong else BOLD if place == named == 0 else BODY for place in range(len(widths))]
    return [_broken(sheet, *item) for item in zip(row.cells, widths, styles, strict=True)]


def _naming(row: Row) -> int:
    """The place of the cell that names the row: the first, or the second where that is empty."""
    return 0 if row.cells[0].text else 1


def _broken(sheet: Sheet, cell: Cell, width: float, style: Style) -> list[Line]:
    inner = width - 2 * PAD_X
    lines = sheet.broken(cell.text, inner, style)
    for text in cell.small:
        lines += sheet.broken(text, inner, SMALL)
    return lines


def _height(cells: Sequence[Sequence[Line]]) -> float:
    return max((sum(style.height for _, style in lines) for lines in cells), default=0.0) + 2 * PAD_Y


def _write_head(
    sheet: Sheet,
    table: Table,
    head: Sequence[Sequence[Line]],
    widths: Sequence[float],
    *,
    again: bool = False,
) -> None:
    height, top = _height(head), sheet.y
    with sheet.artifact():
        sheet.set_fill_color(*SHADE)
        sheet.rect(SIDE, top, sheet.epw, height, style="F")
        sheet.rule(top + height, 0.5, INK)
    _write_cells(sheet, table, head, widths, "" if again else "Column", named=-1)
    sheet.set_y(top + height)


def _write_row(
    sheet: Sheet,
    table: Table,
    row: Row,
    cells: Sequence[Sequence[Line]],
    head: Sequence[Sequence[Line]],
    widths: Sequence[float],
) -> None:
    def break_page() -> None:
        sheet.new_page()
        _write_head(sheet, table, head, widths, again=True)

    if _height(cells) > sheet.room + 0.01:
        break_page()
    with sheet.group("TR"):
        rest = [list(lines) for lines in cells]
        while True:
            part = [_fitting(lines, sheet.room - 2 * PAD_Y) for lines in rest]
            rest = [lines[len(taken) :] for lines, taken in zip(rest, part, strict=True)]
            _write_part(sheet, table, row, part, widths, last=not any(rest))
            if not any(rest):
                return
            break_page()


def _fitting(lines: Sequence[Line], room: float) -> list[Line]:
    taken: list[Line] = []
    for line in lines:
        room -= line[1].height
        if room < -0.01:
            break
        taken.append(line)
    return taken


def _write_part(
    sheet: Sheet,
    table: Table,
    row: Row,
    part: Sequence[Sequence[Line]],
    widths: Sequence[float],
    *,
    last: bool,
) -> None:
    height, top = _height(part), sheet.y
    with sheet.artifact():
        if row.strong:
            sheet.rule(top, 0.5, INK)
        if last:
            sheet.rule(top + height, *((0.5, INK) if row.strong else ()))
    _write_cells(sheet, table, part, widths, "Row", named=_naming(row))
    sheet.set_y(top + height)


def _write_cells(
    sheet: Sheet,
    table: Table,
    cells: Sequence[Sequence[Line]],
    widths: Sequence[float],
    heads: str,
    *,
    named: int,
) -> None:
    """The cells side by side; `heads` is the scope of head cells, empty for a head that is repeated."""
    x, top = SIDE, sheet.y + PAD_Y
    for place, (lines, width, column) in enumerate(zip(cells, widths, table.columns, strict=True)):
        if not heads:
            with sheet.artifact():
                _draw(sheet, lines, x, top, width, column.align)
        else:
            is_head = named in (-1, place)
            kind, attributes = ("TH", scope(heads)) if is_head else ("TD", "")
            with sheet.group(kind, attributes=attributes), sheet.text_leaf("Span", lines):
                _draw(sheet, lines, x, top, width, column.align)
        x += width


def _draw(sheet: Sheet, lines: Sequence[Line], x: float, y: float, width: float, align: Align) -> None:
    for text, style in lines:
        sheet.put(x + PAD_X, y, width - 2 * PAD_X, text, style, align)
        y += style.height

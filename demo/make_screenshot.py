"""Takes a picture of the board (SVG) over a demo journal: `python demo/make_screenshot.py JOURNAL OUT.svg`.

The journal is read only; the board shows the open dent of its last job.
"""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

from voicelog.board.app import BoardApp
from voicelog.cli.demo import load_day
from voicelog.cli.live import board_settings
from voicelog.jobs.logbook import Logbook
from voicelog.journal.events import Heard
from voicelog.session import reports

SIZE = (120, 40)


async def picture(journal: Path, out: Path) -> None:
    """Run the board without a terminal, report its last utterance to it, and save what it shows."""
    day = load_day()
    with Logbook.open(journal, writer=False) as logbook:
        app = BoardApp(logbook, day.card, board_settings(day.settings))
        async with app.run_test(size=SIZE) as pilot:
            heard = [event.body for event in logbook.heards() if isinstance(event.body, Heard)][-1]
            app.feed(reports.EarChanged("listening", "workshop microphone", heard.engine))
            app.feed(reports.Level(-24.0))
            app.feed(reports.Utterance(heard, heard.answer, heard.decision))
            await pilot.pause(0.5)
            out.write_text(app.export_screenshot(title="voicelog"), encoding="utf-8")


if __name__ == "__main__":
    asyncio.run(picture(Path(sys.argv[1]), Path(sys.argv[2])))

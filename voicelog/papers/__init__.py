"""The papers: what is handed to the customer, the office and the insurer.

A paper is built once as blocks of finished text (`estimate_sheet`, `invoices`,
`work_record`, `day_log`) and then laid out as HTML or PDF, so that both say the same.
The day's tables come from `data` by the list in `columns`.  Nothing here asks the
clock: papers are dated from the journal, and the same journal gives the same bytes.
"""

from voicelog.files import Written
from voicelog.papers.content.day_log import day_log
from voicelog.papers.content.estimate_sheet import estimate_sheet, quotes
from voicelog.papers.content.invoice import invoices
from voicelog.papers.content.job_on_paper import Subject, subject_of
from voicelog.papers.content.work_record import work_record
from voicelog.papers.layout.html import paper_html
from voicelog.papers.layout.pdf import paper_pdf
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.photos.match import Matching, match_photos, parse_offset
from voicelog.papers.tables.day_json import day_json, schema
from voicelog.papers.write import FORMATS, PAPERS, write_papers

__all__ = [
    "FORMATS",
    "PAPERS",
    "Letterhead",
    "Matching",
    "Subject",
    "Written",
    "day_json",
    "day_log",
    "estimate_sheet",
    "invoices",
    "match_photos",
    "paper_html",
    "paper_pdf",
    "parse_offset",
    "quotes",
    "schema",
    "subject_of",
    "work_record",
    "write_papers",
]

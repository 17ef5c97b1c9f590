"""The estimate sheet: what is damaged, what it costs, what may remain."""

from __future__ import annotations

from voicelog.papers.blocks import Paper, Signatures
from voicelog.papers.content import sections
from voicelog.papers.content.job_on_paper import Subject


def estimate_sheet(subject: Subject) -> Paper:
    """The estimate as it stands by the record."""
    letterhead = subject.letterhead
    date = subject.words.date(subject.last_at())
    head = sections.facts(
        *sections.job_rows(subject),
        ("Rate card", f"{subject.card_name} ({subject.priced.card[:8]})".strip()),
    )
    return Paper(
        title="Estimate",
        number=f"{letterhead.estimate_prefix}{subject.number}",
        date=date,
        letterhead=letterhead,
        addressee=subject.addressee,
        blocks=(
            head,
            *sections.open_points(subject),
            *sections.damage(subject),
            *sections.price(subject),
            *sections.promises(subject),
            *sections.quotes(subject),
            *sections.photos(subject),
            *sections.cautions(),
            Signatures(("Workshop", "Customer", "Date")),
        ),
    )

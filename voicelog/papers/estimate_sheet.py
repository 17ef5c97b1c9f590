"""The estimate sheet: what is damaged, what it costs, what may remain."""

from __future__ import annotations

from voicelog.papers import parts
from voicelog.papers.blocks import Paper, Signatures
from voicelog.papers.subject import Subject


def estimate_sheet(subject: Subject) -> Paper:
    """The estimate as it stands by the record."""
    letterhead = subject.letterhead
    date = subject.words.date(subject.last_at())
    head = parts.facts(
        *parts.job_rows(subject),
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
            *parts.open_points(subject),
            *parts.damage(subject),
            *parts.price(subject),
            *parts.promises(subject),
            *parts.quotes(subject),
            *parts.photos(subject),
            *parts.cautions(),
            Signatures(("Workshop", "Customer", "Date")),
        ),
    )

"""What became of an utterance of natural talk, in seven categories that exclude each other.

right      Accepted with a fair kind, every expected slot, nothing else, and every `keep` part held.
           Also: decision `kept` (or accepted as none) where nothing but words was to be kept and
           all `keep` parts are; and decision rejected where the talk was for somebody else (kind
           none, nothing to keep).
asked      Asked sensibly: the decision is asked, there is a question, `ask_ok` says that a question
           is as good as an answer, and what is asked about, of whatever kind, holds nothing false (a
           value is not false where the right one is among its alternatives).
bothered   Asked needlessly or wrongly: any other that was asked.
kept       Nothing false was put down, every `keep` part is held, expected slots are lacking, but
           words were kept, so that nobody loses them: decision `kept`, or accepted with words kept.
           Talk for somebody else that was kept as words counts here too.
rejected   The decision is rejected although it was said to the tool.
lost       Lost in silence: accepted or kept, nothing false, but a `keep` part is held nowhere, or
           an expected slot is lacking and no words were kept.
wrong      Wrong in silence: accepted with a kind that is not fair, with a slot value that differs,
           or with a slot that nobody said.  Whatever is accepted of talk for somebody else, too.

A fair kind is that of the expected reading or of one under `also`, with that reading's slots; for a
remark (kind none with words to keep) any kind will do that puts down nothing but its words.

Values.  Millimetres and micrometres may differ by 1 (coins and balls are rounded in the
expectations), other numbers not at all.  Lists compare as sets.  Words compare without capitals,
punctuation, articles and the like, number words as digits; a value may hold more of the
utterance's own words than expected.  Fewer of them ("handle" for "below the handle") are lacking.
`paid`, `oversize` and other flags compare as true or not when True is expected.

Not looked at: which dent is meant where the expectation names none but the utterance does,
`next_dent` and `same_again` where not expected, `clear` in a negation, an `end` that the panel can
only have ("front" of a wing, also of "driver's door"), a count of one, `access` trim-off beside
`take_off`.  The tool's words for "one", "first", "last" … are as good as the number they stand for.

A lacking slot counts as held where the open dent holds the expected value afterwards ("same
door"), or none of what was to be cleared, or where `same_again` is set.  A slot beyond the expected
ones is harmless where it repeats what the open dent held before, where it is a number or an open
slot (one not of a few values) and holds a `keep` part by its value or its name, or where it is a
text slot (place, tool, memo, note) with words of the utterance.

A `keep` part is held when its words are in the outcome's `kept`, `memo` or `note`, in a text slot, or,
numbers, in a slot or its alternatives.  A part that names no word of the utterance is a label
("not PDR"): any kept words or such a slot will do.  A ball's name is held by its right length.
Nothing has to be kept where a reading under `also` fits that has a slot more than the expected one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from .compare import Finding, compare, equal, holds, kept_words
from .play import Played

Category = Literal["right", "asked", "bothered", "kept", "rejected", "lost", "wrong"]
CATEGORIES: dict[Category, str] = {
    "right": "right",
    "asked": "asked sensibly",
    "bothered": "asked needlessly or wrongly",
    "kept": "kept as words",
    "rejected": "rejected",
    "lost": "lost in silence",
    "wrong": "WRONG IN SILENCE",
}


@dataclass(frozen=True)
class Score:
    """The category of one utterance, and why."""

    played: Played
    category: Category
    why: str = ""


def score(played: Played) -> Score:
    """Judge one utterance; the module's text says how."""
    category, why = _judge(played)
    return Score(played, category, why)


def _judge(played: Played) -> tuple[Category, str]:
    saying, outcome = played.saying, played.outcome
    decision = outcome["decision"]
    for_others = all(kind == "none" for kind, _ in saying.readings) and not saying.keep
    if decision == "rejected":
        return ("right", "") if for_others else ("rejected", outcome.get("reason", ""))
    if decision == "asked":
        sensible = saying.ask_ok and bool(outcome.get("question")) and not _questionable(played).false
        return ("asked" if sensible else "bothered"), outcome.get("question") or "asks nothing"
    lost = [part for part in saying.keep if not holds(part, played)]
    if decision == "kept":
        if lost or not kept_words(outcome):
            return "lost", "; ".join(lost) or "no words were kept"
        words_only = any(not slots for _, slots in saying.readings) and not for_others
        return ("right" if words_only else "kept"), ""
    if for_others:
        return "wrong", f"taken as {outcome['kind']} {outcome['slots']}"
    return _accepted(played, lost)


def _accepted(played: Played, lost: list[str]) -> tuple[Category, str]:
    best = _best(played)
    lost = [] if best.says_more else lost
    if best.false:
        return "wrong", "; ".join(best.false)
    if lost or (best.lacking and not kept_words(played.outcome)):
        return "lost", "; ".join([*best.lacking, *(f"not kept: {part}" for part in lost)])
    return ("kept" if best.lacking else "right"), "; ".join(best.lacking)


def _best(played: Played) -> Finding:
    """The outcome against the fair reading that suits it best."""
    saying, got = played.saying, played.outcome["kind"]
    findings = [
        compare(played, slots)
        for kind, slots in saying.readings
        if kind == got or (not slots and (got == "none" or (kind == "none" and saying.keep)))
    ]
    if not findings:
        return Finding([f"kind {got}, not {saying.kind}: {played.outcome['slots']}"], [])
    return min(findings, key=lambda finding: (len(finding.false), len(finding.lacking)))


def _questionable(played: Played) -> Finding:
    """What was asked about: of any kind, and as if the right one of the alternatives were taken."""
    slots = dict(played.outcome["slots"])
    for name, doubt in played.outcome.get("doubts", {}).items():
        value = played.saying.slots.get(name)
        if any(equal(name, value, other, played.saying.say) for other in doubt.get("alternatives", ())):
            slots[name] = value
    taken = replace(played, outcome={**played.outcome, "slots": slots})
    findings = [compare(taken, expected) for _, expected in played.saying.readings]
    return min(findings, key=lambda finding: len(finding.false))

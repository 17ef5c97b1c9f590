"""What the paint readings at a dent suggest, by thresholds and by the reference spot.

A film as thick as the maker's and as the other side's is unremarkable; a thicker one was
likely painted again, a very thick one likely hides filler, a thin one may be polished through
soon.  These words are guidance to the technician, never a verdict on the car.

The highest reading decides what is thick and the lowest what is thin, because one spot of
filler is enough to lose the paint; the reference counts by its mean.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any, Literal, Protocol

from voicelog.jobs.records import Dent, Job, Reading
from voicelog.jobs.spot import Spot, spot_of
from voicelog.meaning.place import may_be_one
from voicelog.units import Units, figure

Result = Literal["factory", "refinish", "filler", "thin", "no-reference"]
NOTABLE = ("refinish", "filler", "thin")


class Thresholds(Protocol):
    """Limits in micrometres, as a rate card holds them; None for one that is not set."""

    @property
    def thick_above_um(self) -> Decimal | None:
        """Above it the film is thick for a factory finish."""

    @property
    def refinished_above_um(self) -> Decimal | None:
        """Above it it was likely painted again."""

    @property
    def over_reference_um(self) -> Decimal | None:
        """So much over the reference it was likely painted again."""

    @property
    def filler_above_um(self) -> Decimal | None:
        """Above it there is likely filler."""


@dataclass(frozen=True)
class Assessment:
    """What the readings at one dent suggest."""

    result: Result
    spot: Spot
    """At the dent."""
    reference: Spot | None
    by_reference: bool
    """Whether the comparison with the reference shows it."""
    settled: bool
    """False while one of the readings behind it is in doubt."""
    thick: bool
    """Whether it is thick for a factory finish though nothing else speaks against one."""
    units: Units = "mm"

    @property
    def difference(self) -> Decimal | None:
        """Mean at the dent less mean of the reference, in µm."""
        return None if self.reference is None else self.spot.mean - self.reference.mean

    @property
    def ratio(self) -> Decimal | None:
        """Mean at the dent by mean of the reference; None without one or where that is nought."""
        if self.reference is None or not self.reference.mean:
            return None
        return self.spot.mean / self.reference.mean

    @property
    def notable(self) -> bool:
        """Whether it is worth saying without being asked."""
        return self.result in NOTABLE

    @property
    def finding(self) -> str:
        """The result in words, with what keeps it from being sure."""
        text = str(_data()["results"][self.result]["text"])
        if self.thick and self.result == "factory":
            text = "thick, and the same at the reference"
        if self.spot.single or (self.reference is not None and self.reference.single):
            text += "; single readings only"
        return text if self.settled else f"{text}; a reading is not settled"

    @property
    def comparison(self) -> str:
        """Against the reference: "+122 µm, ×1.88"; empty without one."""
        if self.difference is None:
            return ""
        unit = "µm" if self.units == "mm" else "mils"
        sign = "−" if self.difference < 0 else "+"
        text = f"{sign}{figure(abs(self.difference), self.units)} {unit}"
        return text if self.ratio is None else f"{text}, ×{self.ratio:.2f}"

    @property
    def text(self) -> str:
        """Whole text for screen and papers."""
        beside = "" if self.reference is None else f"; reference {self.reference.text(self.units)}"
        compared = f"; {self.comparison}" if self.comparison else ""
        return f"{self.spot.text(self.units)}{beside}{compared}: {self.finding} (guidance, no verdict)"

    @property
    def spoken(self) -> str:
        """The result as it is spoken after a reading."""
        words = _data()["results"][self.result]
        return str(words.get("spoken_by_reference" if self.by_reference else "spoken", words["spoken"]))


@cache
def _data() -> Mapping[str, Any]:
    return tomllib.loads((resources.files("voicelog.jobs") / "paint.toml").read_text(encoding="utf-8"))


def assess(dent: Dent, job: Job, thresholds: Thresholds, units: Units = "mm") -> Assessment | None:
    """What the readings at a dent suggest; None where there are none.

    Args:
        dent: the dent with its readings.
        job: the job with its reference readings.
        thresholds: limits in µm (a card's paint rules).
        units: what `text` is written in.
    """
    enough = int(_data()["spot_readings"])
    spot = spot_of((reading.um.value for reading in dent.readings), enough)
    if spot is None:
        return None
    beside = references_of(dent, job)
    reference = spot_of((reading.um.value for reading in beside), enough)
    result, by_reference = _judge(spot, reference, thresholds)
    settled = all(r.um.confirmed and r.um.question is None for r in (*dent.readings, *beside))
    thick = _over(spot.most, thresholds.thick_above_um)
    return Assessment(result, spot, reference, by_reference, settled, thick, units)


def _judge(spot: Spot, reference: Spot | None, limits: Thresholds) -> tuple[Result, bool]:
    """The result, and whether the reference shows it."""
    thin = _data()["thin"]
    over = reference is not None and _over(spot.most - reference.mean, limits.over_reference_um)
    under = reference is not None and reference.mean - spot.least > thin["under_reference_um"]
    if _over(spot.most, limits.filler_above_um):
        return "filler", over
    if over or _over(spot.most, limits.refinished_above_um):
        return "refinish", over
    if under or spot.least < thin["below_um"]:
        return "thin", under
    return ("no-reference" if reference is None else "factory"), False


def _over(value: Decimal, limit: Decimal | None) -> bool:
    return limit is not None and value > limit


def references_of(dent: Dent, job: Job) -> tuple[Reading, ...]:
    """Reference readings for the dent's panel: those that name it, else those that name none."""
    fitting = [reading for reading in job.references if _fits(reading, dent)]
    return tuple([reading for reading in fitting if reading.panel is not None] or fitting)


def _fits(reading: Reading, dent: Dent) -> bool:
    return reading.panel is None or may_be_one((reading.panel, reading.end, reading.side), dent.place)


def assessments(job: Job, thresholds: Thresholds, units: Units = "mm") -> Iterator[tuple[Dent, Assessment]]:
    """Every dent of a job that has readings, with what they suggest."""
    for dent in job.listed():
        found = assess(dent, job, thresholds, units)
        if found is not None:
            yield dent, found


def probe_for(material: str) -> str | None:
    """The probe that reads on a material; None where none does (plastic, composite)."""
    for probe, metals in _data()["probes"].items():
        if material in metals:
            return str(probe)
    return None

"""Readings as spots, and what they suggest.

Checks from outside: SSPC-PA 2 (a spot measurement is the average of at least three gauge
readings; read in copies of the 1996 to 2004 texts), ASTM D7091 (single-point measurements may
not represent the surface), ISO 2360 (report mean, maximum, minimum, standard deviation and
number of readings), the international inch of 25.4 mm exactly.  What ISO 2808, 2178 and 2360
say on the number of readings was not readable.
"""

from __future__ import annotations

import math
import statistics
from decimal import Decimal
from random import Random

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.jobs.making import Limits, dent, field, job, reading
from voicelog.jobs.paint import assess, assessments, probe_for
from voicelog.jobs.records import Job
from voicelog.jobs.spot import Spot, spot_of
from voicelog.units import figure, thickness, to_mils

MICROMETRES = st.decimals(10, 3000, places=1)
READINGS = st.lists(MICROMETRES, min_size=1, max_size=12).map(tuple)
SOME = settings(deadline=None, max_examples=80)


class TestSpot:
    def test_three_readings_make_a_spot_and_fewer_are_single_readings(self) -> None:
        """SSPC-PA 2: a spot is the average of at least three gauge readings."""
        three = spot_of((120, 123, 126), 3)
        assert three is not None
        assert (three.mean, three.count, three.single) == (123, 3, False)
        assert spot_of((120, 126), 3).single  # type: ignore[union-attr]
        assert "single reading" in Spot((Decimal(120),)).text()
        assert "single readings" in Spot((Decimal(120), Decimal(126))).text()
        assert "single" not in three.text()

    def test_no_number_is_no_spot(self) -> None:
        assert spot_of((), 3) is None
        assert spot_of(("thick",), 3) is None

    @SOME
    @given(READINGS)
    def test_mean_and_spread_agree_with_plain_floats(self, values: tuple[Decimal, ...]) -> None:
        """ISO 2360 reports mean, standard deviation, least, most and number; the oracle is plain floats."""
        spot = Spot(values)
        assert math.isclose(spot.mean, statistics.fmean(map(float, values)), rel_tol=1e-9)
        assert (spot.least, spot.most, spot.count) == (min(values), max(values), len(values))
        if len(values) == 1:
            assert spot.spread is None
            return
        mean = math.fsum(map(float, values)) / len(values)
        squares = math.fsum((float(value) - mean) ** 2 for value in values)
        assert spot.spread is not None
        assert math.isclose(spot.spread, math.sqrt(squares / (len(values) - 1)), rel_tol=1e-6, abs_tol=1e-6)

    @SOME
    @given(READINGS)
    def test_the_mean_lies_between_the_ends(self, values: tuple[Decimal, ...]) -> None:
        spot = Spot(values)
        assert spot.least <= spot.mean <= spot.most

    @SOME
    @given(READINGS, st.randoms(use_true_random=False))
    def test_the_order_of_readings_does_not_matter(self, values: tuple[Decimal, ...], random: Random) -> None:
        shuffled = list(values)
        random.shuffle(shuffled)
        one, other = Spot(values), Spot(tuple(shuffled))
        assert one.text() == other.text()
        assert one.spread == other.spread
        limits = Limits()
        found = [assess(dent(readings=s.readings), job(references=[120]), limits) for s in (one, other)]
        assert found[0] is not None
        assert found[0].text == found[1].text  # type: ignore[union-attr]


class TestUnits:
    @SOME
    @given(MICROMETRES)
    def test_a_mil_is_25_4_micrometres_as_pint_converts_it(self, um: Decimal) -> None:
        """1 mil = 0.001 inch = 25.4 µm exactly; pint's `thou` is the length (its `mil` is an angle)."""
        registry = pint.UnitRegistry(non_int_type=Decimal)
        oracle = registry.Quantity(um, "micrometer").to("thou").magnitude
        assert abs(to_mils(um) - oracle) < Decimal("1e-20")

    @pytest.mark.parametrize(
        ("mils", "um"),
        [("1", "25.4"), ("2", "50.8"), ("3.5", "88.9"), ("5", "127"), ("7", "177.8"), ("12", "304.8")],
    )
    def test_whole_mils(self, mils: str, um: str) -> None:
        """Arithmetic of the exact inch."""
        assert to_mils(Decimal(um)) == Decimal(mils)

    def test_shown_to_one_decimal_of_a_mil_or_a_whole_micrometre(self) -> None:
        assert thickness(Decimal("142.4")) == "142 µm"
        assert thickness(Decimal(142), "inch") == "5.6 mils"
        assert figure(Decimal("0.5")) == "1"

    def test_an_assessment_in_mils_names_no_micrometre(self) -> None:
        found = assess(dent(readings=[127, 127, 127]), job(references=[127, 127, 127]), Limits(), "inch")
        assert found is not None
        assert "5.0 mils" in found.text
        assert "µm" not in found.text


class TestResult:
    @pytest.mark.parametrize(
        ("readings", "references", "result"),
        [
            # Common practice, no source: about 117 µm with the same on the other side is unremarkable.
            ([117, 117, 117], [117, 117, 117], "factory"),
            ([116, 118, 119], [115, 117, 118], "factory"),
            # Trade pages (no standard): a factory film is 90 to 180 µm in all.
            ([90, 90, 90], [90], "factory"),
            ([180, 180, 180], [180], "factory"),
            ([260], [120], "refinish"),
            ([251], [251], "refinish"),
            ([250], [250], "factory"),
            ([201], [120], "refinish"),
            ([200], [120], "factory"),
            ([501], [120], "filler"),
            ([500], [120], "refinish"),
            ([120, 620, 120], [120], "filler"),
            ([79], [100], "thin"),
            ([79], [], "thin"),
            ([95], [136], "thin"),
            ([95], [135], "factory"),
            ([120], [], "no-reference"),
            ([300], [], "refinish"),
            ([900], [], "filler"),
        ],
    )
    def test_by_the_thresholds_of_an_invented_card(
        self, readings: list[int], references: list[int], result: str
    ) -> None:
        found = assess(dent(readings=readings), job(references=references), Limits())
        assert found is not None
        assert found.result == result
        assert found.notable == (result in ("refinish", "filler", "thin"))

    def test_a_card_without_limits_calls_nothing_thick(self) -> None:
        none = Limits(None, None, None, None)
        found = assess(dent(readings=[900]), job(references=[120]), none)
        assert found is not None
        assert found.result == "factory"

    def test_difference_and_ratio_are_of_the_means(self) -> None:
        found = assess(dent(readings=[230, 240, 250]), job(references=[118, 120, 122]), Limits())
        assert found is not None
        assert (found.difference, found.ratio) == (120, 2)
        assert found.comparison == "+120 µm, ×2.00"

    def test_without_a_reference_there_is_no_comparison(self) -> None:
        found = assess(dent(readings=[120]), job(), Limits())
        assert found is not None
        assert (found.difference, found.ratio, found.comparison) == (None, None, "")

    def test_no_reading_is_nothing_to_assess(self) -> None:
        assert assess(dent(), job(references=[120]), Limits()) is None

    def test_thick_like_its_reference_is_said_so(self) -> None:
        found = assess(dent(readings=[230] * 3), job(references=[229] * 3), Limits())
        assert found is not None
        assert found.result == "factory"
        assert found.finding == "thick, and the same at the reference"

    def test_a_reading_in_doubt_is_said_to_be(self) -> None:
        doubtful = dent(readings=[117] * 3)
        doubtful.readings[1].um = field(115, alternatives=(150,))
        found = assess(doubtful, job(references=[117] * 3), Limits())
        assert found is not None
        assert not found.settled
        assert "not settled" in found.text

    def test_words_are_guidance_and_never_a_verdict(self) -> None:
        for um in (60, 117, 260, 620):
            found = assess(dent(readings=[um]), job(references=[117]), Limits())
            assert found is not None
            assert "guidance, no verdict" in found.text

    @SOME
    @given(READINGS, READINGS)
    def test_a_thicker_film_never_looks_thinner(
        self, readings: tuple[Decimal, ...], references: tuple[Decimal, ...]
    ) -> None:
        order = ("thin", "factory", "refinish", "filler")
        found = [
            assess(dent(readings=[um + more for um in readings]), job(references=references), Limits())
            for more in (0, 50)
        ]
        # Both signs at one spot (a thin and a thick reading) count as thick, so more can only be more.
        ranks = [order.index(one.result) for one in found if one is not None]
        assert ranks == sorted(ranks)


class TestReference:
    def at(self, *references: object) -> Job:
        door = dent(panel="door", end="rear", side="left", readings=[120])
        return job(door, references=references)  # type: ignore[arg-type]

    def mean(self, found: Job) -> Decimal | None:
        one = assess(found.dents[1], found, Limits())
        assert one is not None
        return None if one.reference is None else one.reference.mean

    def test_readings_that_name_the_panel_go_before_those_that_name_none(self) -> None:
        assert self.mean(self.at(100, reading(140, panel="door", end="rear", side="left"))) == 140

    def test_a_reading_on_another_panel_is_no_reference(self) -> None:
        assert self.mean(self.at(reading(140, panel="roof"))) is None
        assert self.mean(self.at(reading(140, panel="door", end="front", side="left"))) is None

    def test_a_side_not_said_fits_both(self) -> None:
        assert self.mean(self.at(reading(140, panel="door"))) == 140

    def test_every_dent_with_readings_is_assessed(self) -> None:
        found = job(dent(1, readings=[120]), dent(2), dent(3, readings=[300]), references=[120])
        assert [(one.number, other.result) for one, other in assessments(found, Limits())] == [
            (1, "factory"),
            (3, "refinish"),
        ]


@pytest.mark.parametrize(
    ("material", "probe"),
    [
        ("steel", "magnetic"),
        ("high-strength-steel", "magnetic"),
        ("aluminium", "eddy-current"),
        ("plastic", None),
        ("composite", None),
    ],
)
def test_the_probe_that_reads_on_a_material(material: str, probe: str | None) -> None:
    """ISO 2178: non-magnetizable films on magnetizable metal; ISO 2360: on non-magnetic metal."""
    assert probe_for(material) == probe

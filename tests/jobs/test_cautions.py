"""Cautions: what brings them up, how often, and that their figures are those published."""

from __future__ import annotations

import re

import pytest

from tests.jobs.making import Limits, dent, job, step
from voicelog.answering.duration import spoken_seconds
from voicelog.jobs.cautions import Caution, caution_text, cautions, due_cautions
from voicelog.jobs.records import Job, Step
from voicelog.vocabulary import CHOICES

DEFERRAL = "Follow the product's data sheet, local rules and licensed practice."
BY_ID = {caution.id: caution for caution in cautions()}


def ids(found: Job) -> list[str]:
    return [caution.id for caution in due_cautions(found, Limits())]


@pytest.mark.parametrize("caution", cautions(), ids=lambda caution: caution.id)
class TestEach:
    def test_ends_in_the_deferral(self, caution: Caution) -> None:
        assert caution.text.endswith(DEFERRAL)
        assert caution.spoken.endswith("follow data sheet and rules")

    def test_names_its_source(self, caution: Caution) -> None:
        assert re.search(r"no source|NIOSH|HSE|OSHA|Regulations|no government source", caution.source)

    def test_is_spoken_in_under_four_seconds(self, caution: Caution) -> None:
        """By the estimate of the answering room, fitted to a synthesiser."""
        assert 0 < spoken_seconds(caution.spoken) < 4

    def test_neither_blocks_the_work_nor_calls_it_safe(self, caution: Caution) -> None:
        assert not re.search(
            r"\bsafe\b|safely|\bmust\b|stop work|forbidden", f"{caution.text} {caution.spoken}"
        )

    def test_its_terms_are_values_of_the_vocabulary(self, caution: Caution) -> None:
        terms = [term for group in caution.when for term in group]
        terms += caution.near.steps if caution.near else ()
        assert terms
        for term in terms:
            slot, _, values = term.partition("=")
            known = {"refinish", "filler", "thin"} if slot == "paint" else set(CHOICES[slot])
            assert set(values.split("|")) <= known


class TestPublishedFigures:
    def test_flash_point_of_isopropyl_alcohol(self) -> None:
        """NIOSH Pocket Guide npgd0359, read in a copy: flash point 53 °F; class IB is below 73 °F."""
        fahrenheit = 53
        celsius = (fahrenheit - 32) * 5 / 9
        assert f"{celsius:.0f} °C" in BY_ID["solvent-near-heat"].text
        assert f"{fahrenheit} °F" in BY_ID["solvent-near-heat"].source
        assert celsius < 20, "below room temperature, as the text says"

    def test_noise_action_values(self) -> None:
        """Control of Noise at Work Regulations 2005, reg. 4: lower 80, upper 85 dB(A); OSHA 1910.95(c)(1):
        85 dBA over eight hours (this one partly from memory)."""
        text = BY_ID["noise"].text
        assert "80 dB(A)" in text
        assert "85 dB(A)" in text
        assert "85 dBA over eight hours" in text
        assert {int(figure) for figure in re.findall(r"(\d+) dB", text)} == {80, 85}

    def test_eye_protection(self) -> None:
        """OSHA 29 CFR 1910.133, read in a copy: for flying particles, side protection from flying objects."""
        assert "1910.133" in BY_ID["eyes"].source
        assert "side protection" in BY_ID["eyes"].text

    def test_cars_on_jacks(self) -> None:
        """HSE, working under vehicles: chock wheels, never beneath a vehicle supported only on jacks."""
        text = BY_ID["lever-near-wheel"].text
        assert "Chock the wheels" in text
        assert "never work beneath a vehicle that stands on jacks alone" in text

    def test_how_long_glue_is_left(self) -> None:
        """Common practice, no source: hot-melt glue is left about ten seconds before the pull."""
        assert "left about ten seconds before the pull" in BY_ID["pull-on-refinish"].text
        assert BY_ID["pull-on-refinish"].source == "common practice, no source"

    def test_no_waiting_time_is_printed_for_airbags(self) -> None:
        """Makers differ on it, so a figure would be wrong somewhere."""
        for name in ("heat-near-systems", "inflator-behind-trim"):
            assert not re.search(r"\d", BY_ID[name].text)


class TestTriggers:
    @pytest.mark.parametrize("order", [("wipe", "warm"), ("warm", "wipe"), ("clean", "warm")])
    @pytest.mark.parametrize(("minutes", "due"), [(0, True), (20, True), (21, False), (600, False)])
    def test_solvent_and_heat_within_minutes(self, order: tuple[str, str], minutes: int, due: bool) -> None:
        found = job(dent(steps=[step(order[0]), step(order[1], minutes)]))
        assert ("solvent-near-heat" in ids(found)) == due

    def test_the_steps_may_be_at_different_dents(self) -> None:
        assert "solvent-near-heat" in ids(
            job(dent(1, steps=[step("wipe")]), dent(2, steps=[step("warm", 5)]))
        )

    @pytest.mark.parametrize(
        ("name", "slots", "steps", "readings"),
        [
            ("heat-near-systems", {}, [step("warm")], []),
            ("inflator-behind-trim", {"panel": "roof-rail"}, [step("push")], []),
            ("inflator-behind-trim", {"panel": "pillar-c", "access": "trim-off"}, [], []),
            ("pull-on-refinish:1", {"method": "glue-pull"}, [], [260]),
            ("pull-on-refinish:1", {}, [step("pull")], [620]),
            ("pull-on-refinish:1", {"method": "glue-pull", "features": ("filler",)}, [], []),
            ("lever-near-wheel", {"panel": "quarter"}, [step("lever")], []),
            ("lever-near-wheel", {"panel": "wing", "method": "lever"}, [], []),
            ("eyes", {}, [step("knock-down")], []),
            ("noise", {}, [step("knock-down", n) for n in range(3)], []),
        ],
    )  # fmt: skip
    def test_bring_it_up(
        self, name: str, slots: dict[str, str], steps: list[Step], readings: list[int]
    ) -> None:
        assert name in ids(job(dent(steps=steps, readings=readings, **slots), references=[120]))

    @pytest.mark.parametrize(
        ("name", "slots", "steps", "readings"),
        [
            ("pull-on-refinish:1", {"method": "glue-pull"}, [step("pull")], [120]),
            ("pull-on-refinish:1", {"method": "push"}, [step("push")], [620]),
            ("lever-near-wheel", {"panel": "roof", "method": "lever"}, [step("lever")], []),
            ("inflator-behind-trim", {"panel": "door", "access": "trim-off"}, [step("push")], []),
            ("noise", {}, [step("knock-down"), step("knock-down", 1), step("push", 2)], []),
            ("eyes", {"method": "push"}, [step("push")], []),
        ],
    )  # fmt: skip
    def test_leave_it_alone(
        self, name: str, slots: dict[str, str], steps: list[Step], readings: list[int]
    ) -> None:
        assert name not in ids(job(dent(steps=steps, readings=readings, **slots), references=[120]))

    def test_two_dents_do_not_share_a_trigger(self) -> None:
        """A thick reading on one dent and a glue pull on another are no pull on thick paint."""
        assert ids(job(dent(1, readings=[620]), dent(2, method="glue-pull"), references=[120])) == []

    def test_a_removed_dent_brings_nothing_up(self) -> None:
        gone = dent(steps=[step("knock-down")])
        gone.removed = True
        assert ids(job(gone)) == []

    def test_steps_said_while_no_dent_was_open_count(self) -> None:
        assert "heat-near-systems" in ids(job(steps=[step("warm")]))


class TestRepeat:
    def test_once_on_a_job(self) -> None:
        found = job(dent(steps=[step("warm")]), cautions={"heat-near-systems": False})
        assert ids(found) == []

    def test_paint_that_may_lift_once_for_each_dent(self) -> None:
        thick = [dent(n, readings=[260], method="glue-pull") for n in (1, 2)]
        found = job(*thick, references=[120], cautions={"pull-on-refinish:1": True})
        assert ids(found) == ["pull-on-refinish:2"]
        (due,) = due_cautions(found, Limits())
        assert due.text.startswith("Dent 2. ")

    def test_without_thresholds_readings_bring_nothing_up(self) -> None:
        assert due_cautions(job(dent(readings=[620], method="glue-pull"))) == ()

    def test_a_repeated_caution_is_found_by_its_id(self) -> None:
        assert caution_text("pull-on-refinish:7") == BY_ID["pull-on-refinish"].text
        assert caution_text("unheard-of") == "unheard-of"

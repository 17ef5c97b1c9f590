"""What cannot both be true of a dent."""

from __future__ import annotations

import pytest

from tests.jobs.making import dent, job, reading, step
from voicelog.jobs.consistency import contradictions, rules
from voicelog.jobs.records import Dent
from voicelog.meaning.note import SlotValue
from voicelog.vocabulary import CHOICES, DAMAGE_SLOTS


def broken(found: Dent, *others: Dent, **known: object) -> set[str]:
    """Ids of the rules that a dent breaks."""
    return {item.rule.id for item in contradictions(found, job(found, *others, **known))}  # type: ignore[arg-type]


CASES: list[tuple[str, Dent]] = [
    ("magnetic-base", dent(material="aluminium", steps=[step("push", tool_base="magnetic")])),
    ("glue-on-broken-paint", dent(method="glue-pull", features=("edge", "paint-broken"))),
    ("pull-on-broken-paint", dent(features=("paint-broken",), steps=[step("pull")])),
    ("no-access", dent(access="none", method="push")),
    ("worked-without-access", dent(access="none", steps=[step("lever")])),
    ("probe", dent(material="aluminium", readings=[reading(120, probe="magnetic")])),
    ("reading-without-metal", dent(material="plastic", readings=[120])),
    ("wider-than-long", dent(length_mm=30, width_mm=40)),
    ("main-dent-not-there", dent(belongs_to=7)),
    ("belongs-to-itself", dent(belongs_to=1)),
    ("two-materials", dent(2, panel="bonnet", material="aluminium")),
    ("several-belong", dent(2, count=3, belongs_to=1)),
]
GOOD: list[Dent] = [
    dent(material="steel", steps=[step("push", tool_base="magnetic")]),
    dent(material="aluminium", steps=[step("push", tool_base="suction")]),
    dent(method="push", features=("paint-broken",)),
    dent(method="glue-pull", features=("edge",), steps=[step("pull")]),
    dent(access="none", method="glue-pull"),
    dent(access="limited", method="push"),
    dent(material="aluminium", readings=[reading(120, probe="eddy-current")]),
    dent(material="steel", readings=[reading(120, probe="magnetic"), 120]),
    dent(readings=[reading(120, probe="magnetic")]),
    dent(length_mm=40, width_mm=40),
    dent(count=1, length_mm=5),
]


class TestRules:
    @pytest.mark.parametrize(("rule", "found"), CASES, ids=[rule for rule, _ in CASES])
    def test_a_contradiction_is_found(self, rule: str, found: Dent) -> None:
        others = [dent(1, panel="bonnet", material="steel")] if found.number == 2 else []
        assert broken(found, *others) == {rule}

    @pytest.mark.parametrize("found", GOOD, ids=range(len(GOOD)))
    def test_what_agrees_is_left_alone(self, found: Dent) -> None:
        assert broken(found) == set()

    def test_the_cases_try_every_rule(self) -> None:
        assert {rule for rule, _ in CASES} | {"reference-probe"} == {rule.id for rule in rules()}

    @pytest.mark.parametrize(
        "beside",
        [
            dent(1, panel="roof", material="aluminium"),
            dent(1, panel="door", end="front", material="steel"),  # which door was not said
            dent(1, panel="door", end="front", side="right", material="steel"),
            dent(1, panel="door", end="front", side="left"),
        ],
    )
    def test_materials_of_other_panels_are_left_alone(self, beside: Dent) -> None:
        assert not broken(dent(2, panel="door", end="front", side="left", material="aluminium"), beside)

    def test_a_material_in_doubt_contradicts_nothing(self) -> None:
        beside = dent(1, panel="roof", material="steel")
        beside.fields["material"].slot = SlotValue("steel", alternatives=("aluminium",))
        assert not broken(dent(2, panel="roof", material="aluminium"), beside)

    def test_a_reference_on_the_panel_with_the_wrong_probe(self) -> None:
        door = dent(panel="door", material="steel")
        wrong = reading(120, probe="eddy-current", panel="door")
        said = job(door, references=[wrong])
        (found,) = contradictions(door, said, changed=("reference_um",))
        assert (found.rule.id, found.slot) == ("reference-probe", "reference_um")
        elsewhere = reading(120, probe="eddy-current", panel="bonnet")
        assert broken(door, references=[elsewhere]) == set()

    def test_a_dent_that_was_removed_is_no_main_dent(self) -> None:
        gone = dent(1)
        gone.removed = True
        assert broken(dent(2, belongs_to=1), gone) == {"main-dent-not-there"}

    def test_what_was_just_said_is_what_is_asked_about(self) -> None:
        found = dent(access="none", method="push")
        for slot in ("access", "method"):
            (item,) = contradictions(found, job(found), changed=(slot,))
            assert item.slot == slot

    def test_what_contradicted_itself_before_is_not_asked_about_again(self) -> None:
        before = dent(length_mm=30, width_mm=40)
        after = dent(length_mm=30, width_mm=40, depth="deep")
        assert contradictions(after, job(after), before=before, changed=("depth",)) == ()
        again = contradictions(after, job(after), before=before, changed=("width_mm",))
        assert [item.slot for item in again] == ["width_mm"]

    def test_each_names_a_slot_that_a_record_holds_and_its_source(self) -> None:
        for rule in rules():
            assert set(rule.doubts) <= {*DAMAGE_SLOTS, "paint_um", "reference_um"}
            assert rule.source
            for term in rule.terms:
                slot, _, values = term.partition("=")
                if slot in CHOICES:
                    assert set(values.split("|")) <= set(CHOICES[slot])

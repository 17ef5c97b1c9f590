"""Learning: on simulated workshops with known factors it finds them within what it states."""

from __future__ import annotations

import math
from decimal import Decimal
from functools import cache

import numpy as np
import pytest

from tests.estimate.making import dent, field, job, reading
from voicelog.errors import VoicelogError
from voicelog.estimate.card import Card, default_card, read_card
from voicelog.estimate.estimate import Range
from voicelog.estimate.how_long import own_minutes
from voicelog.estimate.learning.learn import Factor, Proposal, learn
from voicelog.estimate.learning.mixed_model import fit
from voicelog.estimate.learning.observations import observations
from voicelog.estimate.learning.proposed_card import proposed_card_text
from voicelog.estimate.learning.takings import net_of, takings
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Dent, Job

CARD = default_card()
TRUE = {
    ("all", "all work"): 1.15,
    ("material", "aluminium"): 1.30,
    ("shape", "crease"): 1.20,
    ("shape", "bowl"): 0.85,
    ("access", "limited"): 1.25,
    ("depth", "deep"): 1.0,
    ("features", "edge"): 1.10,
    ("size", "50 to 75 mm"): 0.80,
}
"""Actual over estimated minutes in the simulated workshop; every other level is 1."""


def simulated(seed: int, jobs: int = 80, spread: float = 0.15, *, timed_dents: bool = True) -> list[Job]:
    """Finished jobs of a workshop whose true factors are known."""
    chance = np.random.default_rng(seed)
    made = []
    for number in range(1, jobs + 1):
        dents = [_dent(n, chance) for n in range(1, int(chance.integers(2, 7)))]
        one = job(*dents)
        one.id, one.finished_at = f"job-{number}", f"2025-05-{number:04}"
        day = chance.normal(0, 0.1)
        for line in price_job(one, CARD).lines:
            if line.kind == "dent":
                target = one.dents[line.dents[0]]
                true = math.prod(TRUE.get(level, 1.0) for level in _levels(target)) * TRUE["all", "all work"]
                worked = float(line.minutes.low) * 60 * true * math.exp(day + chance.normal(0, spread))
                one.timer.worked_s += worked
                target.worked_s = worked if timed_dents else 0.0
        made.append(one)
    return made


def _dent(number: int, chance: np.random.Generator) -> Dent:
    def pick(*values: str, common: float = 0.6) -> str:
        share = (1 - common) / (len(values) - 1)
        return str(chance.choice(values, p=[common, *(share for _ in values[1:])]))

    features = ("edge",) if chance.random() < 0.3 else None
    return dent(
        number, pick("bonnet", "roof", "boot-lid"), int(chance.choice([35, 40, 48, 55, 65, 25])),
        material=pick("steel", "aluminium"), shape=pick("round", "crease", "bowl"),
        depth=pick("shallow", "deep"), access=pick("open", "limited"), features=features,
    )  # fmt: skip


def _levels(one: Dent) -> list[tuple[str, str]]:
    length = one.get("length_mm")
    size = "50 to 75 mm" if length > 50 else "30 to 50 mm" if length > 30 else "20 to 30 mm"
    plain = [(slot, one.get(slot)) for slot in ("panel", "material", "shape", "depth", "access")]
    return [*plain, ("size", size), *(("features", item) for item in one.get("features") or ())]


def known(proposal: Proposal) -> list[tuple[Factor, float]]:
    return [(factor, TRUE.get((factor.slot, factor.level), 1.0)) for factor in proposal.factors]


@cache
def learned() -> Proposal:
    """What a workshop with 250 jobs teaches."""
    return learn(simulated(1, jobs=250), CARD)


def test_it_recovers_known_factors_within_its_stated_uncertainty() -> None:
    """Of all 90 % ranges over fifteen simulated workshops about 90 % hold the true factor."""
    inside = total = 0
    for seed in range(15):
        for factor, true in known(learn(simulated(seed), CARD)):
            total += 1
            inside += factor.low <= true <= factor.high
    assert total >= 150
    assert 0.85 <= inside / total <= 0.97


def test_with_much_data_it_is_close_and_finds_what_is_there() -> None:
    proposal = learned()
    for factor, true in known(proposal):
        assert factor.factor == pytest.approx(true, rel=0.06)
    clear = {(factor.slot, factor.level) for factor in proposal.factors if factor.clear}
    assert {key for key, true in TRUE.items() if true != 1} <= clear
    assert proposal.job_spread == pytest.approx(0.10, abs=0.03)
    assert proposal.dent_spread == pytest.approx(0.15, abs=0.02)


def test_few_jobs_shrink_towards_no_difference() -> None:
    few = {(f.slot, f.level): f for f in learn(simulated(3, jobs=2), CARD).factors}
    many = {(f.slot, f.level): f for f in learn(simulated(3, jobs=250), CARD).factors}
    both = few.keys() & many.keys()
    assert len(both) >= 3
    for key in both - {("all", "all work")}:
        assert few[key].high / few[key].low > 1.5 * many[key].high / many[key].low
        assert few[key].jobs <= 2
    assert not any(factor.clear for key, factor in few.items() if key[0] not in ("all", "material"))


def test_jobs_timed_as_a_whole_teach_too() -> None:
    proposal = learn(simulated(5, jobs=250, timed_dents=False), CARD)
    assert proposal.pieces == proposal.jobs == 250
    inside = [factor.low <= true <= factor.high for factor, true in known(proposal)]
    assert sum(inside) / len(inside) >= 0.75


def test_the_fit_is_ridge_regression_where_the_spreads_are_known() -> None:
    """Source: the closed form (X'X/s² + D⁻¹)⁻¹X'y/s² by numpy.linalg.solve on stacked least squares."""
    chance = np.random.default_rng(0)
    job_number = np.repeat(np.arange(40), 5)
    x = np.hstack([np.ones((200, 1)), chance.integers(0, 2, (200, 2)).astype(float)])
    y = x @ [0.2, 0.3, -0.1] + chance.normal(0, 0.1, 40)[job_number] + chance.normal(0, 0.15, 200)
    found = fit(x, y, job_number, np.array([0.5, 0.3, 0.3]))
    covariance = found.within**2 * np.eye(200) + found.between**2 * (job_number[:, None] == job_number[None])
    inverse = np.linalg.inv(covariance)
    precision = x.T @ inverse @ x + np.diag(np.array([0.5, 0.3, 0.3]) ** -2)
    assert found.effects == pytest.approx(np.linalg.solve(precision, x.T @ inverse @ y), rel=1e-6)
    assert found.errors == pytest.approx(np.sqrt(np.diag(np.linalg.inv(precision))), rel=1e-6)


def test_open_values_and_unfinished_jobs_teach_nothing() -> None:
    unsure = job(dent(1, "roof", [15, 50]))
    unsure.finished_at, unsure.dents[1].worked_s = "2025-05-06", 900.0
    going = job(dent(1, "roof", 20))
    going.dents[1].worked_s = 900.0
    proposal = learn([unsure, going], CARD)
    assert (proposal.jobs, proposal.factors) == (0, ())
    assert proposal.lines()[0].startswith("nothing to learn from")
    assert proposed_card_text(proposal, CARD) == (CARD.text, [])


def test_the_proposed_card_is_valid_keeps_comments_and_changes_only_what_is_clear() -> None:
    proposal = learned()
    text, changes = proposed_card_text(proposal, CARD)
    card = read_card(text)
    for line in CARD.text.splitlines():
        if line.startswith("#"):
            assert line in text
    touched = {(change.table, change.key) for change in changes}
    assert {
        ("speed", "all"),
        ("speed.by_value.material", "aluminium"),
        ("speed.by_value.shape", "crease"),
        ("speed.by_value.access", "limited"),
    } <= touched
    assert ("speed.by_value.depth", "deep") not in touched
    assert float(card.speed.by_value["material"]["aluminium"]) == pytest.approx(1.3, abs=0.08)
    assert all(change.why.clear for change in changes)
    assert "was 1; material aluminium" in text


def test_being_quick_never_proposes_another_price() -> None:
    """40 jobs by somebody 20 % faster than the card: the proposed card prices every job as before."""
    quick = simulated(7, jobs=40)
    for one in quick:
        for made in one.dents.values():
            made.worked_s *= 0.8 / 1.15
    text, changes = proposed_card_text(learn(quick, CARD), CARD)
    assert changes
    assert all(price_job(one, read_card(text)).lines == price_job(one, CARD).lines for one in quick)


def test_the_proposed_card_estimates_nearer_to_the_truth() -> None:
    """On jobs it has not seen the mean error of the logarithm shrinks."""
    text, _ = proposed_card_text(learned(), CARD)
    card = read_card(text)
    unseen = simulated(99, jobs=60)

    def error(by: Card) -> float:
        logs = []
        for one in unseen:
            lines = price_job(one, by).lines
            minutes = float(sum(own_minutes(line, by).low for line in lines))
            logs.append(abs(math.log(one.timer.worked_s / 60 / minutes)))
        return sum(logs) / len(logs)

    assert error(card) < 0.6 * error(CARD)


def test_a_proposal_for_another_card_is_refused() -> None:
    proposal = learn(simulated(1, jobs=5), CARD)
    with pytest.raises(VoicelogError, match="another card"):
        proposed_card_text(proposal, default_card("US"))


def test_takings_for_an_hour_by_customer_kind_and_month() -> None:
    """1.7 hours at 85.00 are 50.00 an hour; half an hour at 40.00 is 80.00."""
    one, two = job(dent(1, "roof", 100)), job(dent(1, "roof", 50, count=20))
    for made, name, month, seconds in (
        (one, "Example Motors", "2025-05", 6120),
        (two, None, "2025-06", 1800),
    ):
        made.id, made.finished_at, made.timer.worked_s = month, f"{month}-06T12:00:00+01:00", seconds
        if name:
            made.details["customer"] = field(name)
    nets = {one.id: Range.of(Decimal(85)), two.id: Range.of(Decimal(40))}
    for by, names in (("customer", ["Example Motors", "not named"]), ("kind", ["hail", "one dent"]),
                      ("month", ["2025-05", "2025-06"])):  # fmt: skip
        found = takings([one, two, job(dent(1))], nets, by)  # type: ignore[arg-type]
        assert [group.name for group in found] == names
        assert {group.per_hour.low for group in found} == {Decimal(50), Decimal(80)}


def test_takings_of_a_timer_that_hardly_ran_are_left_out() -> None:
    made = job(dent(1, "roof", 100))
    made.finished_at, made.timer.worked_s = "2025-05-06T12:00:00+01:00", 0.2
    assert takings([made], {made.id: net_of(made, CARD)}, "month") == []
    made.timer.worked_s = 3600.0
    (group,) = takings([made], {made.id: net_of(made, CARD)}, "month")
    assert group.text("GBP") == "2025-05: 1 job, 1.0 h, 85.00 GBP an hour before tax"
    assert group.to_json("GBP")["per_hour"] == {"low": "85.00", "high": "85.00"}


def test_the_time_of_a_panel_is_spread_over_its_dents() -> None:
    """Three hours timed on one of two dents of a roof teach about the roof, not about that dent."""
    made = job(dent(1, "roof", 100), dent(2, "roof", 100), dent(3, "bonnet", 50))
    made.finished_at, made.dents[1].worked_s, made.dents[3].worked_s = "2025-05-06", 10_800.0, 600.0
    roof, bonnet = observations([made], CARD)
    assert (roof.actual, roof.estimated) == (180.0, 85 + 51)
    assert roof.levels["panel", "roof"] == 1.0
    assert (bonnet.actual, bonnet.estimated) == (10.0, 40.0)


def test_dents_without_a_price_are_left_out_of_a_job_timed_as_a_whole() -> None:
    made = job(dent(1, "roof", 100), dent(2, "roof", 20, features=("paint-broken",)))
    made.dents[2].readings = [reading("dent", 120)]
    made.finished_at, made.timer.worked_s = "2025-05-06", 3600.0
    assert learn([made], CARD).jobs == 0

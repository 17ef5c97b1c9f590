"""The lowest and the highest total that the open values of a job allow, exactly.

More minutes, more dents or more parts never lower a total (see `panel`, `tally`).  So

1. of a dent's options on one panel with the same parts only the least (for the lowest
   total) or the greatest (for the highest) can matter, and of those only the ones that
   no other is below (above) in every respect; mostly one is left, and no choice;
2. dents that still have a choice - of the panel, or of parts - are worked through in all
   combinations, but only together with those they can meet on a panel or at a part.

The second step is bounded by `MOST_SCENARIOS` and `MOST_NOTES` for each such group.  Above it, and for a
dent with more than `options.MOST_COMBINATIONS`, the range is no longer the narrowest one
but still holds every alternative: for the lowest total all dents that can meet are put on one
panel under the lowest of the caps (sharing a panel can only make them cheaper), each with
its least option and no part that it may do without; for the highest each stands on a panel
of its own with its dearest option and takes off every part it may need.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product
from math import prod
from operator import ge
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO
from voicelog.estimate.pricing.dent_options import DentOptions, Option, Part, Spot
from voicelog.estimate.pricing.minutes import Assessment
from voicelog.estimate.pricing.scenario import panels_of, parts_of

MOST_SCENARIOS = 4096
"""Combinations of a group of dents that are worked through."""

MOST_NOTES = 25_000
"""Dent notes summed in all combinations of a group together, so that an answer comes in time."""


@dataclass(frozen=True)
class Extreme:
    """The options of the lowest or of the highest total."""

    options: tuple[Option, ...]
    wide: frozenset[int] = frozenset()
    """Dents for which there is only a bound."""


def extreme(dents: Sequence[DentOptions], card: Card, *, highest: bool) -> Extreme:
    """The scenario with the lowest or the highest total, one option for each dent, in their order."""
    left = {dent.dent: _worth_trying(dent, card, highest=highest) for dent in dents}
    chosen = {number: options[0] for number, options in left.items() if len(options) == 1}
    wide = {dent.dent for dent in dents if not dent.exact or dent.loose}
    fixed = list(chosen.values())
    for group in _groups({number: options for number, options in left.items() if len(options) > 1}):
        near = _near(group, fixed)
        scenarios = prod(len(options) for options in group.values())
        if scenarios > MOST_SCENARIOS or scenarios * (len(near) + len(group)) > MOST_NOTES:
            wide.update(group)
            best = _dearest(group, card) if highest else _pooled(group, near, card)
        else:
            best = _best(group, near, card, highest=highest)
        chosen.update((option.dent, option) for option in best)
    return Extreme(tuple(chosen[dent.dent] for dent in dents), frozenset(wide))


def _worth_trying(dent: DentOptions, card: Card, *, highest: bool) -> tuple[Option, ...]:
    """The options of which none is worse than another in every respect."""
    if len(dent.options) == 1:
        return dent.options
    if not dent.exact:
        # Only bounds: "not priced" for the lowest, the dearest panel for the highest.
        return (_dear(dent.options, card) if highest else _least(dent.options),)
    left: list[Option] = []
    for option in dent.options:
        if any(_worse(option, other, highest=highest) for other in left):
            continue
        # What is left never holds two options of which one makes the other needless.
        left = [other for other in left if not _worse(other, option, highest=highest)]
        left.append(option)
    return tuple(left)


def _worse(option: Option, other: Option, *, highest: bool) -> bool:
    """Whether `option` need not be tried beside `other`, also because they come to the same."""
    return _covers(other, option) if highest else _covers(option, other)


def _covers(greater: Option, smaller: Option) -> bool:
    """Whether `greater` costs at least as much as `smaller` whatever the other dents are.

    A dent alone on its panel costs no less than one that shares a panel with the same cap.
    """
    if smaller.effort is None:
        return True
    if greater.effort is None or not _parts_cover(greater, smaller):
        return False
    counted = [
        option.effort is not None and option.effort.counted is not None for option in (greater, smaller)
    ]
    if any(counted):
        # The table of hail rises in steps: apart is not always dearer than together.
        return all(counted) and greater.spot == smaller.spot and all(map(ge, greater.size, smaller.size))
    if greater.spot != smaller.spot and not (greater.alone and greater.place[0] == smaller.place[0]):
        return False
    return all(more >= less for more, less in zip(greater.size, smaller.size, strict=True))


def _parts_cover(greater: Option, smaller: Option) -> bool:
    """Whether every part of `smaller` comes off for `greater` too, or one of its kind for it alone."""
    own = {item for item, _, alone in greater.parts if alone}
    return all(part in greater.parts or part[0] in own for part in smaller.parts)


def _groups(left: Mapping[int, tuple[Option, ...]]) -> Iterator[dict[int, tuple[Option, ...]]]:
    """Dents that can meet on a panel or at a part, directly or through others."""
    waiting = dict(left)
    while waiting:
        number, options = waiting.popitem()
        group = {number: options}
        reach = _reach(options)
        while met := [n for n, options in waiting.items() if reach & _reach(options)]:
            for n in met:
                group[n] = waiting.pop(n)
                reach |= _reach(group[n])
        yield dict(sorted(group.items()))


def _reach(options: Iterable[Option]) -> set[Any]:
    spots: set[Any] = {option.spot for option in options if option.effort is not None}
    return spots.union(*(option.parts for option in options))


def _near(group: Mapping[int, tuple[Option, ...]], fixed: Sequence[Option]) -> list[Option]:
    """The settled dents on panels or at parts that the group can touch: the rest never changes."""
    reach = set[Any]().union(*map(_reach, group.values()))
    return [option for option in fixed if option.spot in reach or option.parts & reach]


def _best(
    group: Mapping[int, tuple[Option, ...]], near: Sequence[Option], card: Card, *, highest: bool
) -> tuple[Option, ...]:
    """Of all combinations the one with the lowest or highest work, together with the dents near it."""
    pick: Callable[..., tuple[Option, ...]] = max if highest else min
    return pick(product(*group.values()), key=lambda combination: _work([*near, *combination], card))


def _work(options: Sequence[Option], card: Card) -> tuple[Decimal, bool]:
    """Money for dents and parts; and, of equal sums, whether anything is priced at all."""
    panels, parts = panels_of(options, card), parts_of(options, card)
    amounts = [panel.total for panel in panels.values()] + [part.amount for part in parts.values()]
    return sum(amounts, ZERO), bool(panels)


def _dearest(group: Mapping[int, tuple[Option, ...]], card: Card) -> tuple[Option, ...]:
    """Options that together cost no less than any combination of the group."""
    return tuple(_dear(options, card) for options in group.values())


def _dear(options: Sequence[Option], card: Card) -> Option:
    """A stand-in that costs no less than any option of a dent, whatever the others are."""
    parts = frozenset[Part]().union(*(option.parts for option in options))
    dearest = max(options, key=lambda option: _work([replace(option, parts=frozenset())], card))
    if dearest.effort is not None and dearest.effort.counted is not None:
        # With others in its row a note adds at most what the last row has for it.
        dearest = replace(dearest, count=max(dearest.count, card.hail.most))
    return replace(dearest, parts=parts, alone=True)


def _pooled(
    group: Mapping[int, tuple[Option, ...]], near: Sequence[Option], card: Card
) -> tuple[Option, ...]:
    """Options, also for the settled dents that the group can meet, that cost no more than any combination."""
    reach = set[Any]().union(*map(_reach, group.values()))
    together = [*map(_least, group.values()), *(option for option in near if option.spot in reach)]
    spots = {option.spot for options in (*group.values(), together) for option in options}
    by_table = any(o.effort is not None and o.effort.counted is not None for os in group.values() for o in os)
    if by_table or any(spot[0][0] in card.flat_by_panel for spot in spots):
        # On a panel with a flat price, or in its row of the table of hail, a dent may cost nothing more.
        return tuple(replace(option, assessment=Assessment(None)) for option in together)
    pool = min(spots, key=lambda spot: _cap(spot, card))
    return tuple(replace(option, pooled=(pool[0], -1 - min(group))) for option in together)


def _cap(spot: Spot, card: Card) -> tuple[Decimal, str]:
    cap = card.several.cap(spot[0][0])
    return (cap[0] if cap else Decimal("Infinity"), repr(spot))


def _least(options: Sequence[Option]) -> Option:
    """A stand-in that costs no more than any option of a dent, on the same panel."""
    efforts = [option.effort for option in options]
    if None in efforts:
        return next(option for option in options if option.effort is None)
    if any(effort is not None and effort.counted is not None for effort in efforts):
        return replace(options[0], assessment=Assessment(None), parts=frozenset())
    parts = frozenset[Part].intersection(*(option.parts for option in options))
    full, count, base, ratio, setup, protection = map(min, zip(*(o.size for o in options), strict=True))
    first = options[0]
    assert first.effort is not None
    least = replace(
        first.effort, full_minutes=full, base_minutes=base, surcharge_minutes=base * ratio,
        setup_minutes=setup, protection_minutes=protection,
    )  # fmt: skip
    return replace(first, assessment=replace(first.assessment, effort=least), count=int(count), parts=parts)

"""Values as text in the words of the region: spoken read-backs and questions, and what the eye reads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import Literal

from voicelog.meaning.note import Note, Slots, SlotValue, Value
from voicelog.meaning.numbers import LARGEST, both_ways, in_figures, tidy
from voicelog.meaning.place import Place, normal
from voicelog.meaning.region import Region
from voicelog.units import MM_PER_INCH, Units, format_number, round_half_up, thickness
from voicelog.vocabulary import CHOICES, JOB_DETAILS, LENGTHS, LISTS, NUMBERS, SPELLED, TEXTS, THICKNESSES

BRITISH = {
    "wing": "wing", "boot-lid": "boot", "bonnet": "bonnet", "quarter": "quarter", "sill": "sill",
    "tailgate": "tailgate", "aluminium": "aluminium", "pillar-a": "A pillar", "pillar-b": "B pillar",
    "pillar-c": "C pillar", "pillar-d": "D pillar", "glue-pull": "glue pull", "trim-off": "trim off",
    "not-fully-out": "may not come fully out", "crease-may-show": "crease may show",
    "high-spots": "high spots may remain", "paint-may-lift": "paint may lift", "texture": "texture may show",
    "edge-may-show": "edge may show", "open": "open access", "limited": "limited access", "none": "no access",
    "high": "high spot", "new": "new job", "finished": "job finished", "close-day": "day closed",
}  # fmt: skip
"""Spoken form by canonical value where it is not the value with its hyphens opened."""

AMERICAN = {
    "wing": "fender", "boot-lid": "trunk", "bonnet": "hood", "quarter": "quarter panel", "sill": "rocker",
    "tailgate": "lift gate", "aluminium": "aluminum", "bumper": "bumper",
}  # fmt: skip

_SLOT_NAMES = {
    "length_mm": "length", "width_mm": "width", "paint_um": "paint", "reference_um": "reference",
    "tab_mm": "tab", "take_off": "parts off", "discount_percent": "discount", "belongs_to": "main dent",
}  # fmt: skip

_UNITS = {
    "length_mm": "mil", "width_mm": "mil", "paint_um": "micron", "reference_um": "micron",
    "tab_mm": "mil", "discount_percent": "percent",
}  # fmt: skip


def name_of(value: str, region: Region) -> str:
    """A canonical value as it is said in the region."""
    if region.american and value in AMERICAN:
        return AMERICAN[value]
    return BRITISH.get(value, value.replace("-", " "))


def place_text(place: Place, region: Region) -> str:
    """A place for the eye: "rear right door", "hood"; the end only where it tells panels apart."""
    panel, end, side = place
    if panel is None:
        return " ".join(part for part in (end, side) if part) or "panel not said"
    return " ".join(name_of(part, region) for part in (normal(place)[1], side, panel) if part)


Form = Literal["spoken", "screen", "paper"]


def span(seconds: float, form: Form) -> str:
    """A duration: "1 hour 5 minutes" spoken, "1:05:09" on a screen, "1 h 05 min" on paper.

    Spoken it is rounded to the minute; paper cuts the seconds off; less than nothing is nothing.
    """
    whole = max(0, int(seconds))
    hours, minutes = divmod(whole // 60, 60)
    if form == "screen":
        return f"{hours}:{minutes:02d}:{whole % 60:02d}"
    if form == "paper":
        return f"{hours} h {minutes:02d} min"
    hours, minutes = divmod(round(max(0.0, seconds) / 60), 60)
    text = f"{minutes} minute{'' if minutes == 1 else 's'}"
    return f"{hours} hour{'' if hours == 1 else 's'} {text}" if hours else text


def written_value(
    slot: str,
    value: Value,
    *,
    name: Callable[[str], str],
    number: Callable[[str, Decimal], str],
    free: Callable[[str], str] = str,
) -> str:
    """One value for the eye: "yes", "body line, edge", "45 mm".

    Args:
        slot: what it is a value of.
        value: the value.
        name: writes a canonical value in trade words.
        number: writes a number of a slot with its unit.
        free: writes what people said or typed in their own words.
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple | list):
        return ", ".join(name(str(item)) for item in value)
    if isinstance(value, int | float | Decimal):
        return number(slot, Decimal(str(value)))
    return name(value) if slot in CHOICES else free(value)


def measure_text(slot: str, value: Decimal, units: Units) -> str:
    """A number of a slot for the eye, with its unit: "45 mm", "1.77 in", "142 µm", "5.6 mils", "22"."""
    if slot in LENGTHS:
        return f"{format_number(value)} mm" if units == "mm" else f"{format_number(value / MM_PER_INCH)} in"
    if slot in THICKNESSES:
        return thickness(value, units)
    return f"{format_number(value)} %" if slot == "discount_percent" else format_number(value)


def choices_text(slot: str, texts: Sequence[str]) -> str:
    """Values in doubt with their unit said once: "15 or 50 mm"."""
    once = slot in LENGTHS | THICKNESSES
    return " or ".join([*(text.rpartition(" ")[0] if once else text for text in texts[:-1]), *texts[-1:]])


def slot_name(slot: str) -> str:
    """A slot as it is said: "length"."""
    return _SLOT_NAMES.get(slot, slot.replace("_", " "))


def heard_number(slot: str, value: int | Decimal, units: Units) -> int | Decimal:
    """A number in the unit that it is heard in: inches to two decimals, thousandths of an inch to one."""
    if units == "inch" and slot in LENGTHS | THICKNESSES:
        return tidy(round_half_up(Decimal(value) / MM_PER_INCH, 2 if slot in LENGTHS else 1))
    return round_half_up(value, 1) if isinstance(value, Decimal) else value


def _unit(slot: str, region: Region, units: Units) -> str:
    if units == "inch" and slot in THICKNESSES:
        return "mils" if region.american else "thou"
    return "inches" if units == "inch" and slot in LENGTHS else _UNITS.get(slot, "")


def say_value(slot: str, value: Value, region: Region) -> str:
    """One value as spoken in a read-back; numbers from ten up figure by figure.

    Inches and thousandths of one are named; millimetres and micrometres need no word.
    """
    said = _bare(slot, value, region)
    measured = region.units == "inch" and slot in LENGTHS | THICKNESSES
    return _with_unit(said, _unit(slot, region, region.units)) if measured else said


def _with_unit(said: str, unit: str) -> str:
    return f"{said} {'inch' if (said, unit) == ('one', 'inches') else unit}"


def _bare(slot: str, value: Value, region: Region) -> str:
    if isinstance(value, tuple):
        return " and ".join(name_of(item, region) for item in value)
    if slot in SPELLED:
        return " ".join(str(value))
    if slot == "clear":
        return slot_name(str(value))
    if isinstance(value, int | Decimal) and not isinstance(value, bool):
        return in_figures(heard_number(slot, value, region.units))
    return str(value) if slot in TEXTS else name_of(str(value), region)


def spoken(note: Note, region: Region) -> str:
    """The read-back of a note, as in "rear right door, steel, four five mil, shallow, push"."""
    return read_back(note.slots, region)


def read_back(slots: Slots, region: Region) -> str:
    """Slots as spoken text, the place first, in the order in which papers show them.

    Slots that are orders to the tool (an answer, a question, a control word) are not read back.
    """
    return ", ".join(text for make in _PARTS if (text := make(slots, region)))


def _place(slots: Slots, region: Region) -> str:
    return " ".join(
        say_value(name, slots[name].value, region) for name in ("end", "side", "panel") if name in slots
    )


def _size(slots: Slots, region: Region) -> str:
    sizes = [_bare(name, slots[name].value, region) for name in ("length_mm", "width_mm") if name in slots]
    if not sizes:
        return ""
    if "hail" in slots and "count" in slots:
        return f"{_said(slots, region, 'count')} at {' by '.join(sizes)}"
    unit = _unit("length_mm", region, region.units)
    return _with_unit(" by ".join(sizes), unit) + ("" if "length_mm" in slots else " wide")


def _dents(slots: Slots, region: Region) -> str:
    return _said(slots, region, "count", after="" if "oversize" in slots else " dents")


def _access(slots: Slots, region: Region) -> str:
    said = [say_value(name, slots[name].value, region) for name in ("access", "take_off") if name in slots]
    return " ".join(said)


def _step(slots: Slots, region: Region) -> str:
    """A step with its details: "pull three, two zero mil crease tab"."""
    said = [_said(slots, region, "step"), _said(slots, region, "pulls")]
    head = " ".join(text for text in [*said, _said(slots, region, "direction")] if text)
    unit = _unit("tab_mm", region, region.units).replace("inches", "inch")
    size = f"{_bare('tab_mm', slots['tab_mm'].value, region)} {unit}" if "tab_mm" in slots else ""
    tab = " ".join(text for text in (size, _said(slots, region, "tab")) if text)
    base = _said(slots, region, "tool_base", after=" base")
    tool, glue = _said(slots, region, "tool"), _said(slots, region, "glue", after=" glue")
    minutes = _said(slots, region, "minutes", after=" minutes")
    return ", ".join(text for text in (head, f"{tab} tab" if tab else "", base, tool, glue, minutes) if text)


def _said(slots: Slots, region: Region, name: str, before: str = "", after: str = "") -> str:
    return f"{before}{say_value(name, slots[name].value, region)}{after}" if name in slots else ""


def _plainly(name: str, before: str = "", after: str = "") -> Callable[[Slots, Region], str]:
    return lambda slots, region: _said(slots, region, name, before, after)


def _flag(name: str, text: str) -> Callable[[Slots, Region], str]:
    return lambda slots, region: text if name in slots else ""


def _detail(name: str) -> Callable[[Slots, Region], str]:
    if name == "mileage":
        return lambda slots, region: _said(slots, region, name, "mileage ", f" {region.distance}")
    return _plainly(name, "V I N " if name == "vin" else f"{name} ")


_PARTS: tuple[Callable[[Slots, Region], str], ...] = (
    _plainly("go_to", "dent "),
    _plainly("remove", "remove dent "),
    _plainly("restore", "restore dent "),
    _plainly("dent", "dent "),
    _plainly("clear", "clear "),
    _flag("next_dent", "next dent"),
    _flag("same_again", "same again"),
    _plainly("job"),
    *(_detail(name) for name in JOB_DETAILS),
    _plainly("quote", "quote "),
    _plainly("discount_percent", "discount ", " percent"),
    _plainly("go_to_job", "go to job "),
    _plainly("find", "go to plate "),
    _plainly("find_stock", "go to stock "),
    _plainly("find_car", "go to the "),
    _plainly("join", "join job "),
    _plainly("join_to", "to job "),
    _plainly("invoice", "invoice "),
    _flag("paid_all", "paid"),
    _plainly("paid", "paid "),
    _plainly("deposit", "deposit "),
    _plainly("by"),
    _plainly("price", "price "),
    _plainly("agreed_price", "the job "),
    _plainly("extra"),
    _plainly("extra_amount"),
    _place,
    _plainly("material"),
    _size,
    lambda slots, region: "" if {"hail", "length_mm"} <= slots.keys() else _dents(slots, region),
    *(_plainly(name) for name in ("shape", "depth", "features")),
    _access,
    _plainly("method"),
    _plainly("place"),
    _plainly("density"),
    _flag("oversize", "oversize"),
    _plainly("square_mm", "in a square of ", " mil"),
    _plainly("area_m2", "area ", " square metres"),
    _flag("done", "done"),
    _flag("before", "there before"),
    _flag("declined", "declined"),
    _plainly("belongs_to", "belongs to dent "),
    _plainly("paint_um", "paint "),
    _plainly("reference_um", "reference "),
    _plainly("probe", after=" probe"),
    _step,
    _plainly("time", after=" work"),
    _plainly("risk"),
)


def choice_text(slot: str, value: Value, region: Region, units: Units = "mm") -> str:
    """One choice of a question; a number both ways: "fifteen, one five"."""
    if slot in NUMBERS and isinstance(value, int | Decimal):
        value = heard_number(slot, value, units)
        return both_ways(value) if value <= LARGEST else in_figures(value)
    return say_value(slot, value, region)


def question_text(slot: str, held: SlotValue, region: Region) -> str:
    """The question about a slot in doubt.

    With alternatives it offers the two likeliest ("length: fifteen, one five; or fifty, five
    zero?"), without it asks whether the one value is right; in the unit in which it was said.
    """
    choices = (held.value, *held.alternatives)[:2]
    units = _units_asked(held, slot, region)
    texts = [choice_text(slot, value, region, units) for value in choices]
    unit = _unit(slot, region, units)
    if len(texts) == 1:
        return f"{slot_name(slot)} {texts[0]}{f' {unit}' if unit else ''}: is that right?"
    named = f" {unit}" if units == "inch" else ""
    return f"{slot_name(slot)}: {texts[0]}; or {texts[1]}{named}?"


def _units_asked(held: SlotValue, slot: str, region: Region) -> Units:
    """What a question is asked in: as it was said, so that the words that sound alike are heard again."""
    named = {"inch", "inches"} if slot in LENGTHS else {"thou", "mils", "mil"}
    if named & set(held.words.split()):
        return "inch"
    whole = all(isinstance(choice, int) for choice in (held.value, *held.alternatives))
    return "mm" if whole and held.words else region.units


def missing_text(slot: str, region: Region, choices: Iterable[str] = ()) -> str:
    """The question for a slot not said yet: "left or right?"."""
    given = tuple(choices) or {"side": ("left", "right"), "end": ("front", "rear")}.get(slot, ())
    if given and slot not in LISTS:
        return f"{' or '.join(name_of(choice, region) for choice in given)}?"
    return f"which {slot_name(slot)}?"

"""TOML into checked models: types as written, and one line that names every error."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Literal

import pytest

from voicelog.errors import VoicelogError
from voicelog.toml_model import Number, Text, TomlModel, load_toml, nearest_to, one_of, read_toml


class Ear(TomlModel):
    volume: float = 0.5
    spoken: bool = True


class Sample(TomlModel):
    country: Text
    kind: Literal["mm", "inch"] = "mm"
    rate: Number = Decimal(1)
    ear: Ear = Ear()
    by_size: Mapping[Annotated[str, one_of(("small", "large"))], Ear] = {}
    address: tuple[str, ...] = ()


def errors(text: str) -> list[str]:
    with pytest.raises(VoicelogError) as caught:
        read_toml(Sample, text, where="a.toml", parse_float=Decimal, todo="mend it")
    assert "\n" not in caught.value.line()
    assert caught.value.line().startswith("a.toml: ")
    return caught.value.what.split(" | ")


def test_values_come_as_written() -> None:
    text = 'country = " GB "\nrate = 1.10\naddress = ["a", "b"]\n[by_size]\nsmall = {spoken = false}'
    made = read_toml(Sample, text, parse_float=Decimal)
    assert (made.country, made.rate, made.address) == ("GB", Decimal("1.10"), ("a", "b"))
    assert made.by_size["small"].spoken is False
    assert read_toml(Sample, "country = 'GB'\n[ear]\nvolume = 1").ear.volume == 1.0


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "country is missing"),
        ("country = 4", "country = 4: should be a text"),
        ("country = 'G'\ncuntry = 'G'", 'cuntry = "G": unknown key, did you mean country?'),
        ("country = 'G'\nkind = 'inc'", "kind = \"inc\": should be 'mm' or 'inch', did you mean inch?"),
        ("country = 'G'\n[ear]\nvolumes = 4", "[ear] volumes = 4: unknown key, did you mean volume?"),
        ("country = 'G'\n[ear]\nx = 4", "[ear] x = 4: unknown key, known are volume, spoken"),
        ("country = 'G'\n[ear]\nspoken = 1", "[ear] spoken = 1: should be true or false"),
        ("country = 'G'\near = 1", "ear = 1: should be a table"),
        ("country = 'G'\n[by_size.small]\nx = 4", "[by_size.small] x = 4: unknown key, known are volume, spoken"),  # noqa: E501
        (
            "country = 'G'\n[by_size.smal]",
            "[by_size] smal: should be one of 'small', 'large', did you mean small?",
        ),
        ("country = 'G'\nrate = nan", "rate = NaN: should be a finite number"),
        ("country = 'G'\nrate = true", "rate = true: should be a number"),
        ("country = 'G'\nrate = 1.0000001", "rate = 1.0000001: should have no more than 6 decimal places"),
    ],
)  # fmt: skip
def test_an_error_names_table_key_value_and_the_nearest_name(text: str, line: str) -> None:
    assert errors(text) == [line]


def test_every_error_is_in_the_one_line() -> None:
    assert len(errors("kind = 'x'\nrat = 3\n[ear]\nvolume = 'x'\nspoken = 0")) == 5


def test_a_file_that_cannot_be_read_or_is_no_toml(tmp_path: Path) -> None:
    with pytest.raises(VoicelogError, match="No such file"):
        load_toml(Sample, tmp_path / "none.toml")
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"country = '\xff'")
    with pytest.raises(VoicelogError, match=r"bad\.toml: not UTF-8"):
        load_toml(Sample, bad)
    bad.write_text("country = \n")
    with pytest.raises(VoicelogError, match=r"bad\.toml: not TOML"):
        load_toml(Sample, bad)


def test_the_nearest_name_is_a_near_one() -> None:
    assert nearest_to("cap_minuts", ["cap_minutes", "second_percent"]) == "cap_minutes"
    assert nearest_to("colour", ["cap_minutes", "second_percent"]) == ""

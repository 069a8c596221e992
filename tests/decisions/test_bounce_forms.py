"""Which forms a delivery needs: against what the shipped targets take, and by construction."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from trainer.decisions.bounce_forms import MasterForm, choose_forms, name_masters, word_form
from trainer.decisions.target import Rule, Target
from trainer.errors import BadValue
from trainer.files.target_reading import list_targets

WISHED = MasterForm(48000, 24, "WAV")


@pytest.fixture(scope="module")
def targets() -> dict[str, Target]:
    """Read the targets that ship."""
    return list_targets(Path("nowhere"))


def take(name: str, *taken: int | str, **others: tuple[int | str, ...]) -> Target:
    """Make a target that takes some values of one figure, or of several."""
    rules = ((name, taken), *others.items())
    made = [Rule(each, "among", values, "", "fail", "standard", "test", "2031-05") for each, values in rules]
    return Target("strict", "Strict", "", tuple(made))


def test_a_disc_and_a_stream_need_two_files(targets: dict[str, Target]) -> None:
    """IEC 60908: 44.1 kHz, 16 bit; what streams take stays as the mix has it."""
    forms = choose_forms([targets[name] for name in ("streaming", "cd", "ebu_r128")], WISHED)
    assert forms == (
        replace(WISHED, targets=("streaming", "ebu_r128")),
        MasterForm(44100, 16, "WAV", ("cd",)),
    )
    assert name_masters("low tide master", forms) == (
        "low tide master 48 kHz 24 bit.wav", "low tide master 44.1 kHz 16 bit.wav",
    )  # fmt: skip
    assert [word_form(form) for form in forms] == [
        "48 kHz, 24 bit with dither, WAV", "44.1 kHz, 16 bit with dither, WAV",
    ]  # fmt: skip


def test_targets_that_one_form_suits_share_a_file(targets: dict[str, Target]) -> None:
    """By construction: at 44.1 kHz and 16 bit a disc and a stream take the same file, and it has the plain name."""
    (form,) = choose_forms([targets["streaming"], targets["cd"]], MasterForm(44100, 16, "FLAC"))
    assert form.targets == ("streaming", "cd") and name_masters("a", (form,)) == ("a.flac",)
    assert choose_forms((), WISHED) == (WISHED,)


@pytest.mark.parametrize(
    ("wished_hz", "taken", "found_hz"),
    [(96000, (44100, 48000), 48000), (88200, (44100, 48000), 44100), (192000, (44100,), 44100),
     (8000, (44100, 48000), 44100), (44100, (48000, 96000), 48000), (48000, (44100, 48000), 48000)],
)  # fmt: skip
def test_a_rate_is_divided_evenly_where_that_can_be(wished_hz: int, taken: tuple[int, ...], found_hz: int) -> None:
    """By construction: as wished, else a whole part of it, else the highest below it, else the lowest there is."""
    (form,) = choose_forms([take("sample_rate_hz", *taken)], replace(WISHED, rate_hz=wished_hz))
    assert form.rate_hz == found_hz


def test_what_cannot_be_made_is_left_as_wished_for_the_check_to_tell() -> None:
    """By construction: a target for coded files alone, or for 8 bits, gets what is wished; FLAC holds no floats."""
    assert choose_forms([take("format", "MP3")], WISHED)[0].file_format == "WAV"
    assert choose_forms([take("format", "FLAC")], WISHED)[0].file_format == "FLAC"
    assert choose_forms([take("bit_depth", 8)], WISHED)[0].bit_depth == 24
    assert choose_forms([take("bit_depth", 24, 32)], replace(WISHED, bit_depth=16))[0].bit_depth == 24
    with pytest.raises(BadValue, match="16 or 24 for FLAC"):
        choose_forms((), MasterForm(48000, 32, "FLAC"))


@pytest.mark.parametrize(
    ("taken", "wished", "found"),
    [
        ({"format": ("FLAC",)}, ("WAV", 32), ("FLAC", 24)),
        ({"format": ("FLAC",), "bit_depth": (16, 32)}, ("WAV", 32), ("FLAC", 16)),
        ({"format": ("FLAC",), "bit_depth": (32,)}, ("WAV", 32), ("FLAC", 24)),
        ({"format": ("WAV", "FLAC"), "bit_depth": (32,)}, ("FLAC", 24), ("WAV", 32)),
        ({"format": ("WAV",)}, ("FLAC", 32), ("WAV", 32)),
        ({"bit_depth": (16, 24)}, ("FLAC", 32), ("FLAC", 24)),
        ({"format": ("FLAC",)}, ("FLAC", 32), None),
        ({"bit_depth": (32,)}, ("FLAC", 32), None),
    ],
)  # fmt: skip
def test_the_format_is_chosen_before_the_word_length(
    taken: dict[str, tuple[int | str, ...]], wished: tuple[str, int], found: tuple[str, int] | None
) -> None:
    """RFC 9639: FLAC holds whole numbers only; a target's format is kept to, and only a wish for both is refused."""
    asked = MasterForm(48000, wished[1], wished[0])  # type: ignore[arg-type]
    (name, values), *others = taken.items()
    if found is None:
        with pytest.raises(BadValue, match="16 or 24 for FLAC"):
            choose_forms([take(name, *values, **dict(others))], asked)
        return
    (form,) = choose_forms([take(name, *values, **dict(others))], asked)
    assert (form.file_format, form.bit_depth) == found

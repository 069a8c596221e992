"""Forms of a master: one for all targets that it suits, as near to what is wished as each target allows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from trainer.decisions.bounce import FLOAT_BITS, Format, check_depth, holds_depth
from trainer.decisions.delivery import keeps
from trainer.decisions.sheet import BIT_DEPTHS, RATES_HZ
from trainer.decisions.target import Target
from trainer.units import write_number

SUFFIXES: dict[Format, str] = {"WAV": ".wav", "FLAC": ".flac"}


@dataclass(frozen=True)
class MasterForm:
    """Say what form a file has, and for which targets it is made.

    Parameters
    ----------
    rate_hz, bit_depth : int
        Rate; 16, 24, or 32 for floating point.
    file_format : str
        ``WAV`` or ``FLAC``.
    targets : tuple of str
        Names of the targets it is for.
    """

    rate_hz: int
    bit_depth: int
    file_format: Format
    targets: tuple[str, ...] = ()


def choose_forms(targets: Sequence[Target], wished: MasterForm) -> tuple[MasterForm, ...]:
    """Choose the forms of a master: as wished where a target leaves it open; targets that come to one form share it.

    Parameters
    ----------
    targets : sequence of Target
        Those that are aimed at; with none there is one file, as wished.
    wished : MasterForm
        Its rate, word length and format.

    Returns
    -------
    tuple of MasterForm
        In the order of the targets.

    Raises
    ------
    BadValue
        If a format does not hold the wished word length.
    """
    if not targets:
        check_depth(wished.bit_depth, wished.file_format)
        return (wished,)
    found: dict[MasterForm, tuple[str, ...]] = {}
    for target in targets:
        form = _suit(target, wished)
        found[form] = (*found.get(form, ()), target.target)
    return tuple(replace(form, targets=names) for form, names in found.items())


def name_masters(stem: str, forms: Sequence[MasterForm]) -> tuple[str, ...]:
    """Name the files of a master: plainly where there is one, else by rate and bits, and by both suffixes."""
    said = [_word_numbers(form) for form in forms] if len(forms) > 1 else [""]
    return tuple(
        f"{stem}{f' {words}' if words else ''}{SUFFIXES[form.file_format]}"
        for form, words in zip(forms, said, strict=True)
    )


def word_form(form: MasterForm) -> str:
    """Word a form: ``44.1 kHz, 16 bit with dither, WAV``."""
    depth = "32 bit floating point" if form.bit_depth == FLOAT_BITS else f"{form.bit_depth} bit with dither"
    return f"{_word_rate(form.rate_hz)}, {depth}, {form.file_format}"


def _suit(target: Target, wished: MasterForm) -> MasterForm:
    """Change what is wished as little as a target asks; what it takes of all that cannot be made stays as wished."""
    rates = _list_taken(target, "sample_rate_hz", (*RATES_HZ, wished.rate_hz))
    depths = [int(bits) for bits in _list_taken(target, "bit_depth", BIT_DEPTHS)]
    taken = _list_taken(target, "format", tuple(SUFFIXES))
    formats = [each for each in SUFFIXES if each in taken]
    # A wish that no file can have is not bent: where the target leaves it so, it is refused.
    makeable = holds_depth(wished.file_format, wished.bit_depth)
    if makeable:
        formats = [each for each in formats if any(holds_depth(each, bits) for bits in depths)] or formats
    file_format = wished.file_format if wished.file_format in formats or not formats else formats[0]
    if makeable:
        held = [bits for bits in BIT_DEPTHS if holds_depth(file_format, bits)]
        depths = [bits for bits in depths if bits in held] or held
    depth = _find_nearest(depths, wished.bit_depth)
    check_depth(depth, file_format)
    return MasterForm(_find_rate(rates, wished.rate_hz), depth, file_format)


def _list_taken(target: Target, name: str, offered: Sequence[int] | Sequence[str]) -> list[int | str]:
    """List what a target takes of what is offered."""
    rules = [rule for rule in target.rules if rule.rule == name and rule.miss != "pass"]
    return [value for value in offered if all(keeps(rule, value) for rule in rules)]


def _find_rate(rates: Sequence[int | str], wished_hz: int) -> int:
    """Find a rate: the wished one, else one that it is a multiple of, else the highest below it, else the lowest."""
    numbers = [int(rate) for rate in rates]
    even = [rate for rate in numbers if wished_hz % rate == 0]
    return max(even) if even else _find_nearest(numbers, wished_hz)


def _find_nearest(numbers: Sequence[int | str], wished: int) -> int:
    """Find the wished number, else the highest below it, else the lowest; as wished where there is none."""
    known = [int(number) for number in numbers]
    return max([number for number in known if number <= wished], default=min(known, default=wished))


def _word_numbers(form: MasterForm) -> str:
    return f"{_word_rate(form.rate_hz)} {form.bit_depth} bit"


def _word_rate(rate_hz: int) -> str:
    return f"{write_number(rate_hz / 1000, 0 if rate_hz % 1000 == 0 else 1)} kHz"

"""How surely recordings of one song are told from those of others, and how well they are brought into step.

Forty seconds of every demo song go through every move of the program at its strongest, through lossy coding, another
rate, other clocks, and are moved, turned upside down or crossed by construction. Against them stand all pairs of
different songs, and all pairs of different halves, thirds, quarters and sixths of one song. Printed: the offset's
errors and the figures of both sides. Demanded: every recording of the song is accepted and read rightly, no other
song comes near the limit, no half is taken for the other; short parts may be, where the same bars are played again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, combinations

import numpy as np
import numpy.typing as npt
from scipy.signal import resample

from tests.measure.recordings import RATE_HZ, SONGS, cut_song, delay, put_silence_before, read_song
from trainer.audio.clip import Clip
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import list_moves_with
from trainer.errors import EvenhandError
from trainer.files.coding import ChildCoder
from trainer.measure.alignment import SAME_SONG, Alignment, Recording, align_songs

Sound = npt.NDArray[np.floating]

START_S, LENGTH_S = 8.0, 40.0
PARTS = (2, 3, 4, 6)
CROSSINGS = 8
# Frames at 48 kHz, for every recording of the song.
WANTED_FRAMES, WANTED_PPM = 0.5, 0.5
WANTED_STRANGERS = SAME_SONG / 4
STRONGEST: tuple[tuple[str, Mapping[str, float]], ...] = (
    ("low_shelf", {"corner_hz": 100, "gain_db": 12}),
    ("low_shelf", {"corner_hz": 1000, "gain_db": -12}),
    ("high_shelf", {"corner_hz": 8000, "gain_db": 12}),
    ("high_shelf", {"corner_hz": 1000, "gain_db": -12}),
    ("bell", {"centre_hz": 1000, "centre_gain_db": 12}),
    ("bell", {"centre_hz": 3000, "centre_gain_db": -12, "bell_q": 0.3}),
    ("tilt", {"tilt_db": 12}),
    ("tilt", {"tilt_db": -12}),
    ("high_pass", {"cutoff_hz": 120, "slope_per_octave_db": 24}),
    ("saturation", {"thd_percent": 40, "level_dbfs": -20}),
    ("saturation", {"thd_percent": 20, "even_share_percent": 90, "level_dbfs": -20}),
    ("top_harmonics", {"mix_percent": 200, "thd_percent": 40}),
    ("hard_clip", {"clip_point_dbfs": -24}),
    ("soft_clip", {"clip_point_dbfs": -24}),
    ("compressor", {"threshold_dbfs": -45, "ratio_to_1": 20, "attack_ms": 0.1, "release_ms": 5}),
    ("compressor", {"threshold_dbfs": -40, "ratio_to_1": 10}),
    ("compressor_on_average", {"threshold_dbfs": -40, "ratio_to_1": 10}),
    ("held_down", {"threshold_dbfs": -40}),
    ("pumping", {"threshold_dbfs": -45}),
    ("release", {"threshold_dbfs": -40}),
    ("attack", {"threshold_dbfs": -40}),
    ("side_chain_filter", {"threshold_dbfs": -40, "side_chain_hz": 500}),
    (
        "multiband",
        {
            "low_threshold_dbfs": -50,
            "low_mid_threshold_dbfs": -50,
            "high_mid_threshold_dbfs": -50,
            "high_threshold_dbfs": -60,
            "ratio_to_1": 10,
        },
    ),
    ("de_esser", {"threshold_dbfs": -60, "ratio_to_1": 20}),
    ("limiter", {"drive_db": 24}),
    ("push", {"drive_db": 20}),
    ("song_push", {"drive_db": 20}),
    ("level", {"level_db": -12}),
    ("width", {"side_gain_db": 12}),
    ("width", {"side_gain_db": -24}),
    ("mono", {}),
    ("mono_below", {"mono_corner_hz": 400}),
    ("polarity", {}),
    ("swap_sides", {}),
    ("click", {"click_db": 60}),
    ("pop", {"pop_db": 48}),
    ("hiss", {"hiss_percent": 100}),
    ("hum", {"hum_percent": 100}),
    ("dropout", {"dropout_ms": 1000}),
    ("clipped_run", {"level_dbfs": 6}),
    ("sibilance", {"sibilance_db": 24}),
    ("bad_edit", {"cut_ms": 500}),
    ("abrupt_end", {"missing_ms": 8000}),
    ("short_fade", {"missing_ms": 8000, "fade_ms": 4000}),
    ("intersample_over", {"over_samples_db": 3}),
    ("word_length", {"word_bits": 8}),
    ("mp3", {"rate_kbps": 40}),
    ("mp3", {"rate_kbps": 128}),
    ("vorbis", {"rate_kbps": 64}),
    ("opus", {"rate_kbps": 16}),
    ("opus", {"rate_kbps": 32}),
    ("opus", {"rate_kbps": 64}),
)


@dataclass(frozen=True)
class Trial:
    """One changed recording, with how it lies by construction."""

    name: str
    samples: Sound
    offset_frames: float = 0.0
    polarity: int = 1
    swapped: bool = False
    turned_side: str = ""
    drift_ppm: float = 0.0

    def miss(self, found: Alignment) -> list[str]:
        """List what was not found as it is."""
        wrong = [] if abs(found.offset_frames - self.offset_frames) <= WANTED_FRAMES else ["offset"]
        wrong += [] if abs(found.drift_ppm - self.drift_ppm) <= WANTED_PPM else ["drift"]
        for name in ("polarity", "swapped", "turned_side"):
            wrong += [] if getattr(found, name) == getattr(self, name) else [name]
        return wrong + ([] if found.same_song else ["refused"])


def list_processed(song: Sound) -> Iterator[Trial]:
    """Send a song through every move, late by some frames, and every second one upside down."""
    clip = Clip(np.ascontiguousarray(song, dtype=np.float32), RATE_HZ)
    with ChildCoder() as coder:
        moves = list_moves_with(coder)
        for number, (name, settings) in enumerate(STRONGEST):
            move = moves[name]
            try:
                after = move.render(clip, complete_settings(move, settings)).samples
            except EvenhandError as error:
                print(f"    {name}: left out, {error}")
                continue
            polarity, late = (-1) ** number, 1000 * number + 7
            turned = "right" if name == "polarity" else ""
            title = f"{name} {' '.join(f'{value:g}' for value in settings.values())}"
            sign = polarity if not turned else 1
            yield Trial(title, put_silence_before(sign * after, late), late, sign, name == "swap_sides", turned)


def list_moved(song: Sound) -> Iterator[Trial]:
    """Move, turn, cross, cut, convert and stretch a song, as it is and saturated."""
    for name, wave in (("", song), ("saturated, ", np.tanh(6 * song) / 2)):
        for frames in (-480000, -4801, 480000):
            moved = put_silence_before(wave, frames) if frames > 0 else wave[-frames:]
            yield Trial(f"{name}moved by {frames}", moved, frames)
        for part in (0.25, -0.5):
            yield Trial(f"{name}moved by {part}", delay(wave, part), part)
        for number in range(CROSSINGS):
            left, right, crossed = (-1) ** (number & 1), (-1) ** (number >> 1 & 1), bool(number & 4)
            signed = wave * np.array([left, right])
            turned = "" if left == right else "left" if left < 0 else "right"
            if crossed:
                # What was left is on the right now; sides are named after they have been put right.
                signed = signed[:, ::-1]
            polarity = -1 if left == right == -1 else 1
            title = f"{name}signs {left} {right}, crossed {crossed}"
            yield Trial(title, signed, 0.0, polarity, crossed, turned)
        yield Trial(f"{name}the middle 12 s", wave[14 * RATE_HZ : 26 * RATE_HZ], -14.0 * RATE_HZ)
        low = resample(wave, round(wave.shape[0] * 44100 / RATE_HZ), axis=0)
        yield Trial(f"{name}by way of 44.1 kHz", resample(low, wave.shape[0], axis=0))
        for frames in (8, -48, 192):
            stretched = resample(wave, wave.shape[0] + frames, axis=0)
            yield Trial(f"{name}longer by {frames}", stretched, drift_ppm=1e6 * frames / wave.shape[0])


def align(first: Sound, other: Sound) -> Alignment:
    """Align two arrays."""
    one, two = (Recording(np.ascontiguousarray(x, dtype=np.float32), RATE_HZ) for x in (first, other))
    return align_songs(one, two)


def measure_same() -> bool:
    """Measure recordings of one song; prints what went wrong, and the spread of the figures."""
    kept = True
    figures: dict[str, list[float]] = {}
    errors: list[float] = []
    for title in SONGS:
        song = cut_song(title, START_S, LENGTH_S)
        for trial in chain(list_processed(song), list_moved(song)):
            found = align(song, trial.samples)
            wrong = trial.miss(found)
            figures.setdefault(trial.name, []).append(found.correlation)
            errors.append(abs(found.offset_frames - trial.offset_frames))
            if wrong:
                kept = False
                print(f"    MISS {title}: {trial.name}: {', '.join(wrong)}: {found}")
    print(f"  same song: {len(errors)} recordings; offset wrong by {np.median(errors):.4f} frames (median), ", end="")
    print(f"{np.percentile(errors, 95):.3f} (95 %), {max(errors):.3f} (worst)")
    lowest = sorted((min(values), name) for name, values in figures.items())
    everything = np.concatenate([np.array(values) for values in figures.values()])
    print(f"  same song: figure {np.percentile(everything, [0, 1, 5, 50]).round(3)} (lowest, 1 %, 5 %, median)")
    print("  lowest of all songs: " + "; ".join(f"{name} {value:.2f}" for value, name in lowest[:8]))
    return kept


def measure_strangers() -> bool:
    """Measure different songs, and different parts of one song."""
    strangers = [
        (align(cut_song(one, START_S, LENGTH_S), cut_song(other, START_S, LENGTH_S)).correlation, f"{one}, {other}")
        for one, other in combinations(SONGS, 2)
    ]
    print(f"  different songs: figure {max(strangers)[0]:.3f} at most, of {len(strangers)} pairs")
    sections = []
    for title in SONGS:
        song = read_song(title)
        for parts in PARTS:
            length = song.shape[0] // parts
            for one, other in combinations(range(parts), 2):
                pair = (song[index * length : (index + 1) * length] for index in (one, other))
                sections.append((align(*pair).correlation, f"{title}, parts {one + 1} and {other + 1} of {parts}"))
    sections.sort(reverse=True)
    print(f"  parts of one song: {len(sections)} pairs, {sum(f >= SAME_SONG for f, _ in sections)} taken for the same")
    for figure, name in sections[:5]:
        print(f"    {figure:.3f} {name}")
    halves = [figure for figure, name in sections if name.endswith("of 2")]
    return max(strangers)[0] <= WANTED_STRANGERS and max(halves) < SAME_SONG


def run() -> bool:
    """Print all; False if a recording of the song was misread, or another one taken for it."""
    print("bringing recordings into step")
    return all([measure_same(), measure_strangers()])


if __name__ == "__main__":
    run()

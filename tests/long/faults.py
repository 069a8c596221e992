"""How well the fault scan finds what was planted, and what it finds in untouched music.

Clicks (one sample, and a pair of opposite ones, on one or both sides), clipped runs (also after a change of level, at
16 and 24 bit), dropouts, hum and hiss of known strength are planted by code of this file into the demo songs and into
synthetic material. Printed: share found by strength, and false alarms a minute.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import soundfile
from scipy.signal import butter, sosfilt

from tests.measure.sounds import music_like, noise
from trainer.files.library import list_demo_songs
from trainer.measure.faults.clicks import ClickScanner
from trainer.measure.faults.clipping import ClippingScanner
from trainer.measure.faults.dropouts import DropoutScanner
from trainer.measure.faults.finding import Finding
from trainer.measure.faults.scan import scan_faults
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.steps import block_frames

Wave = npt.NDArray[np.float64]

STEPS = {16: 2.0**-15, 24: 2.0**-23}
CLICK_SHAPES = {"one sample": np.array([1.0]), "a pair": np.array([1.0, -0.5])}
CLICKS_DB = (6.0, 9.0, 12.0, 15.0, 20.0)
# On open mixes, at 12 dB; of runs of 4 samples and more; false alarms a minute of untouched open mixes.
WANTED_CLICKS, WANTED_RUNS, WANTED_FALSE_PER_MINUTE = 0.93, 0.99, 0.2
HOT_LUFS = -13.0


@dataclass(frozen=True)
class Material:
    """Clean sound to plant faults in."""

    name: str
    wave: Wave
    rate_hz: int


def list_songs() -> list[Material]:
    """Read the demo songs."""
    songs = []
    for entry in list_demo_songs():
        wave, rate_hz = soundfile.read(entry.path, dtype="float64", always_2d=True)
        songs.append(Material(entry.title, wave, rate_hz))
    return songs


def list_synthetic() -> list[Material]:
    """Make clean material: a beat, and music-like noise that swells."""
    rate_hz = 48000
    beat = np.tile(music_like(8 * rate_hz, rate_hz, 3), (4, 1))
    pink = sosfilt(butter(1, 800, fs=rate_hz, output="sos"), noise(30 * rate_hz, 0.2, 4), axis=0)
    swell = 0.55 + 0.45 * np.sin(2 * np.pi * np.arange(pink.shape[0]) / rate_hz / 7)
    return [Material("a beat", beat, rate_hz), Material("swelling noise", pink * swell[:, None], rate_hz)]


def scan(wave: Wave, rate_hz: int, bits: int = 24) -> tuple[Finding, ...]:
    """Scan a wave as a file of so many bits."""
    step = STEPS[bits]
    return scan_faults((np.round(wave / step) * step).astype(np.float32), rate_hz, step)[1].faults


def scan_for(kind: str, wave: Wave, rate_hz: int, bits: int = 24) -> tuple[Finding, ...]:
    """Look for one kind of fault only."""
    step = STEPS[bits]
    stored = (np.round(wave / step) * step).astype(np.float32).T
    clicks, runs, holes = ClickScanner(rate_hz, 2), ClippingScanner(rate_hz, 2, step), DropoutScanner(rate_hz, 2)
    scanner = {"click": clicks, "clipped_run": runs, "dropout": holes}[kind]
    for first in range(0, stored.shape[1], block_frames(rate_hz)):
        scanner.add(np.ascontiguousarray(stored[:, first : first + block_frames(rate_hz)]))
    return clicks.finish(stored.shape[1] / rate_hz) if kind == "click" else scanner.finish()


def count_false(material: Material) -> dict[str, int]:
    """Count what is found in untouched material, by kind."""
    kinds: dict[str, int] = {}
    for finding in scan(material.wave, material.rate_hz, 16):
        kinds[finding.kind] = kinds.get(finding.kind, 0) + 1
    return kinds


def plant_clicks(
    material: Material,
    shape: Wave,
    strength_db: float,
    sides: tuple[int, ...],
    rng: np.random.Generator,
    every_s: float,
) -> tuple[Wave, list[int]]:
    """Add clicks about every so many seconds.

    A click's strength is its highest sample over the RMS value of the 50 ms on either side, both above 4 kHz
    (Butterworth, 24 dB an octave), on the sides it is put on.
    """
    rate_hz, frames = material.rate_hz, material.wave.shape[0]
    high = butter(4, 4000, "highpass", fs=rate_hz, output="sos")
    filtered = sosfilt(high, material.wave, axis=0)
    alone = float(np.abs(sosfilt(high, np.pad(shape, (0, 256)))).max())
    wave, places, around = material.wave.copy(), [], rate_hz // 20
    for start in np.arange(0.5, frames / rate_hz - 1.0, every_s):
        place = int((start + rng.uniform(0, 0.7 * every_s)) * rate_hz)
        local = float(np.sqrt(np.mean(filtered[place - around : place + around, list(sides)] ** 2)))
        if local < 1e-5:
            continue
        size = local * 10 ** (strength_db / 20) / alone * rng.choice([-1.0, 1.0])
        wave[place : place + shape.size, list(sides)] += size * shape[:, None]
        places.append(place)
    return wave, places


def count_found(findings: tuple[Finding, ...], kind: str, places: list[int], rate_hz: int, within_s: float) -> int:
    """Count the places at which a kind was found."""
    spans = [(f.start_s - within_s, f.end_s + within_s) for f in findings if f.kind == kind]
    return sum(any(low <= place / rate_hz <= high for low, high in spans) for place in places)


def measure_clicks(material: Material, every_s: float = 0.31) -> dict[float, float]:
    """Measure the share of clicks found at each strength."""
    rng, shares = np.random.default_rng(5), {}
    for strength_db in CLICKS_DB:
        found = planted = 0
        for shape in CLICK_SHAPES.values():
            for sides in ((0, 1), (0,)):
                wave, places = plant_clicks(material, shape, strength_db, sides, rng, every_s)
                found += count_found(
                    scan_for("click", wave, material.rate_hz), "click", places, material.rate_hz, 0.002
                )
                planted += len(places)
        shares[strength_db] = found / max(1, planted)
    return shares


def clip_hits(material: Material, depth_db: float, gain_db: float) -> tuple[Wave, list[tuple[int, int]]]:
    """Clip a second in every three so far below its own peak, then change the level: the wave, and runs of 4 and more.

    Runs are counted per side on the clipped samples themselves.
    """
    wave, rate_hz, runs = material.wave.copy(), material.rate_hz, []
    for start in range(rate_hz, wave.shape[0] - rate_hz, 3 * rate_hz):
        part = wave[start : start + rate_hz]
        ceiling = float(np.abs(part).max()) * 10 ** (-depth_db / 20)
        if ceiling < 10 ** (-30 / 20):
            continue
        for side in (0, 1):
            for sign in (1.0, -1.0):
                over = np.concatenate([[0], (sign * part[:, side] >= ceiling).astype(np.int8), [0]])
                edges = np.flatnonzero(np.diff(over))
                runs += [
                    (start + int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= 4
                ]
        wave[start : start + rate_hz] = np.clip(part, -ceiling, ceiling)
    return wave * 10 ** (gain_db / 20), runs


def measure_runs(material: Material, bits: int) -> tuple[int, int]:
    """Measure how many clipped runs are found, of how many, at full level and 6 dB lower."""
    found = planted = 0
    for depth_db, gain_db in ((1.0, 0.0), (3.0, -6.0)):
        wave, runs = clip_hits(material, depth_db, gain_db)
        findings = scan_for("clipped_run", wave, material.rate_hz, bits)
        places = [first + length // 2 for first, length in runs]
        found += count_found(findings, "clipped_run", places, material.rate_hz, 0.0005)
        planted += len(places)
    return found, planted


def measure_dropouts(material: Material) -> tuple[int, int]:
    """Measure how many holes of 2 to 50 ms are found where the sound is full."""
    rng, wave, places = np.random.default_rng(6), material.wave.copy(), []
    for start in np.arange(1.0, wave.shape[0] / material.rate_hz - 1.0, 0.9):
        place = int((start + rng.uniform(0, 0.3)) * material.rate_hz)
        length = int(rng.choice([0.003, 0.01, 0.05]) * material.rate_hz)
        if np.abs(wave[place - 480 : place]).max() > 0.02 and np.abs(wave[place + length :][:480]).max() > 0.02:
            wave[place : place + length] = 0
            places.append(place + length // 2)
    return count_found(scan_for("dropout", wave, material.rate_hz), "dropout", places, material.rate_hz, 0.002), len(
        places
    )


def measure_steady(material: Material) -> dict[str, str]:
    """Tell from which level on hum and hiss are found, dBFS."""
    rate_hz, frames = material.rate_hz, material.wave.shape[0]
    time = np.arange(frames) / rate_hz
    hum = sum(np.sin(2 * np.pi * 50 * k * time + k) / k for k in range(1, 7))
    beds = {"hum": np.repeat(np.asarray(hum)[:, None], 2, axis=1), "hiss": noise(frames, 1.0, 7)}
    lowest = {}
    for kind, bed in beds.items():
        bed = bed / np.sqrt(np.mean(bed**2))
        levels = [db for db in (-70, -60, -50, -40) if _is_found(material, kind, bed * 10 ** (db / 20))]
        lowest[kind] = f"{min(levels)} dBFS" if levels else "not found"
    return lowest


def _is_found(material: Material, kind: str, bed: Wave) -> bool:
    return any(finding.kind == kind for finding in scan(material.wave + bed, material.rate_hz))


def run() -> bool:
    """Print all figures; tell whether they are what is wanted."""
    songs, synthetic = list_songs(), list_synthetic()
    clicks: dict[str, dict[str, dict[float, float]]] = {"open mixes": {}, "hot mixes": {}, "synthetic": {}}
    runs, holes, false, minutes = np.zeros(2), np.zeros(2), 0, 0.0
    for material in songs + synthetic:
        group = "synthetic" if material in synthetic else "hot mixes" if is_hot(material) else "open mixes"
        kinds = count_false(material)
        length = material.wave.shape[0] / material.rate_hz / 60
        print(f"{material.name} ({group}): {length:.1f} min untouched, found {kinds or 'nothing'}", flush=True)
        if group == "open mixes":
            false, minutes = false + sum(kinds.values()), minutes + length
        shares = measure_clicks(material)
        print("  clicks found: " + word_shares(shares), flush=True)
        clicks[group][material.name] = shares
        for bits in (16, 24):
            found = np.array(measure_runs(material, bits))
            runs += found
            print(f"  clipped runs of 4 samples and more, {bits} bit: {found[0]} of {found[1]} found", flush=True)
        found = np.array(measure_dropouts(material))
        holes += found
        steady = measure_steady(material)
        print(f"  dropouts: {found[0]} of {found[1]}; hum from {steady['hum']}, hiss from {steady['hiss']}", flush=True)
    means = {group: average_shares(list(shares.values())) for group, shares in clicks.items() if shares}
    for group, mean in means.items():
        print(f"clicks, {group}: {word_shares(mean)}")
    print(f"clipped runs: {100 * runs[0] / runs[1]:.2f} %; dropouts: {100 * holes[0] / holes[1]:.1f} %")
    print(f"false alarms in {minutes:.1f} min of untouched open mixes: {false}")
    wanted = means["open mixes"][12.0] >= WANTED_CLICKS and runs[0] >= WANTED_RUNS * runs[1]
    return bool(wanted and false <= max(1.0, WANTED_FALSE_PER_MINUTE * minutes))


def is_hot(material: Material) -> bool:
    """Tell whether a song was pressed or clipped on purpose: what is found in it was put there."""
    return measure_integrated_lufs(material.wave, material.rate_hz) > HOT_LUFS


def average_shares(shares: list[dict[float, float]]) -> dict[float, float]:
    """Average the shares found at each strength."""
    return {strength: float(np.mean([share[strength] for share in shares])) for strength in CLICKS_DB}


def word_shares(shares: dict[float, float]) -> str:
    """Word the shares found at each strength."""
    return ", ".join(f"{100 * share:.1f} % at {strength:.0f} dB" for strength, share in shares.items())


if __name__ == "__main__":
    raise SystemExit(0 if run() else 1)

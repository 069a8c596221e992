"""Each fault planted where it is known, by code of this folder; and clean sounds in which nothing is found."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import soundfile
from scipy.signal import butter, sosfilt

from tests.long.faults import CLICK_SHAPES, Material, clip_hits, count_found, measure_dropouts, plant_clicks, scan_for
from tests.measure.sounds import music_like, noise, sine
from trainer.files.library import list_demo_songs
from trainer.measure.faults.finding import Finding, join_findings
from trainer.measure.faults.scan import scan_faults

RATE_HZ = 48000
Wave = npt.NDArray[np.float64]


def make_bed(seconds: float = 8.0, seed: int = 1) -> Wave:
    """Make a clean song: a beat between silence, faded in and out."""
    frames = int(seconds * RATE_HZ)
    beat = np.tile(0.8 * music_like(4 * RATE_HZ, RATE_HZ, seed), (int(seconds // 4) + 1, 1))[:frames]
    fade = np.clip(np.arange(frames) / (0.5 * RATE_HZ), 0, 1)
    return np.pad(beat * (fade * fade[::-1])[:, None], ((4800, 4800), (0, 0)))


def find(wave: Wave, rate_hz: int = RATE_HZ, step: float = 0.0) -> tuple[Finding, ...]:
    """Scan a sound."""
    return scan_faults(wave.astype(np.float32), rate_hz, step)[1].faults


def find_kind(wave: Wave, kind: str) -> tuple[Finding, ...]:
    """Scan a sound for one kind."""
    return tuple(finding for finding in find(wave) if finding.kind == kind)


@pytest.fixture(scope="module")
def song() -> Material:
    """Half a minute of a demo song with drums and voice."""
    entry = list_demo_songs()[0]
    wave, rate_hz = soundfile.read(entry.path, frames=30 * 48000, start=20 * 48000, dtype="float64")
    return Material(entry.title, wave, rate_hz)


def test_nothing_is_found_in_a_clean_beat() -> None:
    """By construction: no fault was put in."""
    assert find(make_bed()) == ()


def test_nothing_is_found_within_an_untouched_song(song: Material) -> None:
    """An unprocessed mix with drums; its two cut ends are the only faults of the excerpt."""
    kinds = {finding.kind for finding in find(song.wave, song.rate_hz, 2.0**-15)}
    assert kinds <= {"abrupt_start", "abrupt_end"}


@pytest.mark.parametrize("shape", sorted(CLICK_SHAPES))
def test_clicks_in_a_song(song: Material, shape: str) -> None:
    """Planted 12 dB over the RMS value above 4 kHz of the 50 ms around them, on both sides: nine of ten are found."""
    wave, places = plant_clicks(song, CLICK_SHAPES[shape], 12.0, (0, 1), np.random.default_rng(3), 0.4)
    found = count_found(scan_for("click", wave, song.rate_hz), "click", places, song.rate_hz, 0.002)
    assert len(places) > 60 and found >= 0.9 * len(places)


def test_a_click_has_its_place_side_and_strength() -> None:
    """By construction: one sample on the right at 3.5 s, 30 dB over a bed of white noise above 4 kHz."""
    wave = make_bed()
    wave += noise(wave.shape[0], 0.01, 5)
    high = butter(4, 4000, "highpass", fs=RATE_HZ, output="sos")
    part = sosfilt(high, wave[168000 - 2400 : 168000 + 2400, 1])
    alone = np.abs(sosfilt(high, np.pad([1.0], (0, 100)))).max()
    wave[168000, 1] += 10 ** (30 / 20) * np.sqrt(np.mean(part**2)) / alone
    (click,) = find_kind(wave, "click")
    assert click.start_s == pytest.approx(3.5, abs=1e-4)
    assert click.channel == "right" and click.unit == "dB"
    assert click.strength == pytest.approx(30.0, abs=3.0)


@pytest.mark.parametrize("place", [200, 2400, 7 * RATE_HZ])
def test_a_click_in_silence(place: int) -> None:
    """By construction: two samples out of line at the head, before anything sounds, and behind the end."""
    wave = np.concatenate([np.zeros((4800, 2)), make_bed(6.0), np.zeros((RATE_HZ, 2))])
    wave[place : place + 2] += np.array([[0.02], [-0.01]])
    (click,) = find_kind(wave, "click")
    assert click.start_s == pytest.approx(place / RATE_HZ, abs=1e-3) and click.channel == "both"


def test_drum_hits_are_no_clicks() -> None:
    """By construction: bursts of noise that begin at once and die away in 5 ms, as a rim shot does."""
    wave, rng = noise(8 * RATE_HZ, 0.003, 6), np.random.default_rng(7)
    for place in range(24000, 7 * RATE_HZ, 12000):
        burst = rng.standard_normal((960, 2)) * np.exp(-np.arange(960) / 240)[:, None]
        wave[place : place + 960] += 0.3 * burst
    assert find_kind(wave, "click") == ()


@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("gain_db", [0.0, -9.0])
def test_clipped_runs_in_a_song(song: Material, bits: int, gain_db: float) -> None:
    """Clipped 2 dB under its own peaks, then turned down, then stored: of runs of 4 samples 99 % are found."""
    wave, runs = clip_hits(song, 2.0, gain_db)
    findings = scan_for("clipped_run", wave, song.rate_hz, bits)
    places = [first + length // 2 for first, length in runs]
    assert len(places) > 30
    assert count_found(findings, "clipped_run", places, song.rate_hz, 0.0005) >= 0.99 * len(places)


@pytest.mark.parametrize("bits", [16, 24])
def test_a_low_tone_has_no_clipped_runs(bits: int) -> None:
    """Closed form: the top of a 30 Hz sine at 16 bit is flat for many samples, and yet not cut."""
    step = 2.0 ** (1 - bits)
    wave = np.round(sine(30.0, 0.5, 5 * RATE_HZ, RATE_HZ) / step) * step
    assert not [f for f in find(wave, step=step) if f.kind == "clipped_run"]


def test_the_length_of_a_clipped_run() -> None:
    """Closed form: a 100 Hz sine clipped at half its height is flat for a third of its period: 160 samples."""
    (run,) = find_kind(np.clip(sine(100.0, 0.8, 4 * RATE_HZ, RATE_HZ), -0.4, 0.4), "clipped_run")
    assert run.strength == pytest.approx(160, abs=1) and run.unit == "samples" and run.channel == "both"


def test_dropouts(song: Material) -> None:
    """Holes of 3 to 50 ms where the song is full: nineteen of twenty are found, and each has its length."""
    found, planted = measure_dropouts(song)
    assert planted > 20 and found >= 0.95 * planted
    wave = make_bed() + 0.1 * sine(440.0, 1.0, make_bed().shape[0], RATE_HZ)
    wave[200000:201440] = 0
    (hole,) = find_kind(wave, "dropout")
    assert hole.strength == pytest.approx(30.0, abs=1.1) and hole.unit == "ms"
    assert hole.start_s == pytest.approx(200000 / RATE_HZ, abs=0.0015)


def test_stops_in_the_music_are_no_dropouts() -> None:
    """By construction: notes that end within 5 ms and begin again a tenth of a second later."""
    gate = np.ones(4 * RATE_HZ)
    for place in range(24000, 4 * RATE_HZ - 24000, 24000):
        gate[place : place + 4800] = 0
    soft = np.convolve(gate, np.hanning(960) / np.hanning(960).sum(), "same")
    assert find_kind(sine(220.0, 0.3, gate.size, RATE_HZ) * soft[:, None], "dropout") == ()


@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_hum(mains_hz: float) -> None:
    """By construction: a fundamental and two multiples under notes; strength is the level of all three."""
    notes = make_notes(16.0)
    hum = sum(sine(mains_hz * k, 0.003 / k, notes.shape[0], RATE_HZ) for k in (1, 2, 3))
    found = find_kind(notes + hum, "hum")
    (finding,) = found
    wanted = 10 * np.log10(0.003**2 / 2 * (1 + 1 / 4 + 1 / 9))
    assert finding.strength == pytest.approx(wanted, abs=1.5)
    assert (finding.channel, finding.unit) == ("both", "dBFS")


def test_a_bass_is_no_hum() -> None:
    """By construction: 49 Hz, the bass's G, three quarters of the time."""
    notes = make_notes(16.0)
    held = np.repeat([1, 0, 1, 1] * 10, notes.shape[0] // 40 + 1)[: notes.shape[0], None]
    assert find_kind(notes + sine(48.999, 0.3, notes.shape[0], RATE_HZ) * held, "hum") == ()


def make_notes(seconds: float) -> Wave:
    """Make notes of 330 Hz with pauses between them."""
    wave = np.zeros((int(seconds * RATE_HZ), 2))
    for place in range(24000, wave.shape[0] - 48000, 36000):
        wave[place : place + 24000] += sine(330.0, 0.3, 24000, RATE_HZ) * np.hanning(24000)[:, None]
    return wave


def test_hiss() -> None:
    """By construction: white noise at −55 dBFS under notes with pauses; strength is its level."""
    wave = make_notes(12.0)
    assert find_kind(wave, "hiss") == ()
    (found,) = find_kind(wave + noise(wave.shape[0], 10 ** (-55 / 20), 8), "hiss")
    assert found.channel == "both" and found.strength == pytest.approx(-55.0, abs=0.5)


def test_offset_from_zero() -> None:
    """Closed form: a constant of 0.01 is −40 dBFS."""
    (offset,) = find_kind(make_bed() + np.array([0.01, 0.0]), "dc")
    assert offset.strength == pytest.approx(-40.0, abs=0.3) and offset.channel == "left"


def test_noise_before_the_music() -> None:
    """By construction: a second of steady noise at −60 dBFS, then the beat."""
    wave = make_bed()
    head = noise(RATE_HZ, 10 ** (-60 / 20), 9)
    (found,) = find_kind(np.concatenate([head, wave[9600:] * 1.0]), "head_noise")
    assert found.start_s < 0.1 and found.end_s == pytest.approx(1.0, abs=0.2)
    assert -64 < found.strength < -52


def test_abrupt_edges_and_decay() -> None:
    """By construction: cut into and cut off; with fades of 50 ms neither."""
    wave = sine(330.0, 0.3, 4 * RATE_HZ, RATE_HZ, phase_deg=50.0)
    assert {finding.kind for finding in find(wave)} == {"abrupt_start", "abrupt_end"}
    faded = sine(330.0, 0.3, 4 * RATE_HZ, RATE_HZ, fade_s=0.05)
    assert find(faded) == ()
    edges = scan_faults(np.pad(faded, ((24000, 48000), (0, 0))), RATE_HZ)[1].edges
    assert edges.head_silence_s == pytest.approx(0.5, abs=0.001)
    assert edges.tail_silence_s == pytest.approx(1.0, abs=0.001)
    time = np.arange(6 * RATE_HZ) / RATE_HZ
    tail = faded.copy() * 0.5
    ringing = sine(330.0, 0.15, 6 * RATE_HZ, RATE_HZ) * (10 ** (-time * 20 / 20))[:, None]
    # 20 dB a second: from 10 dB under the level to −70 LUFS takes (70 − 16.5 − 10) / 20 s.
    decay = scan_faults(np.concatenate([tail[:-4800], ringing]), RATE_HZ)[1].edges.tail_decay_s
    assert decay == pytest.approx((70 - 16.5 - 10) / 20, abs=0.35)


def test_overs_between_the_samples() -> None:
    """Closed form: fs/4 at 45° with samples at −0.5 dBFS is 2.5 dB over full scale between them."""
    wave = make_bed() * 0.1
    burst = sine(12000, 10 ** (2.51 / 20), 4800, RATE_HZ, 45.0) * np.hanning(4800)[:, None]
    wave[150000:154800] += burst
    (over,) = find_kind(wave, "intersample_over")
    assert over.strength == pytest.approx(2.5, abs=0.25) and over.unit == "dBTP"
    assert over.start_s < 152400 / RATE_HZ < over.end_s


def test_a_pop() -> None:
    """By construction: 80 ms of 40 Hz, much stronger than the kicks around it."""
    wave = make_bed(12.0)
    time = np.arange(3840) / RATE_HZ
    pop = np.sin(2 * np.pi * 40 * time) * np.hanning(3840)
    wave[300000:303840] += 2.5 * pop[:, None]
    (found,) = find_kind(wave, "pop")
    assert found.start_s == pytest.approx(300000 / RATE_HZ, abs=0.05)
    assert find_kind(make_bed(12.0), "pop") == ()


def test_joining() -> None:
    """By construction: neighbours within the gap become one, on both sides, with the greater strength."""
    row = [
        Finding("click", t, t + 0.01, side, s, "dB")
        for t, side, s in ((0, "left", 1), (0.05, "right", 3), (1, "left", 2))
    ]
    first, second = join_findings(row, 0.1)
    assert (first.channel, first.strength, first.end_s) == ("both", 3, pytest.approx(0.06))
    assert second.channel == "left"


@pytest.mark.parametrize("rate_hz", [8000, 44100, 96000, 192000])
@pytest.mark.parametrize("frames", [1, 3, 900, 50000])
def test_any_length_and_rate(rate_hz: int, frames: int) -> None:
    """A few frames, and every rate, are scanned without an error; mono too."""
    scan_faults(noise(frames, 0.1, 1), rate_hz)
    scan_faults(np.zeros((frames, 1)), rate_hz)

"""Mix intake: is this a mix to be mastered? The same facts, with evidence and what to do."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from trainer.decisions.evidence import Evidence
from trainer.decisions.reasons import NAMES, NEXT_STEPS
from trainer.decisions.target import Outcome
from trainer.measure.stereo import Stereo
from trainer.units import begin_large, begin_small, write_frequency, write_number

# Common practice, no source: what a mix shows that has a limiter on its bus.
LIMITED_CEILING_SHARE = 0.06
LIMITED_DYNAMICS_DB = 9.5
MANY_RUNS = 3
LOSSY_CLIFF_DB, LOSSY_HZ, LOSSY_SHARE = 20.0, (9000.0, 20600.0), 0.46
# Below this end of the spectrum what a song has at the top is missing, and what that is: by where the end lies.
FULL_BAND_HZ, VOICE_BAND_HZ = 15000.0, 6000.0
MISSING_LOW, MISSING_HIGH = "brightness, s sounds and cymbals", "the top of cymbals and air"
# Shorter than a song, and longer than one (common practice, no source); two stretches of 8 s need twice as much.
SHORT_S, TWO_STRETCHES_S, LONG_S = 30.0, 16.0, 900.0
# Heads of coded files may be off by a frame or two.
CUT_OFF_S = 0.1
# Sides 60 dB below the middle: 1 less the correlation is twice their share, and the balance is off by less than this.
ONE_SOUND, ONE_SOUND_DB = 2e-6, 0.02
UNBALANCED_DB, BASS_CORRELATION, MONO_LOSS_LU = 1.5, 0.3, -3.0
LOCAL_FAULTS = ("click", "pop", "dropout", "hum", "hiss", "dc", "head_noise", "abrupt_start", "abrupt_end")


@dataclass(frozen=True)
class IntakeItem:
    """One thing to know before mastering: its topic, outcome, evidence in words, and what to do."""

    topic: str
    outcome: Outcome
    reason: str
    next_step: str = ""


def examine_mix(evidence: Evidence) -> tuple[IntakeItem, ...]:
    """Examine a mix: whether all of it is there, peaks, flat tops, a limiter, source, sides, form, faults."""
    if not math.isfinite(evidence.programme.peaks.sample_peak_dbfs):
        return (IntakeItem("sound", "fail", "The file is silent.", "Bounce again."),)
    items = [
        _judge_length(evidence) or _judge_extent(evidence),
        _judge_peaks(evidence),
        _judge_limiter(evidence),
        _judge_source(evidence),
        *_judge_sides(evidence),
        _judge_form(evidence),
        *(_judge_fault(evidence, kind) for kind in LOCAL_FAULTS if evidence.count(kind)),
    ]
    return tuple(item for item in items if item is not None)


def sum_up_intake(items: tuple[IntakeItem, ...]) -> str:
    """Answer in a line whether a mix is ready: what goes back to the mix, what is to be looked at, or nothing."""
    back = sum(item.outcome == "fail" for item in items)
    looked_at = sum(item.outcome == "warn" for item in items)
    if back:
        count = "One thing" if back == 1 else f"{back} things"
        return f"{count} to put right in the mix first."
    if looked_at:
        count = "One thing" if looked_at == 1 else f"{looked_at} things"
        return f"Nothing here stops you; {begin_small(count)} to look at before you go on."
    return "Nothing here stands in the way."


def list_intake(items: tuple[IntakeItem, ...]) -> list[dict[str, Any]]:
    """List the items as plain facts."""
    return [
        {"topic": item.topic, "verdict": item.outcome, "reason": item.reason, "next": item.next_step} for item in items
    ]


def _judge_length(evidence: Evidence) -> IntakeItem | None:
    """Name a file that ends before its head says."""
    lost_s = evidence.form.duration_s - evidence.programme.duration_s
    if lost_s <= CUT_OFF_S and not evidence.form.notes:
        return None
    held = write_number(evidence.programme.duration_s, 2)
    reason = f"The file is cut off: it holds {held} s, and its head promises more."
    return IntakeItem("length", "fail", reason, "Copy it once more, or bounce it again.")


def _judge_extent(evidence: Evidence) -> IntakeItem | None:
    """Name what is too short, or too long, for one song, and what follows from it."""
    length_s = evidence.programme.duration_s
    if length_s > LONG_S:
        return IntakeItem(
            "length",
            "warn",
            f"It is {write_number(length_s / 60, 0)} min long, and is taken for one song: one loudness, one loudest "
            "stretch, and every step works on all of it.",
            "If these are several songs, bounce each of them alone.",
        )
    if length_s >= SHORT_S:
        return None
    unfit = ["a loudness range", "how a song goes on"]
    if length_s < TWO_STRETCHES_S:
        unfit.insert(0, "a quiet stretch apart from the loud one")
    return IntakeItem(
        "length",
        "warn",
        f"It is {write_number(length_s, 0)} s long: too short for {', '.join(unfit[:-1])} or {unfit[-1]}; what you "
        "decide holds for these seconds.",
        "If it is an excerpt, bounce the whole song.",
    )


def _judge_peaks(evidence: Evidence) -> IntakeItem:
    """Any peak that was not cut is fine; flat tops are not."""
    runs, peak = evidence.count("clipped_run"), evidence.programme.peaks.sample_peak_dbfs
    if runs:
        longest = max(f.strength for f in evidence.scan.faults if f.kind == "clipped_run")
        first = next(f.start_s for f in evidence.scan.faults if f.kind == "clipped_run")
        return IntakeItem(
            "peaks",
            "fail" if runs >= MANY_RUNS else "warn",
            f"Flat tops at {runs} places, the first at {write_number(first, 2)} s, the longest "
            f"{write_number(longest, 0)} samples: peaks were cut before or at the bounce, and no move here gives them "
            "back.",
            "Turn down the mix bus until nothing is cut, or bounce to 32-bit float, and bounce again.",
        )
    if peak > 0:
        return IntakeItem(
            "peaks",
            "pass",
            f"The highest sample is {write_number(peak, 1, True)} dBFS in a floating-point file: nothing is cut.",
            "Keep it in floating point until it is turned down; a file of 16 or 24 bits would cut it.",
        )
    return IntakeItem(
        "peaks",
        "pass",
        f"The highest sample is {write_number(peak)} dBFS and no top is cut. Headroom is no virtue in itself: any peak "
        "that is not cut is as good as a lower one, as the level can be turned down without loss.",
    )


def _judge_limiter(evidence: Evidence) -> IntakeItem | None:
    """Name a limiter on the mix bus by peaks at one height and little above the loudness."""
    dynamics = evidence.programme.dynamics
    if dynamics.ceiling_share is None or dynamics.densest_db is None or dynamics.short_term_dynamics_db is None:
        return None
    share = write_number(100 * dynamics.ceiling_share, 0)
    shown = (
        f"in {share} % of the loud tenths of a second the peak is within 0.3 dB of the highest; peaks stand "
        f"{write_number(dynamics.short_term_dynamics_db)} dB over the short-term loudness"
    )
    at_ceiling = dynamics.ceiling_share > LIMITED_CEILING_SHARE
    dense = dynamics.short_term_dynamics_db < LIMITED_DYNAMICS_DB
    if at_ceiling and dense:
        return IntakeItem(
            "limiter",
            "warn",
            f"A limiter seems to be on the mix bus: {shown}. What it took cannot be given back, and a second one adds "
            "to it.",
            "Bounce once more without it, and compare both at equal loudness before you decide.",
        )
    if dense:
        return IntakeItem(
            "limiter",
            "pass",
            f"A dense mix, without the signs of a limiter at its ceiling: {shown}.",
            "Little is left for a limiter to take; listen to the drums first.",
        )
    return IntakeItem("limiter", "pass", f"No signs of a limiter: {shown}.")


def _judge_source(evidence: Evidence) -> IntakeItem | None:
    """Name a coded or band-limited source by where, and how steeply, its spectrum ends."""
    band, rate = evidence.programme.bandwidth, evidence.form.sample_rate_hz
    if band is None:
        return None
    if evidence.form.bit_depth is None:
        return IntakeItem(
            "source",
            "fail",
            f"The file itself is coded ({evidence.form.format}).",
            "Bounce the mix to WAV, AIFF or FLAC with 24 bits or 32-bit float.",
        )
    # It is read in bands of 100 Hz.
    end = write_frequency(round(band.highest_hz, -2))
    cut = band.cliff_db > LOSSY_CLIFF_DB and band.highest_hz < min(LOSSY_HZ[1], LOSSY_SHARE * rate)
    if rate / 2 < FULL_BAND_HZ and not cut:
        return IntakeItem(
            "source",
            "warn",
            f"At a rate of {write_frequency(rate)} a file holds nothing above {write_frequency(rate / 2)}: "
            f"{_name_missing(rate / 2)} cannot be judged here, and no move brings them back.",
            "Bounce again at 44.1 or 48 kHz.",
        )
    if cut and band.highest_hz <= LOSSY_HZ[0]:
        return IntakeItem(
            "source",
            "warn",
            f"Above {end} there is next to nothing, as where a low rate was converted, or after a steep low-pass: "
            f"{_name_missing(band.highest_hz)} cannot be judged here, and no move brings them back.",
            "If it was not meant, look for what took the highs, and bounce again at 44.1 or 48 kHz.",
        )
    if cut:
        return IntakeItem(
            "source",
            "warn",
            f"Above {end} there is next to nothing: the spectrum falls by {write_number(band.cliff_db, 0)} dB within "
            "600 Hz, as after lossy coding or a steep low-pass.",
            "Make sure that the mix was not made from, or saved as, a coded file.",
        )
    return IntakeItem("source", "pass", f"The spectrum reaches up to {end}, without a cliff.")


def _name_missing(end_hz: float) -> str:
    """Name what a song has above an end of the spectrum."""
    return MISSING_LOW if end_hz < VOICE_BAND_HZ else MISSING_HIGH


def _judge_sides(evidence: Evidence) -> list[IntakeItem]:
    """Name a silent, heavier or opposite side."""
    stereo = evidence.programme.stereo
    if evidence.form.channels == 1 or _holds_one_sound(stereo):
        found = "The file has one channel" if evidence.form.channels == 1 else "Both channels hold the same sound"
        reason = f"{found}: width and places cannot be judged here, and no move makes sides."
        return [IntakeItem("sides", "warn", reason, "If the mix is stereo, look at the routing and bounce again.")]
    if stereo.silent_side:
        reason = f"The {stereo.silent_side} side is silent: all that was panned there is missing."
        return [IntakeItem("sides", "fail", reason, "Look at the routing, and bounce again.")]
    items = []
    if stereo.balance_db is not None and abs(stereo.balance_db) > UNBALANCED_DB:
        side = "left" if stereo.balance_db > 0 else "right"
        items.append(
            IntakeItem(
                "sides",
                "warn",
                f"The {side} side is {write_number(abs(stereo.balance_db))} dB higher than the other.",
                "If it was not meant, look for a panned track or a level on one side.",
            )
        )
    items += _judge_polarity(evidence)
    if not items and stereo.balance_db is not None and stereo.correlation is not None:
        apart, alike = write_number(abs(stereo.balance_db)), write_number(stereo.correlation, 2)
        items.append(
            IntakeItem(
                "sides",
                "pass",
                f"The sides are within {apart} dB, correlation {alike}; whether left is left no meter can tell.",
                "Check with something whose place you know that the sides are not swapped.",
            )
        )
    return items


def _holds_one_sound(stereo: Stereo) -> bool:
    """Tell whether two channels are one: what differs lies 60 dB and more below what they share."""
    if stereo.correlation is None or stereo.balance_db is None:
        return False
    return stereo.correlation > 1 - ONE_SOUND and abs(stereo.balance_db) < ONE_SOUND_DB


def _judge_polarity(evidence: Evidence) -> list[IntakeItem]:
    """Name what cancels in mono."""
    stereo, items = evidence.programme.stereo, []
    if stereo.correlation is not None and stereo.correlation < -0.1:
        items.append(
            IntakeItem(
                "mono",
                "fail",
                f"The sides work against each other: correlation {write_number(stereo.correlation, 2)}.",
                "Probably one side has its polarity turned; turn it back and bounce again.",
            )
        )
    elif stereo.mono_change_lu is not None and stereo.mono_change_lu < MONO_LOSS_LU:
        items.append(
            IntakeItem(
                "mono",
                "warn",
                f"Folded to mono it loses {write_number(-stereo.mono_change_lu)} LU.",
                "Listen in mono to what goes; wideners and doubled tracks are the usual reason.",
            )
        )
    if stereo.bass_correlation is not None and stereo.bass_correlation < BASS_CORRELATION:
        items.append(
            IntakeItem(
                "bass",
                "warn",
                f"Below 150 Hz the sides are hardly alike: correlation {write_number(stereo.bass_correlation, 2)}.",
                "Listen in mono, on speakers: if the bass goes, make it mono in the mix.",
            )
        )
    return items


def _judge_form(evidence: Evidence) -> IntakeItem | None:
    """Name a word length under 24 bits: not a fault, but avoidable."""
    depth, used = evidence.form.bit_depth, evidence.programme.true_bits
    if depth is None or evidence.form.floating or min(depth, used or depth) >= 24:
        return None
    bits = min(depth, used or depth)
    return IntakeItem(
        "word length",
        "warn" if bits < 16 else "pass",
        f"{bits} bits are in use: enough to go on with, if it was dithered.",
        "A bounce of 24 bits or 32-bit float keeps what comes later free of a second dither.",
    )


def _judge_fault(evidence: Evidence, kind: str) -> IntakeItem:
    """Name a fault that is better repaired in the mix."""
    found = [finding for finding in evidence.scan.faults if finding.kind == kind]
    return IntakeItem(
        "faults",
        "warn",
        f"{begin_large(NAMES[kind])}: {len(found)}, first at {write_number(found[0].start_s, 2)} s, "
        f"{found[0].channel}, {write_number(found[0].strength)} {found[0].unit}.",
        NEXT_STEPS[kind],
    )

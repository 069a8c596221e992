"""The sheet in words: what to aim for where settings mean something else, what was decided why, what a limit asks."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.decisions.bounce import find_ceiling, make_push
from trainer.decisions.candidate_verdicts import WITH_IT
from trainer.decisions.fade_steps import begins_on_bar
from trainer.decisions.finding_groups import (
    LASTING_S,
    FindingGroup,
    arrange_findings,
    tell_group,
    write_place,
    write_strength,
)
from trainer.decisions.round_verdicts import confirm, judge_preference
from trainer.decisions.round_words import describe_confirmation, describe_round, describe_taken_back
from trainer.decisions.rounds import Round
from trainer.decisions.sheet import Candidate, Decision, Fades, Finding, Sheet, Tempo
from trainer.decisions.target import Rule
from trainer.units import begin_large, write_amount, write_number, write_time

FLOAT_BITS = 32
# A pass that was ended so near to the end of the song was heard to its end.
NEXT_TO_END_S = 2.0
# Move: the result that it is set by, and what to do until it is there.
AIMS = {
    "low_shelf": ("gain_db", "Turn the shelf until its plateau is {} dB."),
    "high_shelf": ("gain_db", "Turn the shelf until its plateau is {} dB."),
    "bell": ("centre_gain_db", "Turn the bell until its centre is {} dB."),
    "tilt": ("tilt_db", "Lean it until 20 kHz stands {} dB against 20 Hz."),
    "high_pass": ("cutoff_hz", "Raise the cut-off until the curve is 3 dB down at {} Hz."),
    "compressor": ("reduction_on_hits_db", "Lower the threshold until the loudest hits show {} dB of reduction."),
    "compressor_on_average": ("reduction_mean_db", "Lower the threshold until the mean reduction is {} dB."),
    "multiband": ("reduction_in_band_db", "Lower the band's threshold until its loudest moments show {} dB."),
    "de_esser": ("reduction_on_sibilants_db", "Lower the threshold until the s is turned down by {} dB."),
    "saturation": ("added_db", "Drive it until what is added lies at {} dB against the song."),
    "top_harmonics": ("added_db", "Mix in until what is added lies at {} dB against the song."),
    "width": ("side_gain_db", "Turn the sides until they are {} dB against the middle."),
    "mono_below": ("mono_corner_hz", "Make it mono below {} Hz."),
}
SIGNED = {"gain_db", "centre_gain_db", "tilt_db", "side_gain_db"}
COSTS = {
    "hits_crest_lost_db": "loudest hits stand lower by",
    "snare_crest_lost_db": "snare stands lower by",
    "peak_to_loudness_db": "peaks over loudness",
    "short_term_dynamics_db": "peaks over loudness of 3 s, median",
    "true_peak_dbtp": "true peak",
    "loudness_change_lu": "change of the song's loudness",
    "true_peak_change_db": "change of the song's true peak",
}
UNITS = {"db": "dB", "lu": "LU", "lufs": "LUFS", "dbtp": "dBTP", "dbfs": "dBFS", "percent": "%", "ms": "ms", "hz": "Hz"}
TURNED_DOWN = "turned_down_"
WAYS = {"most": "at most", "least": "at least", "aim": "about", "between": "", "among": ""}


def aim_for(candidate: Candidate) -> str:
    """Say what to aim for with another maker's tool; nothing where that was not measured."""
    if candidate.move not in AIMS or AIMS[candidate.move][0] not in candidate.results:
        return ""
    name, words = AIMS[candidate.move]
    value = candidate.results[name]
    return words.format(write_number(value, 0 if name.endswith("_hz") else 1, name in SIGNED))


def name_figure(name: str) -> tuple[str, str]:
    """Name a figure that a sheet holds, from its key: words, unit."""
    stem, _, ending = name.rpartition("_")
    unit = UNITS.get(ending, "")
    if name in COSTS:
        return COSTS[name], unit
    words = (stem if unit else name).removeprefix(TURNED_DOWN).replace("_", " ")
    return (f"turned down in playback, {words}" if name.startswith(TURNED_DOWN) else words), unit


def explain_rounds(rounds: Sequence[Round], with_it: str = "") -> tuple[str, ...]:
    """Say what blind rounds tell, one after the other, and how far the last favourite is confirmed.

    ``with_it`` names the second of two versions, where there is a better name than the round's own.
    """
    lines: list[str] = []
    for held in rounds:
        if held.kind == "sighted":
            lines.append("Listened to with the names shown; nothing was asked.")
        elif not held.complete:
            lines.append(f"Not finished: {len(held.answers)} of {len(held.asked)} answers.")
        else:
            lines += [_head(held), *describe_round(held), *describe_taken_back(held)]
    found = [(held, judge_preference(held).favourite) for held in rounds if held.kind == "prefer" and held.complete]
    settled = [(held, favourite) for held, favourite in found if favourite is not None]
    if settled:
        held, favourite = settled[-1]
        name = with_it if with_it and favourite == WITH_IT else held.names[favourite]
        lines += describe_confirmation(confirm(rounds, held.versions[favourite]), name)
    return tuple(lines)


def _head(held: Round) -> str:
    """Say when and on what a complete round was heard, and its counts."""
    counts = ""
    if held.kind == "prefer":
        counts = ": " + ", ".join(f"{held.names[version]} {held.count_picks(version)}" for version in held.pair)
    return f"{held.begun_at[:10]}, {held.setup}{counts}."


def list_last_stages(sheet: Sheet) -> tuple[tuple[str, str, str], ...]:
    """List what follows the kept moves, in its order: the stage, how it is set, what to aim for."""
    rate = f"{sheet.delivery.rate_hz} Hz" if sheet.delivery.rate_hz else f"the mix's own, {sheet.mix.sample_rate_hz} Hz"
    stages = [("Rate conversion", rate, "Ahead of the limiter: converting moves peaks.")]
    push, rung = make_push(sheet.loudness), sheet.loudness.rung
    if push is None or rung is None:
        stages.append(("Limiter", "none", "No loudness is chosen."))
    else:
        aim = f"Raise the drive until the whole song measures {write_number(rung.reached_lufs)} LUFS"
        hits = rung.costs.get("reduction_on_hits_db")
        aim += "." if hits is None else f"; the loudest hits then show {write_number(hits)} dB of reduction."
        stages.append(("Limiter", "", aim))
    ceiling = write_number(find_ceiling(sheet.loudness))
    fades = word_fades(sheet.fades, sheet.mix.duration_s, sheet.tempo)
    stages.append(("Fades", fades, "Behind the limiter, which would work against them."))
    stages.append(("Peak check", f"at most {ceiling} dBTP", "On two meters; turn down what is over."))
    depth = sheet.delivery.bit_depth
    word = "none; floating point" if depth == FLOAT_BITS else f"triangular, to {depth} bits"
    stages.append(("Dither", word, "Last of all, once."))
    return tuple(stages)


def word_fades(fades: Fades, duration_s: float, tempo: Tempo | None = None) -> str:
    """Say where a song starts and ends, and how; with the tempo, where it was said."""
    start = f"starts at {write_number(fades.start_s, 3)} s"
    rises, falls = (curve.replace("_", " ") for curve in (fades.curve_in, fades.curve_out))
    start += f", in over {write_number(1000 * fades.fade_in_s, 0)} ms, {rises}" if fades.fade_in_s else ", no fade in"
    end = "to the end" if fades.end_s is None else f"ends at {write_number(fades.end_s, 3)} s"
    end += f", out over {write_amount(fades.fade_out_s)} s, {falls}" if fades.fade_out_s else ", no fade out"
    if tempo is None:
        return f"{start}; {end}"
    end += ", from a bar line" if begins_on_bar(fades, duration_s, tempo.bars) else ""
    return f"{start}; {end}; {write_tempo(tempo)}, counted from {write_number(tempo.first_s, 2)} s"


def write_tempo(tempo: Tempo) -> str:
    """Write a tempo."""
    return f"{tempo.tempo_bpm:g} beats a minute, {tempo.beats_in_bar} in a bar"


def tell_heard(sheet: Sheet) -> str:
    """Say how far the song has been heard on a pass; nothing where it was to its end, or where that is not known."""
    if sheet.heard_to_s is None or sheet.heard_to_s >= sheet.mix.duration_s - NEXT_TO_END_S:
        return ""
    at, whole = write_time(sheet.heard_to_s), write_time(sheet.mix.duration_s)
    return f"Heard to {at} of {whole}; what comes after it was not listened to."


def word_finding(finding: Finding) -> str:
    """Say what was found, where, and by whom."""
    by = " and ".join(word for word, there in (("heard", finding.heard), ("measured", finding.measured)) if there)
    exact = f"{write_number(finding.start_s, 2)} s"
    if finding.end_s - finding.start_s > LASTING_S:
        exact = f"{write_number(finding.start_s, 2)} to {write_number(finding.end_s, 2)} s"
    place = f"{finding.kind.replace('_', ' ')}{write_place(finding)} ({exact})"
    strength = write_strength(finding)
    note = f": {finding.note}" if finding.note else ""
    return f"{begin_large(place)}{', ' + strength if strength else ''}{', ' + by if by else ''}{note}"


def word_findings(findings: Sequence[Finding]) -> tuple[tuple[str, Decision], ...]:
    """Say what was found, in the order of the song, each line with what was decided; many of one kind are one line."""
    return tuple(
        (f"{tell_group(held)}, measured" if isinstance(held, FindingGroup) else word_finding(held), held.decision)
        for _, held in arrange_findings(findings)
    )


def word_limit(rule: Rule) -> str:
    """Say what a rule asks for."""
    if rule.way == "most" and rule.limit == 0 and rule.unit == "places":
        return "none"
    values = rule.limit if isinstance(rule.limit, tuple) else (rule.limit,)
    written = [each if isinstance(each, str) else _write(each, rule.unit) for each in values]
    joined = (" to " if rule.way == "between" else " or ").join(written)
    unit = "" if rule.unit == "Hz" else rule.unit
    return f"{WAYS[rule.way]} {joined} {unit}".strip()


def _write(value: float, unit: str) -> str:
    """Write a limit; rates in kHz."""
    if unit == "Hz":
        return f"{value / 1000:g} kHz"
    return write_number(value, 0 if float(value).is_integer() and unit not in ("LUFS", "dBTP", "dBFS") else 1)

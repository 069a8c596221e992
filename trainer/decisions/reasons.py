"""What a verdict means, and what to do next, in a musician's words."""

from __future__ import annotations

from trainer.decisions.target import Rule
from trainer.measure.faults.finding import KINDS
from trainer.units import begin_large, write_number

NAMES = {
    "integrated_lufs": "integrated loudness",
    "loudness_range_lu": "loudness range",
    "max_momentary_lufs": "highest momentary loudness",
    "max_short_term_lufs": "highest short-term loudness",
    "true_peak_dbtp": "true peak",
    "sample_peak_dbfs": "sample peak",
    "peak_to_loudness_db": "peak over loudness",
    "correlation": "correlation of the sides",
    "bass_correlation": "correlation below 150 Hz",
    "balance_db": "left over right",
    "mono_change_lu": "change in mono",
    "bandwidth_hz": "bandwidth",
    "true_bits": "bits in use",
    "bit_depth": "word length",
    "sample_rate_hz": "sampling rate",
    "channels": "channels",
    "duration_s": "length",
    "format": "file format",
    "head_silence_s": "silence at the head",
    "tail_silence_s": "silence at the tail",
    "tail_decay_s": "decay of the tail",
    "coded_true_peak_dbtp": "highest true peak after coding",
    "click": "clicks",
    "pop": "pops",
    "clipped_run": "clipped runs",
    "dropout": "dropouts",
    "hum": "hum",
    "hiss": "hiss",
    "dc": "offset from zero",
    "head_noise": "noise before the music",
    "abrupt_start": "abrupt start",
    "abrupt_end": "abrupt end",
    "intersample_over": "peaks over full scale between the samples",
}
FAULT_NAMES = {
    "click": "click",
    "pop": "pop",
    "clipped_run": "clipped run",
    "dropout": "dropout",
    "hum": "hum",
    "hiss": "hiss",
    "dc": "offset from zero",
    "head_noise": "noise before the music",
    "abrupt_start": "abrupt start",
    "abrupt_end": "abrupt end",
    "intersample_over": "over between the samples",
}
NEXT_STEPS = {
    "true_peak_dbtp": "Lower the limiter's ceiling by the difference, with true-peak detection on, and bounce again.",
    "sample_peak_dbfs": "Lower the output until the highest sample is under the limit.",
    "clipped_run": "Listen at these places; if it was not meant, turn down what feeds the clipper or the limiter.",
    "intersample_over": "Lower the limiter's ceiling, with true-peak detection on.",
    "click": "Listen at these places and repair them in the mix: edits, buffer size, plug-in automation.",
    "pop": "Listen at these places; a gentle high-pass on the track that has it, or an edit, takes it out.",
    "dropout": "Bounce again, offline if you can; look for a plug-in that fell behind.",
    "hum": "Look for it in the recordings; soften it there, not in the master.",
    "hiss": "Listen to the softest moment; if it disturbs, clean the track that carries it.",
    "dc": "A high-pass at 20 Hz takes it away.",
    "head_noise": "Trim the head to just before the first sound, with a short fade.",
    "abrupt_start": "Leave a moment before the first sound, or put a fade of a few milliseconds on it.",
    "abrupt_end": "Let the tail die away, or fade it out, and bounce with a longer end.",
    "head_silence_s": "Trim the head.",
    "tail_silence_s": "Trim the tail after the last sound has died away.",
    "channels": "Bounce in stereo, even if both sides are alike.",
    "sample_rate_hz": "Convert the rate before the limiter, then check the peaks again.",
    "bit_depth": "Bounce with this word length; dither when it becomes shorter, last of all.",
    "true_bits": "Find where the word length was lost, and bounce from there.",
    "format": "Bounce to one of these formats, not from a coded file.",
    "coded_true_peak_dbtp": "If that matters to you, lower the ceiling by the overshoot; −2 dBTP is on the safe side.",
    "bass_correlation": "Make the bass mono below about 150 Hz and listen again.",
}


def explain(rule: Rule, value: float | str, held: bool) -> str:
    """Say what was found against what was asked."""
    name, found = NAMES[rule.rule], _write(value, rule.unit)
    if rule.rule == "integrated_lufs":
        return _explain_loudness(rule, float(value))
    if rule.rule in KINDS:
        return f"{begin_large(name)}: none found." if held else f"{begin_large(name)}: {value:g} found."
    if held:
        return f"{begin_large(name)} {found}, as asked: {_write_limit(rule)}."
    return f"{begin_large(name)} {found}, but asked for: {_write_limit(rule)}."


def name_next_step(rule: Rule, value: float | str) -> str:
    """Say what to do about a miss."""
    if rule.rule == "integrated_lufs":
        return "Nothing, if you chose it by ear. Compare at equal loudness before you change it."
    return NEXT_STEPS.get(rule.rule, "Bounce again with this changed.")


def _explain_loudness(rule: Rule, value: float) -> str:
    """Say how far playback would turn a file down, or that it leaves it alone."""
    high = float(rule.limit[-1] if isinstance(rule.limit, tuple) else rule.limit)
    low = float(rule.limit[0] if isinstance(rule.limit, tuple) else rule.limit)
    found = f"{write_number(value)} LUFS"
    if value > high + 0.05:
        turned = write_number(value - high)
        return f"{found}: where playback is levelled to {write_number(high)} LUFS it is turned down by {turned} dB."
    if value < low - 0.05:
        lacking = write_number(low - value)
        return f"{found}: {lacking} dB under {write_number(low)} LUFS; some players turn it up, some do not."
    return f"{found}: as aimed."


def _write_limit(rule: Rule) -> str:
    """Write what was asked."""
    if isinstance(rule.limit, tuple):
        if rule.way == "between":
            return " to ".join(_write(one, "") for one in rule.limit) + f" {rule.unit}".rstrip()
        return " or ".join(_write(one, "") for one in rule.limit) + f" {rule.unit}".rstrip()
    words = {"most": "at most ", "least": "at least ", "aim": "about "}
    return words.get(rule.way, "") + _write(rule.limit, rule.unit)


def _write(value: float | str, unit: str) -> str:
    """Write a value with its unit."""
    if isinstance(value, str):
        return value
    digits = 0 if float(value).is_integer() and unit not in ("LUFS", "dBTP", "dBFS", "dB", "LU") else 1
    return f"{write_number(float(value), digits)} {unit}".rstrip()

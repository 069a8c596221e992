"""Words, unit and digits of every setting and every measured quantity."""

from __future__ import annotations

from trainer.units import begin_large, write_frequency, write_number

# Name: words for people, unit, digits, whether a plus sign is written.
QUANTITIES: dict[str, tuple[str, str, int, bool]] = {
    "gain_db": ("gain of the plateau", "dB", 2, True),
    "corner_hz": ("corner", "Hz", 0, False),
    "gain_at_corner_db": ("gain at the corner", "dB", 2, True),
    "gain_at_16_khz_db": ("gain at 16 kHz", "dB", 2, True),
    "gain_at_40_hz_db": ("gain at 40 Hz", "dB", 2, True),
    "level_change_db": ("everything else, after matching", "dB", 2, True),
    "worst_deviation_db": ("largest distance from the curve", "dB", 3, False),
    "centre_hz": ("centre", "Hz", 0, False),
    "centre_gain_db": ("gain of the bell", "dB", 2, True),
    "bell_q": ("width of the bell, Q", "", 2, False),
    "gain_at_centre_db": ("gain in the band at the centre", "dB", 2, True),
    "half_gain_below_hz": ("half of the gain, below", "Hz", 0, False),
    "half_gain_above_hz": ("half of the gain, above", "Hz", 0, False),
    "pivot_hz": ("pivot", "Hz", 0, False),
    "tilt_db": ("rise from 20 Hz to 20 kHz", "dB", 2, True),
    "slope_per_octave_db": ("slope per octave", "dB", 2, True),
    "gain_at_pivot_db": ("gain at the pivot", "dB", 2, True),
    "cutoff_hz": ("cut-off", "Hz", 1, False),
    "three_db_down_hz": ("measured curve 3 dB down", "Hz", 1, False),
    "gain_at_41_hz_db": ("gain at low E, 41 Hz", "dB", 2, True),
    "level_below_cutoff_before_db": ("below the cut-off, without", "dB", 1, True),
    "level_below_cutoff_after_db": ("below the cut-off, with", "dB", 1, True),
    "peak_change_db": ("highest peak, before matching", "dB", 2, True),
    "level_db": ("level", "dB", 2, True),
    "turned_db": ("mix turned towards the reference by", "dB", 1, True),
    "nearer_distance_db": ("nearer version, from the reference", "dB", 2, False),
    "further_distance_db": ("other version, from the reference", "dB", 2, False),
    "nearer_offset_db": ("nearer version, against it on average", "dB", 2, True),
    "further_offset_db": ("other version, against it on average", "dB", 2, True),
    "faults_planted": ("faults put in", "", 0, False),
    "part_db": ("the part in the mix", "dB", 2, True),
    "side_gain_db": ("sides against the middle", "dB", 2, True),
    "side_cut_db": ("sides taken down", "dB", 1, False),
    "mono_corner_hz": ("mono below", "Hz", 0, False),
    "side_below_corner_before_db": ("sides below the corner, without", "dB", 1, True),
    "side_below_corner_after_db": ("sides below the corner, with", "dB", 1, True),
    "turn_deg": ("right channel turned", "degrees", 0, False),
    "swap_percent": ("taken from the other side", "%", 0, False),
    "side_over_middle_before_db": ("sides against the middle, without", "dB", 1, True),
    "side_over_middle_after_db": ("sides against the middle, with", "dB", 1, True),
    "correlation_before": ("correlation, without", "", 2, True),
    "correlation_after": ("correlation, with", "", 2, True),
    "balance_before_db": ("left over right, without", "dB", 1, True),
    "balance_after_db": ("left over right, with", "dB", 1, True),
    "mono_loss_before_lu": ("loss in mono, without", "LU", 1, True),
    "mono_loss_after_lu": ("loss in mono, with", "LU", 1, True),
    "added_percent": ("added, of the song", "%", 2, False),
    "added_db": ("added, against the song", "dB", 1, True),
    "added_main_octave_hz": ("octave with most of it", "Hz", 0, False),
    "thd_percent": ("harmonics of a sine", "%", 2, False),
    "even_share_percent": ("even share of them", "%", 0, False),
    "level_dbfs": ("level of that sine", "dBFS", 0, True),
    "sine_hz": ("that sine", "Hz", 0, False),
    "mix_percent": ("mix of the overtones", "%", 0, False),
    "clip_point_dbfs": ("clip point", "dBFS", 2, True),
    "off_peaks_db": ("off the highest peaks", "dB", 2, False),
    "shaved_share_percent": ("samples shaved", "%", 3, False),
    "longest_run_samples": ("longest run", "samples", 0, False),
    "mean_run_samples": ("mean run", "samples", 1, False),
    "reduction_on_hits_db": ("reduction on the loudest hits", "dB", 2, False),
    "reduction_mean_db": ("reduction, mean", "dB", 2, False),
    "reduction_95th_percentile_db": ("reduction, 95th percentile", "dB", 2, False),
    "hits_over_song_before_db": ("loudest hits over the song, without", "dB", 1, True),
    "hits_over_song_after_db": ("loudest hits over the song, with", "dB", 1, True),
    "drive_db": ("drive into the ceiling", "dB", 2, True),
    "ceiling_dbtp": ("ceiling", "dBTP", 1, True),
    "release_ms": ("release", "ms", 0, False),
    "slow_release_ms": ("slow release", "ms", 0, False),
    "song_lufs": ("the whole song", "LUFS", 1, False),
    "reached_lufs": ("the whole song, driven so", "LUFS", 1, False),
    "push_lu": ("louder, before matching", "LU", 2, True),
    "clip_over_db": ("clipper above the ceiling", "dB", 1, False),
    "place_share": ("place, 0 first to 1 last", "", 2, False),
    "place_s": ("place", "s", 2, False),
    "fade_ms": ("fade", "ms", 0, False),
    "dither_lsb": ("dither width", "LSB", 0, False),
    "word_bits": ("word length", "bits", 1, False),
    "rate_kbps": ("rate", "kb/s", 0, False),
    "click_db": ("click over its surroundings", "dB", 1, False),
    "pop_db": ("pop over the bass around it", "dB", 1, False),
    "hiss_percent": ("hiss, of the song", "%", 2, False),
    "hum_percent": ("hum, of the song", "%", 2, False),
    "mains_hz": ("mains", "Hz", 1, False),
    "dropout_ms": ("hole", "ms", 1, False),
    "run_samples": ("longest flat run", "samples", 1, False),
    "sibilance_db": ("boost of the s", "dB", 1, False),
    "sibilants_per_s": ("s sounds a second", "1/s", 1, False),
    "cut_ms": ("cut out", "ms", 1, False),
    "missing_ms": ("silent too early", "ms", 0, False),
    "over_samples_db": ("true peak over samples", "dB", 2, False),
    "hiss_over_song_db": ("hiss, against the song", "dB", 1, True),
    "hum_over_song_db": ("hum, against the song", "dB", 1, True),
    "noise_over_song_db": ("noise, against the song", "dB", 1, True),
    "changed_over_song_db": ("what changed, against the song", "dB", 1, True),
    "over_softest_moment_db": ("against the song's softest tenth of a second", "dB", 1, True),
    "cut_off_db": ("cut off", "dB", 1, False),
    "noise_percent": ("noise, of the song", "%", 3, False),
    "noise_dbfs": ("noise as played", "dBFS", 1, True),
    "noise_swing_db": ("swing of the noise", "dB", 1, False),
    "error_follows_song_percent": ("error that follows the music", "%", 0, False),
    "used_bits": ("bits in use", "bits", 1, False),
    "changed_percent": ("changed, of the song", "%", 1, False),
    "true_peak_change_db": ("true peak", "dB", 1, True),
    "loudness_change_lu": ("loudness", "LU", 2, True),
    "bandwidth_hz": ("top end", "Hz", 0, False),
    "threshold_dbfs": ("threshold", "dBFS", 1, True),
    "ratio_to_1": ("ratio", ": 1", 1, False),
    "knee_db": ("knee", "dB", 1, False),
    "attack_ms": ("attack", "ms", 1, False),
    "side_chain_hz": ("side-chain high-pass", "Hz", 0, False),
    "reference_threshold_dbfs": ("threshold of the reference", "dBFS", 1, True),
    "reference_release_ms": ("release of the reference", "ms", 0, False),
    "reference_attack_ms": ("attack of the reference", "ms", 0, False),
    "reduction_on_beats_db": ("reduction on the beats, both versions", "dB", 1, False),
    "reduction_on_snare_db": ("reduction on the snare, both versions", "dB", 1, False),
    "low_crossover_hz": ("lower crossover", "Hz", 0, False),
    "middle_crossover_hz": ("middle crossover", "Hz", 0, False),
    "high_crossover_hz": ("upper crossover", "Hz", 0, False),
    "band_number": ("band", "", 0, False),
    "low_threshold_dbfs": ("threshold of the low band", "dBFS", 1, True),
    "low_mid_threshold_dbfs": ("threshold of the low middle", "dBFS", 1, True),
    "high_mid_threshold_dbfs": ("threshold of the high middle", "dBFS", 1, True),
    "high_threshold_dbfs": ("threshold of the top band", "dBFS", 1, True),
    "swing_at_beat_db": ("swing of the gain, mean over the beats", "dB", 2, False),
    "recovery_between_hits_percent": ("gain back before the next hit", "%", 0, False),
    "roughness_on_bass_db": ("ripple on held bass, against the note", "dB", 0, True),
    "roughness_over_reference_db": ("ripple on held bass, against the reference", "dB", 0, True),
    "snare_over_song_before_db": ("snare over the song, without", "dB", 1, True),
    "snare_over_song_after_db": ("snare over the song, with", "dB", 1, True),
    "kick_over_song_before_db": ("kick over the song, without", "dB", 1, True),
    "kick_over_song_after_db": ("kick over the song, with", "dB", 1, True),
    "swing_over_reference_db": ("more swing than the reference", "dB", 2, False),
    "snare_front_lost_db": ("front of the snare lost", "dB", 2, True),
    "kick_over_snare_db": ("kick gained against the snare", "dB", 2, True),
    "gain_on_snare_db": ("snare, between the versions", "dB", 2, True),
    "reduction_in_band_db": ("reduction in the band, loudest moments", "dB", 2, False),
    "reduction_in_band_mean_db": ("reduction in the band, mean", "dB", 2, False),
    "reduction_in_band_95th_percentile_db": ("reduction in the band, 95th percentile", "dB", 2, False),
    "reduction_on_sibilants_db": ("reduction on the s", "dB", 2, False),
}

# Two figures say what is heard of a level; tenths are kept up to here, as they are what is asked for.
LARGE_DB, VERY_LARGE_DB = 0.95, 29.5
KILOHERTZ_HZ = 1000.0
# What an amount in dB is of, by the drill's move.
AMOUNTS_DB: dict[str, frozenset[str]] = {
    "level": frozenset({"level", "bass_level", "voice_level"}),
    "gain": frozenset({"low_shelf", "high_shelf", "bell", "tilt", "width", "mono", "sibilance"}),
    "reduction": frozenset(
        {"limiter", "soft_clip", "hard_clip", "compressor", "compressor_on_average", "held_down", "multiband",
         "de_esser"}
    ),
    "swing of the gain": frozenset({"pumping", "release"}),
    "change of the hits": frozenset({"attack", "side_chain_filter"}),
    "over what is around it": frozenset({"click", "pop"}),
}  # fmt: skip


def name_amount(move: str, unit: str) -> str:
    """Name what amounts of a move are, with their unit: ``gain, dB``; the unit alone where it says enough."""
    kinds = [kind for kind, moves in AMOUNTS_DB.items() if move in moves]
    if unit == "%":
        return "% of the song"
    return f"{kinds[0]}, {unit}" if unit == "dB" and kinds else unit


def describe_quantity(name: str, value: float) -> tuple[str, str]:
    """Name a quantity and write its value with its unit."""
    words, unit, digits, signed = QUANTITIES.get(name, (name.replace("_", " "), "", 2, False))
    if unit == "Hz" and value >= KILOHERTZ_HZ:
        return words, write_frequency(value)
    if unit in ("dB", "LU") and abs(value) >= LARGE_DB:
        digits = min(digits, 1 if abs(value) < VERY_LARGE_DB else 0)
    return words, f"{write_number(value, digits, signed)} {unit}".rstrip()


def find_twin(name: str) -> str:
    """Name what was measured with the move for what was measured without it, and the other way round; or nothing."""
    parts = name.split("_")
    other = {"before": "after", "after": "before"}
    return "_".join(other.get(part, part) for part in parts) if not other.keys().isdisjoint(parts) else ""


def describe_pair(before: str, value_before: float, value_after: float) -> tuple[str, str]:
    """Name a quantity that was measured without and with the move, and write both values with one unit."""
    words, first = describe_quantity(before, value_before)
    unit = QUANTITIES[before][1] if before in QUANTITIES else ""
    bare = first.removesuffix(f" {unit}") if unit else first
    return (
        f"{words.removesuffix(', without')}, without and with",
        f"{bare} and {describe_quantity(before, value_after)[1]}",
    )


def compare_quantity(name: str, asked: float, measured: float) -> str:
    """Say in one line what was asked for and what the sound shows."""
    words, wished = describe_quantity(name, asked)
    return f"{begin_large(words)}: {wished} asked for, {describe_quantity(name, measured)[1]} measured."

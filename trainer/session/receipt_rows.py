"""A trial's receipt: every quantity, asked and measured."""

from __future__ import annotations

from trainer.exercise.quantities import describe_pair, describe_quantity, find_twin
from trainer.exercise.trial import PreparedTrial
from trainer.session.view import ReceiptRow
from trainer.units import write_number, write_spread

SHORT_NAME = 8
# What a guard promises of versions that are matched.
MOST_SPREAD_LU = 0.05


def list_readings(trial: PreparedTrial) -> tuple[tuple[str, str], ...]:
    """List what was measured of the version that a trial is about, each with its unit."""
    return tuple(describe_quantity(name, value) for name, value in trial.effect.measured.items())


def list_receipt(trial: PreparedTrial, name: str) -> tuple[ReceiptRow, ...]:
    """List every quantity, asked and measured, and the name by which the trial can be made again."""
    asked, measured = trial.asked, trial.effect.measured
    rows = []
    for quantity in dict.fromkeys([*measured, *asked]):
        twin = find_twin(quantity)
        if twin in measured and quantity in measured:
            if "_before" in quantity:
                rows.append(_pair(quantity, measured[quantity], measured[twin]))
            continue
        title = describe_quantity(quantity, 0.0)[0]
        texts = [
            describe_quantity(quantity, part[quantity])[1] if quantity in part else "" for part in (asked, measured)
        ]
        rows.append(ReceiptRow(title, *texts))
    rows += _list_loudness(trial)
    rows.append(_tell_spread(trial))
    highest = max(version.true_peak_dbtp for version in trial.versions)
    rows.append(ReceiptRow("highest true peak", "under −1.0 dBTP", f"{write_number(highest)} dBTP"))
    rows.append(ReceiptRow("name, for evenhand replay", "", name[:SHORT_NAME]))
    return tuple(rows)


def _tell_spread(trial: PreparedTrial) -> ReceiptRow:
    """Set the bound that is promised beside the spread that was measured, or say that level is the question."""
    if trial.loudness_matched:
        bound = f"under {write_number(MOST_SPREAD_LU, 2)} LU"
        return ReceiptRow("largest difference in loudness", bound, write_spread(trial.spread_lu))
    spread = f"{write_number(trial.spread_lu, 2)} LU"
    return ReceiptRow("largest difference in loudness", "the question itself", spread)


def _pair(before: str, value_before: float, value_after: float) -> ReceiptRow:
    """Set what was measured without the move beside what was measured with it."""
    words, values = describe_pair(before, value_before, value_after)
    return ReceiptRow(words, "", values)


def _list_loudness(trial: PreparedTrial) -> list[ReceiptRow]:
    """Say how loud all versions are, or, where they differ on purpose, those without and the one with."""
    loud = trial.target.loudness_lufs
    if trial.loudness_matched:
        return [ReceiptRow("loudness of all versions", "", f"{write_number(loud)} LUFS")]
    plain = next((each.loudness_lufs for each in trial.versions if not each.processed), loud)
    return [ReceiptRow("loudness, without and with", "", f"{write_number(plain, 2)} and {write_number(loud, 2)} LUFS")]

"""The receipt of a trial: asked and measured side by side, as data."""

from __future__ import annotations

from typing import Any

from trainer.exercise.quantities import compare_quantity
from trainer.exercise.trial import PreparedTrial


def write_trial_receipt(trial: PreparedTrial, files: tuple[str, ...], name: str) -> dict[str, Any]:
    """Write one trial's part of ``receipt.json``.

    Parameters
    ----------
    trial : PreparedTrial
        The trial.
    files : tuple of str
        One file name to a version.
    name : str
        What the trial is called: its identifier in the history, or a name of its own.

    Returns
    -------
    dict
        Plain values; ``measured`` comes from the sound, ``asked`` from the settings.
    """
    spec = trial.spec
    return {
        "trial": name,
        "index": spec.index,
        "form": spec.drill.form,
        "question": spec.drill.question,
        "song": trial.song.title,
        **_name_reference(trial),
        "excerpt": {"start_s": round(trial.excerpt.start_s, 6), "end_s": round(trial.excerpt.end_s, 6)},
        "rate_hz": trial.rate_hz,
        "move": spec.drill.move,
        "unit": spec.drill.amount.unit,
        "amount": spec.amount,
        "line": compare_quantity(trial.effect_name, trial.target.take.amount, trial.effect.amount),
        "versions": [
            {
                "file": file,
                "label": str(version.number),
                "processed": version.processed,
                "move": version.take.move,
                "amount": version.take.amount,
                "asked": dict(version.asked),
                "measured": dict(version.effect.measured) if version.effect else {},
                "gain_db": version.gain_db,
                "integrated_lufs": version.loudness_lufs,
                "true_peak_dbtp": version.true_peak_dbtp,
            }
            for version, file in zip(trial.versions, files, strict=True)
        ],
        "loudness_matched": trial.loudness_matched,
        "spread_lu": trial.spread_lu,
        "change_level_db": trial.change_db,
        "answers": list(trial.answers),
        "right_answer": trial.right_answer,
    }


def _name_reference(trial: PreparedTrial) -> dict[str, Any]:
    """Name the song that is heard beside the mix, where one is."""
    other = trial.song.reference
    if other is None or not any(take.reference for take in trial.layout.takes):
        return {}
    return {"reference": {"song": other.title, "sha256": other.sha256}}

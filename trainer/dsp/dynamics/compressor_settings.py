"""The settings that all compressors share, from their names to what the engine takes."""

from __future__ import annotations

from dataclasses import replace

from trainer.dsp.dynamics.compression import Ballistics, Compression, Curve
from trainer.dsp.move import Parameter, Settings

PARAMETERS = (
    Parameter("threshold_dbfs", "dBFS", -120.0, 60.0, 0.0),
    Parameter("ratio_to_1", "to_1", 1.0, 20.0, 4.0),
    Parameter("knee_db", "dB", 0.0, 24.0, 6.0),
    Parameter("attack_ms", "ms", 0.1, 200.0, 10.0),
    Parameter("release_ms", "ms", 5.0, 5000.0, 150.0),
    Parameter("slow_release_ms", "ms", 0.0, 5000.0, 0.0),
    Parameter("side_chain_hz", "Hz", 0.0, 500.0, 0.0),
)


def set_defaults(parameters: tuple[Parameter, ...] = PARAMETERS, **defaults: float) -> tuple[Parameter, ...]:
    """Give the same parameters with other defaults, by name."""
    return tuple(replace(item, default=defaults.get(item.name, item.default)) for item in parameters)


def read_compression(full: Settings) -> Compression:
    """Turn complete settings into what the engine takes."""
    return Compression(
        Curve(full["threshold_dbfs"], full["ratio_to_1"], full["knee_db"]),
        Ballistics(full["attack_ms"] / 1000, full["release_ms"] / 1000, full.get("slow_release_ms", 0.0) / 1000),
        full.get("side_chain_hz", 0.0),
    )

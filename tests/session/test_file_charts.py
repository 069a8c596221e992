"""Charts of a file: what is drawn where, read from the shapes."""

from __future__ import annotations

import pytest

from trainer.session.figure import Area, Figure, Label, Mark, Path
from trainer.session.file_charts import loudness_over_time, third_octave_levels, wave_with_faults


def words(figure: Figure) -> list[str]:
    """Give the words of a figure."""
    return [shape.text for shape in figure.shapes if isinstance(shape, Label)]


def test_faults_stand_at_their_times() -> None:
    """By construction: at a quarter and at three quarters of the time axis, each with a cross and its name."""
    faults = (("click", 15.0, 15.0001), ("hum", 45.0, 60.0))
    figure = wave_with_faults(((0.5, 1.0, 0.25) * 20,) * 2, faults, 60.0, 800, 220)
    crosses = [shape.at[0] for shape in figure.shapes if isinstance(shape, Mark)]
    left, right = 52.0, 800 - 14.0
    assert crosses == pytest.approx([left + 0.25 * (right - left), left + 0.75 * (right - left)])
    assert {"click", "hum", "left", "right", "0:00", "1:00"} <= set(words(figure))
    band = [shape for shape in figure.shapes if isinstance(shape, Area) and shape.colour == "vermilion"]
    assert len(band) == 1 and max(x for x, _ in band[0].points) == pytest.approx(right)


def test_the_wave_is_as_high_as_its_peaks() -> None:
    """By construction: full scale reaches 0.46 of a lane to both sides, half of it half as far."""
    figure = wave_with_faults(((1.0, 0.5, 0.0, 0.5),), (), 4.0, 400, 200)
    (wave,) = (shape for shape in figure.shapes if isinstance(shape, Area))
    heights = [y for _, y in wave.points]
    middle = (max(heights) + min(heights)) / 2
    reach = [abs(y - middle) for y in heights[:4]]
    assert reach == pytest.approx([reach[0], reach[0] / 2, 0.0, reach[0] / 2])
    assert "mono" in words(figure)


def test_the_lines_of_loudness() -> None:
    """By construction: target 2 LU over the file's own; both are named, and above one another as their values are."""
    figure = loudness_over_time((3.0, 4.0, 5.0), (-20.0, -15.0, -17.0), 5.0, -16.0, -14.0, 700, 220)
    named = {shape.text: shape.at[1] for shape in figure.shapes if isinstance(shape, Label)}
    assert named["target"] < named["integrated"]
    assert any(word.endswith(" LUFS") for word in words(figure))
    curve = next(shape for shape in figure.shapes if isinstance(shape, Path) and shape.colour == "blue")
    ys = [y for _, y in curve.points]
    assert ys[1] < ys[2] < ys[0]
    bare = loudness_over_time((), (), 1.0, None, None, 700, 220)
    assert "target" not in words(bare)


def test_third_octaves_stand_in_their_order() -> None:
    """By construction: three bands, rising levels, rising bars; what is under −90 dB stands at −90."""
    figure = third_octave_levels(((100.0, -60.0), (1000.0, -40.0), (10000.0, -120.0)), 700, 220)
    bars = [shape for shape in figure.shapes if isinstance(shape, Area)]
    tops = [min(y for _, y in bar.points) for bar in bars]
    assert tops[1] < tops[0] < tops[2] and len(bars) == 3
    assert {"20 Hz", "1k", "10k"} <= set(words(figure))
    assert third_octave_levels((), 300, 170).shapes


@pytest.mark.parametrize("width", [280, 860])
def test_everything_stays_inside(width: int) -> None:
    """The house's own rule: nothing is drawn beyond the figure."""
    faults = tuple(("over between the samples", float(place), place + 0.1) for place in range(0, 60, 3))
    for figure in (
        wave_with_faults(((0.9,) * 900,) * 2, faults, 60.0, width, 200),
        loudness_over_time((3.0, 60.0), (-60.0, -5.0), 60.0, -10.0, -10.2, width, 200),
        third_octave_levels(((19.95, -20.0), (19952.6, -80.0)), width, 200),
    ):
        for shape in figure.shapes:
            points = (shape.at,) if isinstance(shape, (Label, Mark)) else shape.points
            assert all(-0.01 <= x <= width + 0.01 and -0.01 <= y <= 200.01 for x, y in points)

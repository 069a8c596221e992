"""Charts: where data fall, what the axes hold, and that no words touch."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.session.answer_charts import errors_over_trials, pairs_over_trials
from trainer.session.axes import Axis, even_ticks, letter_width, ratio_ticks
from trainer.session.charts import EarPoint, ear_over_trials, frequency_response, gain_reduction
from trainer.session.ear_rows import EarGroup, EarRow, ear_rows
from trainer.session.figure import Area, Figure, Label, Mark, Path

SIZES = ((548.0, 232.0), (440.0, 220.0), (700.0, 320.0))


def boxes(figure: Figure) -> list[tuple[str, float, float, float, float]]:
    """Give each label with its edges, the width estimated on the safe side."""
    found = []
    for shape in figure.shapes:
        if isinstance(shape, Label):
            width = letter_width(shape.text, shape.size) * 0.9
            left = shape.at[0] - {"left": 0.0, "middle": width / 2, "right": width}[shape.anchor]
            top, bottom = shape.at[1] - 0.75 * shape.size, shape.at[1]
            found.append((shape.text, left, top, left + width, bottom))
    return found


def assert_words_are_apart(figure: Figure) -> None:
    """No two labels overlap and none leaves the figure."""
    for one, other in combinations(boxes(figure), 2):
        apart = one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] or other[4] <= one[2]
        assert apart, (one, other)
    for text, left, top, right, bottom in boxes(figure):
        assert left >= -4 and top >= -1, text
        assert right <= figure.width + 4 and bottom <= figure.height + 1, text


def marks(figure: Figure, shape: str) -> list[Mark]:
    """Give the marks of one kind that are data, not the legend at the foot."""
    limit = figure.height - 40
    return [s for s in figure.shapes if isinstance(s, Mark) and s.shape == shape and s.at[1] < limit]


def test_axis_by_ratio_puts_the_geometric_mean_in_the_middle() -> None:
    """Closed form: on a logarithmic axis the middle of 20 and 20 000 Hz is their geometric mean, 632 Hz."""
    assert Axis(20, 20000, 0, 100, ratio=True).place(math.sqrt(20 * 20000)) == pytest.approx(50.0)
    assert Axis(-2, 2, 100, 0).place(1.0) == pytest.approx(25.0)


@given(st.floats(-30, 29), st.floats(0.01, 40), st.integers(2, 8))
def test_even_ticks_contain_the_values(low: float, span: float, most: int) -> None:
    """Property: ends are held, steps are 1, 2 or 5 times a power of ten, and there are few of them."""
    ticks = even_ticks(low, low + span, most)
    assert ticks[0] <= low + 1e-6 * span and ticks[-1] >= low + span * (1 - 1e-6)
    step = ticks[1] - ticks[0]
    assert round(step / 10 ** math.floor(math.log10(step) + 1e-9), 6) in (1, 2, 5, 10)


def test_ticks_by_ratio_are_round() -> None:
    """The preferred numbers 1, 2 and 5 (as on any ruled scale): 0.6 to 3 dB lies between 0.5 and 5 dB."""
    assert ratio_ticks(0.6, 3.0, 6) == (0.5, 1.0, 2.0, 5.0)
    assert ratio_ticks(0.02, 3.0, 4)[0] <= 0.02


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("gain_db", [0.3, -1.2, 6.0, -18.0])
def test_frequency_response_keeps_its_words_apart(width: float, height: float, gain_db: float) -> None:
    """Nothing overlaps and every dot lies between the outer levels."""
    points = [(31.5 * 2 ** (n / 3), gain_db * n / 27) for n in range(28)]
    figure = frequency_response(points, points, width, height)
    assert_words_are_apart(figure)
    assert len(marks(figure, "dot")) == 28


def test_frequency_response_places_a_dot_where_axis_and_tick_say() -> None:
    """A dot at 1 kHz stands above the tick of 1 kHz, and 0 dB on the line labelled 0."""
    figure = frequency_response([(1000.0, 0.0)], [], 548, 232)
    words = {shape.text: shape for shape in figure.shapes if isinstance(shape, Label)}
    (dot,) = marks(figure, "dot")
    assert dot.at[0] == pytest.approx(words["1k"].at[0])
    assert dot.at[1] == pytest.approx(words["0"].at[1] - 4)


def test_frequency_response_leaves_out_what_cannot_be_heard_or_drawn() -> None:
    """Below 20 Hz and endless levels are not drawn; a deep cut stays at the lower end."""
    figure = frequency_response([(5.0, 0.0), (100.0, -math.inf), (200.0, -80.0)], [], 548, 232)
    assert len(marks(figure, "dot")) == 1


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_gain_reduction_goes_down_from_nought(width: float, height: float) -> None:
    """The deepest reduction is the lowest point; no reduction lies on 0 dB."""
    times = [n / 1000 for n in range(8000)]
    figure = gain_reduction(times, [4.2 if n == 4000 else 0.0 for n in range(8000)], width, height)
    assert_words_are_apart(figure)
    curve = next(s for s in figure.shapes if isinstance(s, Path) and s.colour == "blue").points
    assert len(curve) < 2000
    deepest = max(curve, key=lambda point: point[1])
    assert min(y for _, y in curve) == 9
    middle = (curve[0][0] + curve[-1][0]) / 2
    assert deepest[0] == pytest.approx(middle, abs=1.0)


def ear_points(count: int) -> list[EarPoint]:
    """Give a run in which every third answer is wrong."""
    return [
        EarPoint(2.0 - 0.04 * n, n % 3 != 2, 1.5, 1.5 / (1 + 2 / (n + 1)), 1.5 * (1 + 2 / (n + 1)))
        for n in range(count)
    ]


@pytest.mark.parametrize("count", [0, 1, 2, 7, 30])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_ear_over_trials_shows_each_answer(width: float, height: float, count: int) -> None:
    """Right answers are dots, wrong ones crosses: told apart without colour (WCAG 2.2, 1.4.1)."""
    figure = ear_over_trials(ear_points(count), "dB", 1.0, 30, width, height)
    assert_words_are_apart(figure)
    assert len(marks(figure, "dot")) == count - count // 3
    assert len(marks(figure, "cross")) == count // 3
    assert any(isinstance(s, Label) and s.text == "usual" for s in figure.shapes)


@pytest.mark.parametrize("usual", [0.5, 1.0, 2.5, 3.0])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_axis_ends_near_what_can_be_asked(width: float, height: float, usual: float) -> None:
    """Guessing pushes estimate and interval far up; 3 dB is the most that is asked, and 5 the next of 1, 2, 5, 10."""
    points = [EarPoint(3.0, False, 3.0 * 1.1**n, 1.0, 3.0 * 1.2**n) for n in range(20)]
    figure = ear_over_trials(points, "dB", usual, 30, width, height, 3.0)
    assert_words_are_apart(figure)
    named = [float(s.text[:-3]) for s in figure.shapes if isinstance(s, Label) and s.text.endswith(" dB")]
    assert max(named) <= 5.0 and named.count(usual) == 1
    for shape in figure.shapes:
        if isinstance(shape, (Area, Path)):
            assert min(y for _, y in shape.points) >= 9 - 1e-9
    curve = [s for s in figure.shapes if isinstance(s, Path) and s.colour == "blue" and len(s.points) > 1]
    assert curve and all(y > 9 for path in curve for _, y in path.points)
    # Amounts that were asked lie below the top edge, apart from what is cut off there.
    assert all(mark.at[1] > 12 for mark in marks(figure, "cross"))


def test_ear_over_trials_takes_amounts_below_nought() -> None:
    """An amount such as −42 dB below the song is drawn on an even axis."""
    points = [EarPoint(-30.0, True, -35.0, -40.0, -30.0)]
    assert_words_are_apart(ear_over_trials(points, "dB", -42.0, 10, 548, 232))


def group(ticks: tuple[float, ...], usual: float, *rows: EarRow) -> EarGroup:
    """Give a group with the rows."""
    return EarGroup("Dynamics", "gain reduction, dB", usual, ticks, rows)


@settings(max_examples=40, deadline=None)
@given(st.floats(360, 700), st.integers(1, 6))
def test_ear_rows_keep_their_words_apart(width: float, count: int) -> None:
    """At any width in use, with long names and with the usual amount beside a tick."""
    rows = [EarRow("Side-chain filter and attack", None, 0, 0, False)] * count
    rows += [EarRow("Limiting", 3.0, 2.0, 5.0, True)]
    assert_words_are_apart(ear_rows((group((1, 2, 4, 8), 2.1, *rows), group((24, 30, 60), 42, *rows)), width))


def test_ear_rows_tell_what_is_known() -> None:
    """No estimate: words; settled: dot; still moving: ring; beyond the axis: an arrowhead."""
    rows = (
        EarRow("a", None, 0, 0, False),
        EarRow("b", 2.0, 1.5, 3.0, True),
        EarRow("c", 4.0, 2.0, 20.0, False),
    )
    figure = ear_rows((group((1, 2, 4, 8), 2, *rows),), 412)
    assert [s.text for s in figure.shapes if isinstance(s, Label)].count("not yet heard") == 1
    assert len([s for s in figure.shapes if isinstance(s, Mark) and s.radius == 6 and s.shape == "ring"]) == 1
    assert len([s for s in figure.shapes if isinstance(s, Area) and s.colour == "blue"]) == 1


@given(st.text(max_size=30))
def test_letter_width_grows_with_the_text(text: str) -> None:
    """Property: more text is never narrower."""
    assert letter_width(text + "a", 13) > letter_width(text, 13)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_band_ends_within_its_scale(width: float, height: float) -> None:
    """Where 12 dB is the most that is asked and the range ends at 15 dB, the scale goes on to 20 dB."""
    figure = ear_over_trials([EarPoint(8.0, True, 3.0, 0.76, 15.0)], "dB", 1.0, 2, width, height, 12.0)
    assert_words_are_apart(figure)
    (band,) = (s for s in figure.shapes if isinstance(s, Area) and s.opacity == 0.2 and len(s.points) > 4)
    top = min(s.at[1] - 4 for s in figure.shapes if isinstance(s, Label) and s.text == "20 dB")
    assert min(y for _, y in band.points) > top + 1


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_errors_stand_above_and_below_the_right_amount(width: float, height: float) -> None:
    """By the meaning of the sign: too much above the line at 0, too little below it; near ones are dots."""
    figure = errors_over_trials([(1.2, False), (0.0, True), (-0.3, True)], "dB", 0.5, 5, width, height)
    assert_words_are_apart(figure)
    zero = next(s.at[1] - 4 for s in figure.shapes if isinstance(s, Label) and s.text == "0")
    (cross,), (just, under) = marks(figure, "cross"), marks(figure, "dot")
    assert cross.at[1] < zero < under.at[1] and just.at[1] == pytest.approx(zero)
    scale = [s for s in figure.shapes if isinstance(s, Label) and s.text.endswith(" dB")]
    assert scale and (zero - cross.at[1]) / (zero - scale[0].at[1] + 4) == pytest.approx(
        1.2 / float(scale[0].text[:-3])
    )


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_pairs_in_order_stand_by_their_share(width: float, height: float) -> None:
    """Five of six pairs lie at five sixths of the way from none to all."""
    figure = pairs_over_trials([(5 / 6, False)], 3, width, height)
    assert_words_are_apart(figure)
    at = {s.text: s.at[1] - 4 for s in figure.shapes if isinstance(s, Label)}
    (mark,) = marks(figure, "cross")
    assert (at["no pair"] - mark.at[1]) / (at["no pair"] - at["all pairs"]) == pytest.approx(5 / 6)

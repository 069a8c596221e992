"""Sheets of the Harbour Street Record Club, whole and drawn at random."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from trainer.audio.fades import CURVES
from trainer.decisions.rounds import LEADERS, PICKS_APART, Round
from trainer.decisions.sheet import (
    CHAIN,
    DECISIONS,
    HEARD,
    STEPS,
    VERDICTS,
    Aim,
    Bounced,
    Candidate,
    Delivery,
    Fades,
    Finding,
    Loudness,
    MixFile,
    Reference,
    Rung,
    Sheet,
    Tempo,
)
from trainer.dsp.moves import MOVES

LOUD, QUIET = (61.5, 69.5), (12.0, 20.0)
MIX = MixFile("/songs/low_tide.wav", "ab" * 32, 48000, 191.25, -18.43, -3.07)


def make_round(kind: str = "prefer", picked: int = 10, **changes: Any) -> Round:
    """Make a complete round of two in which the second was picked so often, or told so often."""
    held = Round(
        "r1",
        "2026-11-27T21:14:03+01:00",
        739947,
        "headphones",
        kind,  # type: ignore[arg-type]
        ("c0" * 32, "c1" * 32),
        ("without", "with"),
        (0, 1),
        (LOUD, QUIET) if kind == "prefer" else (LOUD,),
        7,
    )
    held = replace(held, **changes)
    answers = []
    for number, asked in enumerate(held.asked):
        wished = asked.right_answer if kind == "apart" else str(asked.sounds.index(1) + 1)
        answers.append(wished if number < picked else "12"[wished == "1"])
    return replace(held, answers=tuple(answers))


def make_candidate(name: str = "low_shelf_110", move: str = "low_shelf", **changes: Any) -> Candidate:
    """Make a candidate with a move's own settings, the low shelf at +1 dB below 110 Hz."""
    settings = {parameter.name: parameter.default for parameter in MOVES[move].parameters}
    if move == "low_shelf":
        settings |= {"corner_hz": 110.0, "gain_db": 1.0}
    step = "balance" if move in CHAIN[:5] else "sweetening"
    kind = "hygiene" if move == "high_pass" else "taste"
    held = Candidate(name, step, kind, move, 1.0, "dB", settings)  # type: ignore[arg-type]
    return replace(held, **changes)


def make_sheet(**changes: Any) -> Sheet:
    """Make a sheet on which everything happened once."""
    shelf = make_candidate(
        results={"gain_db": 1.004, "gain_at_40_hz_db": 0.97},
        reason="2.1 dB less below 110 Hz than three references",
        threshold="0.9–1.6 dB",
        verdict="keep",
        decision="keep",
        rounds=(make_round(),),
    )
    width = make_candidate(
        "width_up", "width", verdict="not_settled", decision="leave", note="check on speakers",
        rounds=(make_round(picked=7), make_round("apart", 9)),
    )  # fmt: skip
    rungs = tuple(
        Rung(asked, asked + 0.01, drive, {"reduction_on_hits_db": cost, "snare_crest_lost_db": cost / 3})
        for asked, drive, cost in ((-14.0, 4.2, 0.4), (-12.0, 6.3, 2.2), (-10.0, 8.9, 5.1))
    )
    sheet = Sheet(
        "Low tide",
        MIX,
        "2026-11-27",
        Aim(
            "Low tide", "album", "", "Harbour Street Record Club", ("streaming",), "the breath before the chorus",
            ("phone", "car"), "patient", ("the voice is near", "bass: uneven?\nlisten again"),
        ),
        (Finding("click", 12.5, 12.501, True, True, 14.2, "dB", "mix", "an edit"), Finding("harsh_s", 40.0, 41.0)),
        Fades(0.25, 0.005, 190.0, 4.0),
        (Reference("/songs/neap.flac", "ef" * 32),),
        (shelf, width),
        Loudness(
            rungs, 1, {"ceiling_dbtp": -1.0, "release_ms": 60.0, "slow_release_ms": 300.0, "clip_over_db": 1.0},
            "keep", (make_round(names=("−14", "−12")),),
        ),
        (make_round(names=("mix", "all kept moves")),),
        Delivery(44100, 16, (Bounced("/songs/out.wav", "cd" * 32, 44100, 16, -12.02, -1.01, "pass"),)),
        ("aim", "listen_through", "balance"),
    )  # fmt: skip
    return replace(sheet, **changes)


def _floats(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


def _text(least: int = 0, most: int = 40) -> st.SearchStrategy[str]:
    letters = st.characters(blacklist_categories=("Cs", "Cc"), whitelist_characters="\n\t")
    return st.text(letters, min_size=least, max_size=most)


def _tuples(items: st.SearchStrategy[Any], most: int = 3) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(items, max_size=most).map(tuple)


NAMES = st.from_regex(r"[a-z][a-z0-9_]{0,15}", fullmatch=True)
HASHES = st.text("0123456789abcdef", min_size=64, max_size=64)
NUMBERS = st.dictionaries(NAMES, _floats(-1e9, 1e9), max_size=4)


@st.composite
def draw_round(draw: st.DrawFn) -> Round:
    """Draw a round, complete or not, with picks that were taken back."""
    count = draw(st.integers(2, 8))
    kinds = ("prefer", "apart", "all", "sighted", *(("leaders",) if count >= LEADERS else ()))
    kind = draw(st.sampled_from(kinds))
    held = Round(
        draw(_text(1)),
        draw(st.datetimes(timezones=st.timezones())).isoformat(),
        draw(st.integers(1, 3652059)),
        draw(_text(1)),
        kind,  # type: ignore[arg-type]
        tuple(draw(_text(1)) for _ in range(count)),
        tuple(draw(_text(1)) for _ in range(count)),
        tuple(draw(st.permutations(range(count)))[:2]),  # type: ignore[arg-type]
        tuple(draw(st.tuples(_floats(0, 9999), _floats(0, 9999))) for _ in range(draw(st.integers(1, 2)))),
        draw(st.integers(0, 2**31)),
        among=tuple(draw(st.permutations(range(count)))[:LEADERS]) if kind == "leaders" else (),
    )
    given = draw(st.lists(st.sampled_from("12"), max_size=min(len(held.asked), PICKS_APART)))
    places = st.tuples(st.integers(0, max(0, len(held.asked) - 1)), st.sampled_from("12"))
    taken = draw(st.lists(places, max_size=3)) if held.asked else []
    return replace(held, answers=tuple(given), taken_back=tuple(taken))


@st.composite
def draw_candidate(draw: st.DrawFn, name: str) -> Candidate:
    """Draw a candidate whose settings are within their bounds."""
    move = draw(st.sampled_from(CHAIN))
    settings = {
        item.name: draw(st.sampled_from(item.choices) if item.choices else _floats(item.low, item.high))
        for item in MOVES[move].parameters
    }
    return make_candidate(
        name, move, amount=draw(_floats(-100, 100)), unit=draw(_text(0, 8)), settings=settings,
        results=draw(NUMBERS), reason=draw(_text()), threshold=draw(_text()), verdict=draw(st.sampled_from(VERDICTS)),
        decision=draw(st.sampled_from(DECISIONS)), note=draw(_text()), rounds=draw(_tuples(draw_round(), 2)),
    )  # fmt: skip


@st.composite
def draw_loudness(draw: st.DrawFn) -> Loudness:
    """Draw rungs, with one of them chosen or none."""
    level = _floats(-60, 0)
    rungs = tuple(
        Rung(draw(level), draw(level), draw(_floats(-60, 90)), draw(NUMBERS)) for _ in range(draw(st.integers(0, 3)))
    )
    settings = {
        item.name: draw(_floats(item.low, item.high))
        for item in MOVES["song_push"].parameters
        if item.name not in ("drive_db", "reached_lufs")
    }
    chosen = draw(st.none() | st.integers(0, len(rungs) - 1)) if rungs else None
    return Loudness(rungs, chosen, settings, draw(st.sampled_from(VERDICTS)), draw(_tuples(draw_round(), 2)))


@st.composite
def draw_sheet(draw: st.DrawFn) -> Sheet:
    """Draw a sheet that may be."""
    level, second = _floats(-150, 50), _floats(0, 30)
    names = draw(st.lists(NAMES, max_size=3, unique=True))
    finding = st.builds(
        lambda kind, start, length, *rest: Finding(kind, start, start + length, *rest),
        st.sampled_from((*HEARD, "pop", "hum")), second, second, st.booleans(), st.booleans(),
        st.none() | _floats(-99, 99), _text(0, 8), st.sampled_from(DECISIONS), _text(), st.booleans(),
    )  # fmt: skip
    text = _text()
    return Sheet(
        draw(_text(1)),
        draw(st.builds(MixFile, _text(1), HASHES, st.integers(8000, 192000), _floats(200, 9999), level, level)),
        draw(st.dates()).isoformat(),
        draw(st.builds(Aim, text, text, text, text, _tuples(NAMES), text, _tuples(text), text, _tuples(text))),
        draw(_tuples(finding)),
        Fades(draw(second), draw(second), draw(st.none() | _floats(100, 200)), draw(second),
              draw(st.sampled_from(CURVES)), draw(st.sampled_from(CURVES))),
        draw(_tuples(st.builds(Reference, _text(1), HASHES))),
        tuple(draw(draw_candidate(name)) for name in names),
        draw(draw_loudness()),
        draw(_tuples(draw_round(), 2)),
        draw(st.builds(Delivery, st.sampled_from((0, 44100, 96000)), st.sampled_from((16, 24, 32)), _tuples(
            st.builds(Bounced, _text(1), HASHES, st.just(44100), st.just(24), level, level, text), 2))),
        tuple(draw(st.lists(st.sampled_from(STEPS), unique=True))),
        draw(st.just("") | HASHES),
        draw(st.none() | _floats(0, 200)),
        draw(st.none() | st.builds(Tempo, _floats(30, 300), st.integers(1, 16), _floats(0, 200))),
    )  # fmt: skip

"""The parts of a sheet's document as tables: every key with its kind and its bounds."""

from __future__ import annotations

from trainer.audio.fades import CURVES
from trainer.decisions.rounds import ANSWERS, KINDS, LEADERS, Round
from trainer.decisions.sheet import (
    BIT_DEPTHS,
    DECISIONS,
    HEARD,
    LEAST_BPM,
    MOST_BEATS,
    MOST_BPM,
    RATES_HZ,
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
from trainer.decisions.sheet_checks import check_candidate, check_fades, check_loudness, check_order, check_sheet
from trainer.decisions.sheet_groups import Many, Numbers, Record
from trainer.decisions.sheet_kinds import (
    HASH,
    NAME,
    Count,
    Flag,
    Kind,
    Number,
    Place,
    Shaped,
    Text,
    Word,
    is_date,
    is_moment,
    show_value,
)
from trainer.dsp.moves import MOVES
from trainer.measure.faults.finding import KINDS as FAULTS

MOST_IMPRESSIONS, MOST_STRETCHES = 3, 4
STREAMING = tuple(name for name, move in MOVES.items() if hasattr(move, "begin"))

LINE = Text(most=200)
NAMED = Shaped(lambda text: bool(NAME.fullmatch(text)), "a name in lower case: letters, digits, _")
HASHED = Shaped(lambda text: bool(HASH.fullmatch(text)), "a SHA-256, 64 digits 0 to f")
DAY = Shaped(is_date, "a date that exists, as 2026-11-27")
MOMENT = Shaped(is_moment, "a time with its zone in quotes, as '2026-11-27T21:14:03+01:00'")
SECONDS = Number(0.0, 1e6)
LEVEL = Number(-200.0, 100.0)
PATH = Text(1)
_QUESTION = Count(1, 100, first=1)


class _Answers:
    """Answers 1 and 2, put as numbers."""

    def read(self, value: object, place: Place) -> tuple[str, ...]:
        """Read each."""
        if not isinstance(value, list) or any(isinstance(one, bool) or str(one) not in ANSWERS for one in value):
            place.refuse("nothing" if value is None else value, "a list of 1 and 2")
            return ()
        return tuple(str(one) for one in value)

    def put(self, value: tuple[str, ...]) -> list[int]:
        """Give numbers."""
        return [int(one) for one in value]


class _TakenBack:
    """A question, counted from 1, with the answer to it that was taken back."""

    def read(self, value: object, place: Place) -> tuple[int, str] | None:
        """Read both."""
        if not isinstance(value, list) or len(value) != 2 or str(value[1]) not in ANSWERS or isinstance(value[1], bool):
            place.refuse(show_value(value), "the number of a question, and 1 or 2")
            return None
        number = _QUESTION.read(value[0], place)
        return None if number is None else (number, str(value[1]))

    def put(self, value: tuple[int, str]) -> list[object]:
        """Give two numbers."""
        return [_QUESTION.put(value[0]), int(value[1])]


def _pair_up(kind: Kind, label: str) -> Many:
    return Many(kind, label, 2, 2)


ROUND = Record(
    Round,
    {
        "round": Text(1, 100),
        "begun_at": MOMENT,
        "day": Count(1, 3652059),
        "setup": Text(1, 100),
        "kind": Word(KINDS),
        "versions": Many(Text(1, 200), "version", 2, 8),
        "names": Many(Text(1, 500), "name", 2, 8),
        "pair": _pair_up(Count(1, 8, first=1), "of the pair"),
        "stretches": Many(_pair_up(SECONDS, "end"), "stretch", 1, MOST_STRETCHES),
        "seed": Count(0, 2**64 - 1),
        "answers": _Answers(),
        "among": Many(Count(1, 8, first=1), "that leads", 0, LEADERS),
        "taken_back": Many(_TakenBack(), "taken back"),
    },
    usual={"among": (), "taken_back": ()},
)
ROUNDS = Many(ROUND, "round")


RUNG = Record(
    Rung,
    {
        "asked_lufs": LEVEL,
        "reached_lufs": LEVEL,
        "drive_db": Number(-60.0, 90.0),
        "costs": Numbers(),
    },
)
PARTS: dict[str, Kind] = {
    "project": Text(1, 200),
    "mix": Record(
        MixFile,
        {
            "path": PATH,
            "sha256": HASHED,
            "sample_rate_hz": Count(8000, 192000),
            "duration_s": SECONDS,
            "integrated_lufs": LEVEL,
            "true_peak_dbtp": LEVEL,
        },
    ),
    "begun": DAY,
    "aim": Record(
        Aim,
        {
            "title": LINE,
            "version": LINE,
            "isrc": LINE,
            "credits": Text(),
            "targets": Many(NAMED, "target", most=20),
            "keep": Text(),
            "systems": Many(LINE, "system", most=40),
            "mood": LINE,
            "impressions": Many(Text(), "impression", most=MOST_IMPRESSIONS),
        },
    ),
    "findings": Many(
        Record(
            Finding,
            {
                "kind": Word((*HEARD, *(kind for kind in FAULTS if kind not in HEARD))),
                "start_s": SECONDS,
                "end_s": SECONDS,
                "heard": Flag(),
                "measured": Flag(),
                "strength": Number(none=True),
                "unit": LINE,
                "decision": Word(DECISIONS),
                "note": Text(),
                "together": Flag(),
            },
            check_order,
            usual={"together": False},
        ),
        "finding",
    ),
    "heard_to_s": Number(0.0, 1e6, none=True),
    "fades": Record(
        Fades,
        {
            "start_s": SECONDS,
            "fade_in_s": SECONDS,
            "end_s": Number(0.0, 1e6, none=True),
            "fade_out_s": SECONDS,
            "curve_in": Word(CURVES),
            "curve_out": Word(CURVES),
        },
        check_fades,
        older={"curve": ("curve_in", "curve_out")},
    ),
    "tempo": Record(
        Tempo,
        {
            "tempo_bpm": Number(LEAST_BPM, MOST_BPM),
            "beats_in_bar": Count(1, MOST_BEATS),
            "first_s": SECONDS,
        },
    ),
    "references": Many(Record(Reference, {"path": PATH, "sha256": HASHED}), "reference"),
    "candidates": Many(
        Record(
            Candidate,
            {
                "candidate": NAMED,
                "step": Word(("balance", "sweetening", "loudness")),
                "kind": Word(("taste", "hygiene")),
                "move": Word(STREAMING),
                "amount": Number(),
                "unit": LINE,
                "settings": Numbers(),
                "results": Numbers(),
                "reason": Text(),
                "threshold": Text(),
                "verdict": Word(VERDICTS),
                "decision": Word(DECISIONS),
                "note": Text(),
                "rounds": ROUNDS,
            },
            check_candidate,
            title="candidate",
        ),
        "candidate",
        distinct="candidate",
    ),
    "loudness": Record(
        Loudness,
        {
            "rungs": Many(RUNG, "rung", most=100),
            "chosen": Count(1, 100, first=1, none=True),
            "settings": Numbers(),
            "verdict": Word(VERDICTS),
            "rounds": ROUNDS,
        },
        check_loudness,
    ),
    "whole": Many(ROUND, "whole, round"),
    "delivery": Record(
        Delivery,
        {
            "rate_hz": Count(0, 192000, (0, *RATES_HZ)),
            "bit_depth": Count(16, 32, BIT_DEPTHS),
            "bounced": Many(
                Record(
                    Bounced,
                    {
                        "path": PATH,
                        "sha256": HASHED,
                        "sample_rate_hz": Count(8000, 192000),
                        "bit_depth": Count(0, 64),
                        "integrated_lufs": LEVEL,
                        "true_peak_dbtp": LEVEL,
                        "verdict": LINE,
                    },
                ),
                "file",
            ),
        },
    ),
    "finished": Many(Word(STEPS), "step", distinct=""),
    "carried_from": Shaped(lambda text: bool(HASH.fullmatch(text)), "a SHA-256 or nothing", empty=True),
}
SHEET = Record(Sheet, PARTS, check_sheet, usual={"heard_to_s": None, "tempo": None})

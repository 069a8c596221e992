"""The decision sheet of one song: what was aimed at, heard, weighed and decided, and what a bounce is made from."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from trainer.decisions.rounds import Round

StepName = Literal["aim", "listen_through", "balance", "sweetening", "loudness", "delivery"]
STEPS: tuple[StepName, ...] = ("aim", "listen_through", "balance", "sweetening", "loudness", "delivery")
STEP_TITLES = {
    "aim": "Aim",
    "listen_through": "Listen through",
    "balance": "Balance",
    "sweetening": "Sweetening",
    "loudness": "Loudness",
    "delivery": "Delivery",
}
Decision = Literal["open", "keep", "leave", "mix"]
DECISIONS: tuple[Decision, ...] = ("open", "keep", "leave", "mix")
Verdict = Literal["untried", "keep", "leave", "not_settled", "below_hearing", "no_harm", "harm"]
VERDICTS: tuple[Verdict, ...] = (
    "untried", "keep", "leave", "not_settled", "below_hearing", "no_harm", "harm",
)  # fmt: skip
CandidateKind = Literal["taste", "hygiene"]
# Forms of a master; 32 bits are floating point.
BIT_DEPTHS = (16, 24, 32)
RATES_HZ = (44100, 48000, 88200, 96000, 176400, 192000)
LEAST_BPM, MOST_BPM, MOST_BEATS = 30.0, 300.0, 16
# What is heard on a pass, as a person may name it.
HEARD = ("click", "distortion", "harsh_s", "noise", "bad_edit", "too_loud", "too_quiet", "wanted_to_skip", "anything")


@dataclass(frozen=True)
class MixFile:
    """Name the mix as it was when the sheet was begun: where it lies, its hash, and what it measures.

    ``path`` may change; the hash tells whether it is the same sound.
    """

    path: str
    sha256: str
    sample_rate_hz: int
    duration_s: float
    integrated_lufs: float
    true_peak_dbtp: float


@dataclass(frozen=True)
class Aim:
    """Say where the song goes and what matters.

    Parameters
    ----------
    title, version, isrc, credits : str
        For the sheet; any may be empty.
    targets : tuple of str
        Names of delivery targets, one or more.
    keep : str
        What must not be lost.
    systems : tuple of str
        Playback systems that matter.
    mood : str
        A word.
    impressions : tuple of str
        First impressions, noted before any measurement, up to three.
    """

    title: str = ""
    version: str = ""
    isrc: str = ""
    credits: str = ""
    targets: tuple[str, ...] = ()
    keep: str = ""
    systems: tuple[str, ...] = ()
    mood: str = ""
    impressions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Finding:
    """Hold something found on the pass, by ear, by the meter, or both.

    Parameters
    ----------
    kind : str
        As heard (`HEARD`) or as the fault scan names it.
    start_s, end_s : float
        Where.
    heard, measured : bool
        Who found it.
    strength : float or None
        Measured, in ``unit``.
    decision : str
        ``open``, ``mix`` (it goes back), ``keep`` (it stays) or ``leave`` (a fade takes it).
    together : bool
        Whether it was decided with all of its kind at once, and not by itself.
    """

    kind: str
    start_s: float
    end_s: float
    heard: bool = False
    measured: bool = False
    strength: float | None = None
    unit: str = ""
    decision: Decision = "open"
    note: str = ""
    together: bool = False


@dataclass(frozen=True)
class Fades:
    """Hold where the song starts and ends and how it is faded there, s in the mix's time; 0 length is no fade.

    ``curve_in`` and ``curve_out`` are of `audio.fades.CURVES`.
    """

    start_s: float = 0.0
    fade_in_s: float = 0.0
    end_s: float | None = None
    fade_out_s: float = 0.0
    curve_in: str = "raised_cosine"
    curve_out: str = "raised_cosine"


@dataclass(frozen=True)
class Tempo:
    """Hold the tempo that a person said, so that a fade may begin on a bar line.

    Parameters
    ----------
    tempo_bpm : float
        Beats a minute, 30 to 300.
    beats_in_bar : int
        1 to 16.
    first_s : float
        The first downbeat, s: the first sound of the music.
    """

    tempo_bpm: float
    beats_in_bar: int
    first_s: float

    @property
    def bars(self) -> tuple[float, float]:
        """The first downbeat and the length of a bar, s."""
        return self.first_s, 60.0 * self.beats_in_bar / self.tempo_bpm


@dataclass(frozen=True)
class Candidate:
    """Hold a move that was weighed.

    Parameters
    ----------
    candidate : str
        Its name on the sheet, unique: ``low_shelf_110``.
    step : str
        ``balance``, ``sweetening`` or ``loudness``.
    kind : str
        ``taste`` is kept when it wins blind, ``hygiene`` when it does no harm.
    move : str
        One of the moves that can run through a song.
    amount, unit : float, str
        What was asked, in the move's unit.
    settings : dict of str to float
        Complete and exact: the bounce is made from these.
    results : dict of str to float
        What was measured on this song with it: to be aimed for where the same settings mean something else.
    reason : str
        Why it was proposed.
    threshold : str
        The person's own threshold for such a move, in words; empty where there is none.
    verdict, decision : str
        What the ear said, and what the person decided.
    note : str
        The person's own words, or a check to be made: "check on speakers".
    rounds : tuple of Round
        The evidence.
    """

    candidate: str
    step: StepName
    kind: CandidateKind
    move: str
    amount: float
    unit: str
    settings: dict[str, float]
    results: dict[str, float] = field(default_factory=dict)
    reason: str = ""
    threshold: str = ""
    verdict: Verdict = "untried"
    decision: Decision = "open"
    note: str = ""
    rounds: tuple[Round, ...] = ()


@dataclass(frozen=True)
class Rung:
    """Hold one loudness that was tried on the whole song, and what it cost.

    Parameters
    ----------
    asked_lufs, reached_lufs : float
        Wished, and measured on the rendered song.
    drive_db : float
        Into the limiter.
    costs : dict of str to float
        Measured on the rendered song: ``reduction_on_hits_db``, ``snare_crest_lost_db``, ``added_percent`` ...
    """

    asked_lufs: float
    reached_lufs: float
    drive_db: float
    costs: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Loudness:
    """Hold the last stage: the rungs, the one that was chosen, and the limiter's settings but the drive."""

    rungs: tuple[Rung, ...] = ()
    chosen: int | None = None
    settings: dict[str, float] = field(default_factory=dict)
    verdict: Verdict = "untried"
    rounds: tuple[Round, ...] = ()

    @property
    def rung(self) -> Rung | None:
        """The one that was chosen."""
        return None if self.chosen is None else self.rungs[self.chosen]


@dataclass(frozen=True)
class Bounced:
    """Hold one file that was made, or checked, for this sheet: where, its hash, its form, what it measured.

    ``bit_depth`` is 0 for a coded file, which has none.
    """

    path: str
    sha256: str
    sample_rate_hz: int
    bit_depth: int
    integrated_lufs: float
    true_peak_dbtp: float
    verdict: str = ""


@dataclass(frozen=True)
class Delivery:
    """Say how a bounce is made: rate (0: the mix's own), bits (32: floating point), and what was made."""

    rate_hz: int = 0
    bit_depth: int = 24
    bounced: tuple[Bounced, ...] = ()


@dataclass(frozen=True)
class Reference:
    """Name a song of the person's own to compare with: where it lies and its hash."""

    path: str
    sha256: str


@dataclass(frozen=True)
class Sheet:
    """Hold everything decided of one song; changed by replacement.

    Parameters
    ----------
    project : str
        Its name.
    mix : MixFile
        What it is about; never changed.
    begun : str
        Date, ISO 8601.
    finished : tuple of str
        Steps that are finished.
    whole : tuple of Round
        All kept moves together against the untouched mix, and without each in turn.
    carried_from : str
        Hash of the earlier mix that this sheet was carried over from; empty otherwise.
    heard_to_s : float or None
        How far the song has been heard on a pass, s; None where that is not known.
    tempo : Tempo or None
        As it was said; None where it was not.
    """

    project: str
    mix: MixFile
    begun: str
    aim: Aim = Aim()
    findings: tuple[Finding, ...] = ()
    fades: Fades = Fades()
    references: tuple[Reference, ...] = ()
    candidates: tuple[Candidate, ...] = ()
    loudness: Loudness = Loudness()
    whole: tuple[Round, ...] = ()
    delivery: Delivery = Delivery()
    finished: tuple[StepName, ...] = ()
    carried_from: str = ""
    heard_to_s: float | None = None
    tempo: Tempo | None = None

    def list_kept(self) -> tuple[Candidate, ...]:
        """List the moves that are kept, in the order of the chain."""
        kept = [each for each in self.candidates if each.decision == "keep"]
        return tuple(sorted(kept, key=lambda each: place_in_chain(each.move)))

    def list_unsettled(self) -> tuple[str, ...]:
        """List the moves that were weighed and not settled, or not told apart; none once the song is delivered."""
        if "delivery" in self.finished:
            return ()
        open_ones = [each for each in self.candidates if each.decision == "open"]
        return tuple(each.move for each in open_ones if each.verdict in ("not_settled", "below_hearing"))

    def find_candidate(self, name: str) -> Candidate | None:
        """Find a candidate by its name."""
        return next((each for each in self.candidates if each.candidate == name), None)

    def with_candidate(self, candidate: Candidate) -> Sheet:
        """Put a candidate in the place of the one of its name, or behind the others."""
        if self.find_candidate(candidate.candidate) is None:
            return replace(self, candidates=(*self.candidates, candidate))
        changed = (candidate if each.candidate == candidate.candidate else each for each in self.candidates)
        return replace(self, candidates=tuple(changed))


# High-pass and equaliser first, then what bends and holds, then the sides: each stage hears what the ones before made.
CHAIN = (
    "high_pass", "low_shelf", "high_shelf", "bell", "tilt", "saturation", "top_harmonics", "compressor",
    "compressor_on_average", "multiband", "de_esser", "mono_below", "width",
)  # fmt: skip


def place_in_chain(move: str) -> int:
    """Give a move's place in the chain; common practice, no source."""
    return CHAIN.index(move) if move in CHAIN else len(CHAIN)

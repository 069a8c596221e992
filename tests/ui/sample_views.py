"""Example views for looking at and for drawing tests; songs and numbers are invented."""

from __future__ import annotations

import math
import random
from dataclasses import replace

from tests.ui.sample_figures import ear_figure, reduction_figure, response_figure, rows_figure
from trainer.session.ear_rows import EarGroup, EarRow, ear_rows
from trainer.session.intents import (
    AnswerPlaying,
    ChangeTextSize,
    ChangeTheme,
    GiveAnswer,
    GoBack,
    GoOn,
    Listen,
    ListenOther,
    OnlyWhatChanged,
    Quit,
    StartDrill,
    ToggleKeys,
    ToggleReceipt,
    ToggleSound,
)
from trainer.session.pages import View
from trainer.session.palette import Theme
from trainer.session.view import (
    Button,
    DemonstrationView,
    EndView,
    Frame,
    Key,
    MessageView,
    PlanItem,
    Progress,
    ReceiptRow,
    RevealView,
    Sounding,
    TodayView,
    TrialView,
    Waveform,
)

NO_SOUND = "No sound: no output could be opened. Listening is off; reading and the list of keys work."


def listen_key(count: int) -> Key:
    """Give the key for versions 1 to ``count``."""
    numbers = [str(n + 1) for n in range(count)]
    return Key(" ".join(numbers), "listen", tuple((n, Listen(int(n))) for n in numbers))


HELP = Key("?", "all keys", (("question", ToggleKeys()), ("f1", ToggleKeys())))
PAUSE = Key("Space", "pause", (("space", ToggleSound()),))
OTHER = Key("← →", "the version before or after", (("left", ListenOther(-1)), ("right", ListenOther(1))), False)
BACK = Key("Esc", "leave; asks first", (("escape", GoBack()),), False)
NIGHT = Key("Ctrl T", "paper or night", (("ctrl t", ChangeTheme()),), False)
LARGER = Key("Ctrl +", "larger", (("ctrl plus", ChangeTextSize(1)),), False)


def waveform() -> Waveform:
    """Give an outline with beats."""
    chance = random.Random(4)
    peaks = []
    for column in range(400):
        beat = math.exp(-((column % 50) / 14.0)) * (0.95 if column % 100 < 50 else 0.75)
        body = 0.28 + 0.12 * math.sin(column / 37.0)
        peaks.append(min(1.0, max(0.03, (beat + body) * chance.uniform(0.35, 1.0))))
    return Waveform(tuple(peaks), "0:41", "0:49", "Slow Tide at Nine, chorus 1, four bars")


def marks(done: int, length: int, wrong: tuple[int, ...] = (2,), current: bool = True) -> tuple[Progress, ...]:
    """Give a run of trials."""
    row: list[Progress] = ["wrong" if n in wrong else "right" for n in range(done)]
    row += ["current"] if current else []
    return tuple(row + ["ahead"] * (length - len(row)))


def versions(count: int, playing: int) -> tuple[Button, ...]:
    """Give numbered versions, one of them selected."""
    return tuple(Button(str(n), Listen(n), selected=n == playing) for n in range(1, count + 1))


def today() -> TodayView:
    """Give the first screen."""
    items = (
        PlanItem(
            1,
            "High shelf, 8 kHz",
            "which is brighter · 30 trials · 5 min",
            "1.1–2.2 dB",
            "last practised 3 days ago",
            StartDrill("high-shelf"),
            True,
        ),
        PlanItem(
            2,
            "Limiting",
            "which has flatter drums · 10 trials · 2 min",
            "2.0–7.4 dB",
            "still finding you",
            StartDrill("limiting"),
            False,
        ),
        PlanItem(
            3,
            "Name the move",
            "five moves, one was made · 10 trials · 2 min",
            "7 of 10",
            "saturation taken for high shelf",
            StartDrill("name"),
            False,
        ),
    )
    keys = (
        Key("Enter", "start", (("return", StartDrill("high-shelf")),)),
        Key("1 2 3", "choose", tuple((str(n + 1), item.intent) for n, item in enumerate(items))),
        HELP,
        Key("Esc", "end", (("escape", Quit()),)),
        NIGHT,
    )
    return TodayView(
        Frame("Today", "Harbour Street Record Club", keys),
        "Wednesday. Ten minutes.",
        "One skill in depth, then two short looks at others. Chosen from what is least certain.",
        items,
        Button("Start", StartDrill("high-shelf"), main=True),
        "What your ears can tell",
        rows_figure(),
        ("Keep it comfortable, and rest if your ears ring or sounds turn dull. This is practice, not a hearing test."),
    )


def first_day() -> TodayView:
    """Give the first screen before anything was heard, with a longer list."""
    view = today()
    names = (
        "High shelf, 8 kHz",
        "Low shelf, 100 Hz",
        "Bell, 1 kHz",
        "Limiting",
        "Bus compression held down",
        "Level",
    )
    items = tuple(
        PlanItem(n + 1, name, "which one is it · 12 trials · 3 min", "", "not yet heard", StartDrill(name), n == 0)
        for n, name in enumerate(names)
    )
    rows = tuple(EarRow(name, None, 0, 0, False) for name in names)
    figure = ear_rows((EarGroup("Equaliser", "gain, dB", 1.0, (0.5, 1, 2, 4), rows),), 412)
    return replace(view, headline="Six drills to begin with.", items=items, ears=figure)


def trial(count: int = 3, playing: int = 2, running: bool = True) -> TrialView:
    """Give a question with ``count`` versions."""
    keys = (
        listen_key(count),
        Key("Enter", "answer what is playing", (("return", AnswerPlaying()),)),
        PAUSE,
        HELP,
        OTHER,
        BACK,
    )
    return TrialView(
        Frame(
            "High shelf, 8 kHz",
            "three versions, one has more top",
            keys,
            footer="Trial 7 of 30 · about 4 minutes left",
        ),
        marks(6, 30),
        versions(count, playing),
        "all at −18.4 LUFS",
        waveform(),
        Sounding(playing, 0.42, running),
        "Which one is brighter?",
        tuple(Button(f"It is {n}", GiveAnswer(str(n))) for n in range(1, count + 1)),
    )


def naming() -> TrialView:
    """Give a question with long answers and long titles."""
    view = trial(2, 1, False)
    answers = (
        "High shelf up",
        "Exciter",
        "Saturation with odd harmonics",
        "Limiting",
        "Bus compression, held down",
        "Level",
    )
    frame = replace(
        view.frame,
        title="Side-chain filter and attack, compared at an equal reduction of the snare",
        subtitle="two versions, one move was made between them; which of the six listed here was it?",
    )
    return replace(
        view,
        frame=frame,
        question=("Which move leads from version 1 to version 2, when everything else stays as it was in the mix?"),
        answers=tuple(Button(name, GiveAnswer(name)) for name in answers),
        versions=(Button("A", Listen(1), selected=True), Button("B", Listen(2))),
    )


def demonstration() -> DemonstrationView:
    """Give a labelled example."""
    keys = (
        listen_key(2),
        Key("Enter", "on to the questions", (("return", GoOn()),)),
        PAUSE,
        HELP,
        OTHER,
        BACK,
    )
    return DemonstrationView(
        Frame("High shelf, 8 kHz", "an example, large and named", keys),
        (),
        "First, hear it large.",
        (
            "A high shelf lifts everything above its corner. Listen to the cymbals, to the breath before "
            "the line, and to the edge of the consonants."
        ),
        (Button("as it is", Listen(1)), Button("with +6 dB above 8 kHz", Listen(2), selected=True)),
        "both at −18.4 LUFS",
        waveform(),
        Sounding(2, 0.2, True),
        Button("On to the questions", GoOn(), main=True),
    )


def reveal(right: bool = True, receipt_open: bool = False, count: int = 3) -> RevealView:
    """Give an answer."""
    keys = (
        listen_key(count),
        Key("D", "only what changed", (("d", OnlyWhatChanged()),)),
        Key("R", "receipt", (("r", ToggleReceipt()),)),
        Key("Enter", "next", (("return", GoOn()),)),
        HELP,
        PAUSE,
        BACK,
    )
    receipt = (
        ReceiptRow("High shelf, gain", "+1.20 dB", "+1.19 dB"),
        ReceiptRow("Corner, half the gain", "8.0 kHz", "8.0 kHz"),
        ReceiptRow("Loudness of version 1", "−18.40 LUFS", "−18.40 LUFS"),
        ReceiptRow("Loudness of version 2", "−18.40 LUFS", "−18.41 LUFS"),
        ReceiptRow("True peak, highest version", "", "−3.2 dBTP"),
        ReceiptRow("What changed, against the song", "", "−24.6 dB"),
    )
    return RevealView(
        Frame("High shelf, 8 kHz", "answer shown", keys, footer="Trial 7 of 30"),
        marks(7, 30, (2,) if right else (2, 6), False),
        right,
        "Yes, it was 2." if right else "It was 2; you answered 3.",
        "High shelf, +1.2 dB: half of it at 8 kHz, all of it an octave above.",
        (
            "Listen to the breath before the line. It is often taken for an exciter, which also adds "
            "grain to the consonants."
        ),
        "What was done, measured",
        response_figure(),
        "Third-octave bands of version 2 minus version 1.",
        "Where your ear stands",
        ear_figure(7),
        "Between 0.7 and 3.6 dB after 7 trials: still finding you.",
        "Receipt",
        receipt,
        receipt_open,
        waveform(),
        Sounding(2, 0.62, True),
        (*versions(count, 2), Button("Only what changed", OnlyWhatChanged())),
        Button("Next", GoOn(), main=True),
    )


def limiting() -> RevealView:
    """Give an answer about dynamics, with eight versions and the difference playing."""
    view = reveal(False, False, 8)
    return replace(
        view,
        headline="Two were swapped: you put the −10 before the −11.5.",
        done=reduction_figure(),
        done_caption="Gain of the limiter over the loop.",
        sounding=Sounding(0, 0.1, False),
        versions=(*versions(8, 0), Button("Only what changed", OnlyWhatChanged(), selected=True)),
    )


def end() -> EndView:
    """Give the end of a run."""
    keys = (
        Key("Enter", "today", (("return", GoOn()),)),
        Key("A", "once more", (("a", StartDrill("high-shelf")),)),
        HELP,
    )
    return EndView(
        Frame("High shelf, 8 kHz", "30 trials", keys),
        marks(30, 30, (2, 9, 15, 22), False),
        "Your ear tells 1.1–2.2 dB.",
        (
            ("A high shelf at 8 kHz: you told it from about 1.5 dB, with 95 % certainty between 1.1 and 2.2 dB."),
            "Three days ago it was 1.2–2.9 dB. The two ranges overlap, so this is not yet a change.",
            "A usual amount at this stage is 1 dB: a little less than you hear every time.",
        ),
        "Where your ear stands",
        ear_figure(30, 548, 280),
        "30 trials, 26 right.",
        (Button("Today", GoOn(), main=True), Button("Once more", StartDrill("high-shelf"))),
    )


def cautions() -> MessageView:
    """Give the page shown at first start."""
    keys = (Key("Enter", "go on", (("return", GoOn()),)), Key("Esc", "end", (("escape", Quit()),)), HELP)
    return MessageView(
        Frame("Before you listen", "", keys),
        "Start quiet.",
        (
            (
                "Set a comfortable level with the noise that plays now, and note where the knob stands. "
                "Every version starts softly and none jumps in level."
            ),
            (
                "For adults, 80 dBA for 40 hours a week is the reference of the World Health Organization; "
                "each 3 dB more halves the time."
            ),
            ("Stop and rest if your ears ring or sounds turn dull. The program cannot know the level at your ears."),
            "This is practice and not a hearing test. See an audiologist or a physician about any worry.",
        ),
        (Button("I have set the level", GoOn(), main=True), Button("Leave", Quit())),
    )


def waiting() -> MessageView:
    """Give a page while something is worked on."""
    return MessageView(
        Frame("High shelf, 8 kHz", "", (BACK, HELP)),
        "Making the first question.",
        ("A few seconds.",),
        (),
        True,
    )


def problem() -> MessageView:
    """Give a page about a problem with an unbroken long word."""
    sentence = (
        "songs/a_very_long_folder_name_without_any_space_in_it_at_all_that_goes_on_and_on/mix_numbe"
        "r_four_final_final.wav: rate_hz=11025, expected 44100 or more; export it again at the rate"
        " of the session"
    )
    return MessageView(
        Frame("My mixes", "", (Key("Enter", "go back", (("return", GoBack()),)), HELP)),
        "This file cannot be used.",
        (sentence,),
        (Button("Go back", GoBack(), main=True),),
    )


def restyle(view: View, theme: Theme = "paper", percent: int = 100, keys_open: bool = False, notice: str = "") -> View:
    """Change theme, text size, list of keys or notice of a view."""
    frame = replace(view.frame, theme=theme, text_percent=percent, keys_open=keys_open, notice=notice)
    return replace(view, frame=frame)

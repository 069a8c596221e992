"""Example pages of parts, for looking at and for drawing tests; songs, files and numbers are invented."""

from __future__ import annotations

from dataclasses import replace

from tests.ui.sample_figures import bands_figure, response_figure
from tests.ui.sample_views import BACK, HELP, PAUSE, listen_key, waveform
from trainer.session.intents import Do, GoBack, GoOn, GoTo, Listen, SetText
from trainer.session.pages import (
    Advance,
    Balance,
    Choices,
    Entry,
    Items,
    Loop,
    PageView,
    Picture,
    Prose,
    Share,
    Sheet,
    Stages,
    Table,
    Tally,
)
from trainer.session.view import Button, Frame, Key, PlanItem, Progress, Sounding

STEPS = ("Aim", "Listen through", "Balance", "Sweetening", "Loudness", "Delivery")
PLACES = {"today": "Today", "drills": "Drills", "mixes": "My mixes", "weigh": "Weigh", "progress": "Progress"}


def place_frame(place: str, *keys: Key, footer: str = "") -> Frame:
    """Give the frame of a part of the program."""
    places = tuple(Button(title, GoTo(name), selected=name == place) for name, title in PLACES.items())
    return Frame("", "", (*keys, HELP, BACK), footer=footer, places=places)


def enter_key(does: str) -> Key:
    """Bind Enter to the way on."""
    return Key("Enter", does, (("return", GoOn()),))


def tell_apart() -> Tally:
    """Give sixteen answers, twelve of them right."""
    marks: tuple[Progress, ...] = tuple("wrong" if n in (2, 5, 6, 11) else "right" for n in range(16))
    return Tally("Could you tell them apart?", marks, "12 of 16. Yes.")


def decide() -> PageView:
    """Give a step of the way through a mix, with a move that is being weighed."""
    weighed = (
        Prose("Low shelf, 110 Hz, −1.0 dB", "figure"),
        Prose("Your ear for low shelves: 1.0 to 1.9 dB. This move is at the edge of what you can hear.", "muted"),
        tell_apart(),
        Share("Do you prefer it?", ("with the move", "without"), (9, 3), "9 of 12"),
        Prose(
            "Blind, equal loudness, sides swapped. Chance alone splits 12 picks this unevenly 15 % of the time.",
            "small",
        ),
        Prose("Not settled. A fresh round of 12 would tell more.", "title"),
    )
    so_far = (
        Prose("Aim: streaming, ceiling −1 dBTP. Listen through: 2 marks, both kept as they are."),
        Prose("Low shelf 110 Hz −1.0 dB: being weighed.", "muted"),
    )
    steps = tuple(Button(name, Do("step", name)) for name in STEPS)
    buttons = tuple(Button(name, Do(name)) for name in ("Keep the move", "Another round of 12", "Fix it in the mix"))
    keys = (
        Key("O", "leave it out", (("o", Do("out")),)),
        Key("K", "keep", (("k", Do("Keep the move")),)),
        Key("N", "another round", (("n", Do("Another round of 12")),)),
        Key("S", "sheet", (("s", Do("sheet")),)),
    )
    return PageView(
        place_frame("mixes", *keys),
        "Number Four Crane, mix 4",
        "",
        (
            (
                Stages(steps, (True, True, False, False, False, False), 2),
                Sheet(
                    "Your mix against your three references, at equal loudness",
                    (Picture(bands_figure()),),
                    "Blue marks: each reference. Dot: this mix.",
                ),
            ),
            (Sheet("The move you are weighing", weighed),),
        ),
        (560, 620),
        (
            Choices((Button("Leave it out", Do("out"), selected=True), *buttons)),
            Sheet("Decision sheet so far", so_far),
        ),
    )


def choose_file() -> PageView:
    """Give a page that takes the path of a file, with what it may go on to."""
    path = "/home/ines/Harbour Street Record Club/Number Four Crane/bounces/of the last evening/cra"
    offers = tuple(
        Button(name, SetText(name)) for name in ("crane_a.wav", "crane_b.wav", "crane_mastered.flac", "crates/")
    )
    recent = tuple(
        PlanItem(number, title, detail, "", note, Do("open", title), False)
        for number, title, detail, note in (
            (1, "Number Four Crane, mix 4", "balance is next", "yesterday"),
            (2, "Slow Tide at Nine, mix 2", "delivered", "6 days ago"),
        )
    )
    return PageView(
        place_frame("mixes", enter_key("open it"), Key("1 2", "one of these", (("1", Do("a")), ("2", Do("b"))))),
        "Which mix?",
        "Drop a file on the window, or type where it is. It is read, never changed.",
        (
            (
                Entry("File", path, "a WAV, FLAC or AIFF file", offers),
                Choices((Button("Open it", GoOn(), main=True),)),
                Prose("Lately", "title"),
                Items(recent),
            ),
        ),
    )


def name_setup() -> PageView:
    """Give a page with an empty line."""
    return PageView(
        place_frame("today", enter_key("keep the name")),
        "A new set-up",
        "Headphones and monitors play a mix differently, so each has thresholds of its own.",
        ((Entry("Name", "", "such as: monitors, living room"), Choices((Button("Keep", GoOn(), main=True),))),),
    )


def weigh() -> PageView:
    """Give bounces on the beam, heard blind, with the beam in the middle."""
    names = ("as it is", "crane_a.wav", "crane_b.wav", "crane_mastered.flac")
    versions = tuple(Button(name, Listen(n), selected=n == 3) for n, name in enumerate(names, 1))
    return PageView(
        place_frame("weigh", listen_key(4), PAUSE, enter_key("weigh blind")),
        "Four bounces, one loudness.",
        "Aligned to the sample, the same stretch, matched to 0.01 LU.",
        (
            (
                Balance(versions, "all at −20.1 LUFS"),
                Loop(),
                Prose("Which one would you send to the club?", "title"),
                Choices((Button("Weigh them blind", GoOn(), main=True), Button("Take one off", Do("off")))),
            ),
        ),
        waveform=waveform(),
        sounding=Sounding(3, 0.37, True),
    )


def found() -> PageView:
    """Give what differs between bounces, with the loop at the foot."""
    rows = (
        ("crane_a.wav", "−11.2 LUFS", "−0.8 dBTP", "7.1 dB"),
        ("crane_b.wav", "−9.4 LUFS", "+0.3 dBTP", "5.2 dB"),
        ("crane_mastered_at_the_old_ropewalk_for_the_record_club.flac", "−10.0 LUFS", "−1.0 dBTP", "6.0 dB"),
    )
    versions = tuple(
        Button(name, Listen(n), selected=n == 1) for n, name in enumerate(("crane_a", "crane_b", "mastered"), 1)
    )
    picks = Share("Which did you prefer?", ("crane_a", "crane_b", "mastered"), (7.5, 1, 3.5), "12 picks")
    return PageView(
        place_frame("weigh", listen_key(3), PAUSE, enter_key("to the list"), footer="set-up: headphones"),
        "What really differs",
        "After matching; the figures of the files themselves stand in the table.",
        (
            (
                Sheet("As they came", (Table(("", "loudness", "true peak", "peak to loudness"), rows),)),
                Sheet(
                    "Picked blind",
                    (picks, Share("And with the sides swapped?", ("crane_a", "mastered"), (0, 0), "not yet")),
                ),
            ),
            (Sheet("crane_b against crane_a", (Picture(response_figure(520, 200)),), "Third-octave bands."),),
        ),
        (1.1, 1.0),
        (Loop(), Choices((*versions, Button("To the list", GoOn(), main=True)))),
        waveform=waveform(),
        sounding=Sounding(1, 0.62, False),
    )


def working() -> PageView:
    """Give a page while a long work is done."""
    return PageView(
        place_frame("weigh", Key("Esc", "stop", (("escape", GoBack()),))),
        "Bringing three bounces into step",
        "",
        (
            (
                Advance(0.376, "Aligning crane_b.wav with crane_a.wav"),
                Prose("Two bounces of five minutes take about half a minute.", "muted"),
                Choices((Button("Stop", GoBack()),)),
            ),
        ),
        busy=True,
    )


def reading() -> PageView:
    """Give a busy page that cannot tell how far it is."""
    parts = (Prose("A few seconds."), Choices((Button("Stop", GoBack()),)))
    return replace(working(), headline="Reading crane_a.wav.", columns=(parts,))


def drills() -> PageView:
    """Give a long list that has to be scrolled, with one line chosen."""
    names = (
        "More top",
        "Flatter drums",
        "A little louder",
        "Steadier drums and song",
        "Weight",
        "Width",
        "Hiss",
        "Clicks",
    )
    items = tuple(
        PlanItem(
            0,
            name,
            f"drill {n} of its family",
            "0.68–2.4 dB" if n % 3 == 0 else "",
            "3 days ago",
            Do("drill", name),
            n == 1,
        )
        for n, name in enumerate(names * 2)
    )
    return PageView(
        place_frame("drills", enter_key("begin"), Key("↑ ↓", "choose", (("up", Do("up")), ("down", Do("down"))))),
        "All drills",
        "By family; what you practised last stands on the right.",
        ((Items(items), Choices((Button("Begin", GoOn(), main=True),))),),
    )


def progress() -> PageView:
    """Give tables beside prose of every role, with long rows of marks."""
    marks: tuple[Progress, ...] = (*(("right", "wrong", "done") * 12), "current", "ahead", "ahead", "ahead")
    days = (("27 Nov", "1.4 dB", "1.0–1.9"), ("24 Nov", "1.7 dB", "1.2–2.9"), ("20 Nov", "not yet settled", ""))
    words = (
        ("A little louder than before", "level", "headphones"),
        ("Saturation with odd harmonics", "colour", "monitors"),
    )
    return PageView(
        place_frame(
            "progress", Key("E", "export", (("e", Do("export")),)), footer="bundled music · set-up: headphones"
        ),
        "Your ear over the weeks",
        "One unit to a group; a range narrows when it is practised.",
        (
            (
                Prose("More top", "title"),
                Prose("1.0–1.9 dB", "figure"),
                Prose("The two last ranges overlap, so this is not yet a change."),
                Prose("A range of 95 %.", "small"),
                Table(("day", "estimate", "range, dB"), days),
                Prose("Where it was asked", "title"),
                Table(("skill", "family", "set-up"), words),
            ),
            (Tally("The last forty", marks, "24 of 36"), Sheet("", (Prose("Rest, and come back."),), "Advice.")),
        ),
        (1.0, 1.0),
    )


def all_pages() -> dict[str, PageView]:
    """Give every page by name."""
    return {
        "page-decide": decide(),
        "page-file": choose_file(),
        "page-setup": name_setup(),
        "page-weigh": weigh(),
        "page-found": found(),
        "page-working": working(),
        "page-reading": reading(),
        "page-drills": drills(),
        "page-progress": progress(),
        "page-file-keys": replace(choose_file(), frame=replace(choose_file().frame, keys_open=True)),
    }

"""What sounds after an answer, as a page of Setup, and how to answer with eyes closed."""

from __future__ import annotations

from trainer.session import intents, keys
from trainer.session.answer_tones import CHOICES, TONES, Choice, read_choice
from trainer.session.frame import make_place_frame
from trainer.session.pages import Choices, PageView, Part, Prose
from trainer.session.state import State
from trainer.session.view import Button, Key
from trainer.session.world import World

ABOUT_TONES: dict[Choice, tuple[str, ...]] = {
    "none": ("The screen alone shows that an answer is taken.",),
    "one": ("One soft tone of 80 ms, −30 dBFS, says that an answer is taken; the same whether it was right or not.",),
    "telling": (
        "Where an answer is shown, two soft tones rise if it was right and fall if it was not.",
        "Where nothing is shown yet, or nothing is right or wrong, as in every blind round, one tone says that it is "
        "taken.",
    ),
}
EYES_CLOSED = (
    "Digits or ← → listen, Space pauses. Enter answers with what is playing, and goes on after an answer.",
    "Where answers have names, Q W E R T Y U I O P stand for them, from the left; ↑ ↓ move a control, Enter takes it.",
    "No tone after a pick in a blind round: it was not taken. Both have to be heard first, and a pick during a gap in "
    "the sound is asked again.",
    "Backspace takes back the last pick of a blind round, until the next one is given.",
)
BACK = Key("Esc", "back", (("escape", intents.GoBack()),))
DIGITS = Key("1 2 3", "choose", tuple((str(n), intents.Do("tones", one)) for n, one in enumerate(CHOICES, 1)))


def view_answers(state: State, world: World) -> PageView:
    """Offer a tone after each answer, and say how to answer with eyes closed."""
    chosen = read_choice(world.store)
    tones = Choices(tuple(Button(TONES[one], intents.Do("tones", one), selected=one == chosen) for one in CHOICES))
    heard = {"none": (), "one": ("taken",), "telling": ("taken", "right", "wrong")}[chosen]
    examples = tuple(Button(f"Hear “{name}”", intents.Do("hear", name)) for name in heard)
    parts: tuple[Part, ...] = (
        Prose("After each answer", "title"),
        tones,
        *(Prose(line) for line in ABOUT_TONES[chosen]),
        *((Choices(examples),) if examples else ()),
        Prose("With eyes closed", "title"),
        *(Prose(line) for line in EYES_CLOSED),
        Choices((offer_back(),)),
    )
    return PageView(make_place_frame(state, world, (DIGITS, BACK, keys.ALL_KEYS)), "Answers", "", (parts,))


def offer_back() -> Button:
    """Offer the way back to all there is to set."""
    return Button("Back", intents.GoBack())

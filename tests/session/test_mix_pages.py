"""What the pages of a mix offer first: the song, the day's listening, whether the mix is ready, the six steps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.decisions.sheets import make_round
from tests.fakes import FakePlayer, make_world
from tests.session.test_mixes import SHELF, get_sheet, hear, open_mix, read, replace_candidates
from trainer.decisions.intake import IntakeItem, sum_up_intake
from trainer.decisions.mix_jobs import SongHeard
from trainer.decisions.rungs import list_around, list_wide
from trainer.decisions.sheet import Loudness, Rung
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.enter import find_main
from trainer.session.pages import PageView
from trainer.session.pages import Sheet as Card
from trainer.session.world import World


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins."""
    return make_world({"limiting": drills["limiting"]})


@pytest.mark.parametrize(("used", "main"), [(135, "Up to 12 picks, blind"), (136, "Another day")])
def test_a_move_that_does_not_fit_into_the_day_waits(world: World, used: int, main: str) -> None:
    """Arithmetic: 175 picks a day hold a move of 12, 16 and 12 after 135, and not after 136; it may be asked still."""
    program = open_mix(world, replace_candidates(SHELF), hear())
    program.act(intents.Do("step", "balance"))
    program.act(intents.DropFile("/m/one.wav"))
    program.act(intents.Do("compare"))
    program.tick()
    heard = make_round(day=world.today())
    whole = (*(heard,) * (used // 12), replace(heard, answers=("1",) * (used % 12)))
    sheet = replace(get_sheet(world), whole=whole)
    program.state = replace(program.state, mix=replace(program.state.mix, sheet=sheet))
    program.act(intents.Do("candidate", "low_shelf_110"))
    program.tick()
    button = find_main(program.view())
    assert button is not None and button.label == main
    assert "label='Up to 12 picks, blind'" in read(program)
    # 40 and 39 picks at 12 s are 8 and 7.8 minutes.
    assert ("It takes up to 8 minutes; today has 7 left." in read(program)) == (main == "Another day")
    if main == "Another day":
        program.act(button.intent)
        assert program.state.mix.page == "step" and "Left for another day: low shelf" in program.state.message
        assert get_sheet(world).candidates[0].decision == "open"


def test_the_song_is_played_before_it_is_written_about_and_files_come_last(world: World) -> None:
    """The accent plays until three impressions are given; then takes lines, and where the files begin it goes on."""
    program = open_mix(world)
    for line in ("muddy start", "the voice is close", "ends too soon"):
        assert (button := find_main(program.view())) is not None and button.label == "Play the song"
        program.act(intents.TypeText(line))
        assert (button := find_main(program.view())) is not None and button.label == "Note it"
        program.act(intents.GoOn())
    for line in ("the voice", "restless", "headphones"):
        program.act(intents.GiveAnswer(line))
    view = program.view()
    assert (button := find_main(view)) is not None and button.label == "Next: listen through"
    assert isinstance(view, PageView)
    files = view.columns[0][-1]
    assert isinstance(files, Card) and files.title == "For the files"
    assert all(word in str(files) for word in ("'Title'", "'Version'", "'ISRC'", "'Credits'"))


def test_whether_a_mix_is_ready_is_answered_first() -> None:
    """By construction: what goes back counts before what is to be looked at; nothing of either is said too."""
    good, look, back = (IntakeItem("topic", outcome, "reason") for outcome in ("pass", "warn", "fail"))
    assert sum_up_intake((good, good)) == "Nothing here stands in the way."
    assert sum_up_intake((good, look)) == "Nothing here stops you; one thing to look at before you go on."
    assert sum_up_intake((look, back)) == "One thing to put right in the mix first."
    assert sum_up_intake((back, back)).startswith("2 things to put right")


def test_the_steps_stand_at_one_height_on_every_page(world: World) -> None:
    """Over them a headline and one short line, whatever the step."""
    program = open_mix(world)
    for step in ("aim", "listen_through", "balance", "sweetening", "loudness", "delivery"):
        program.act(intents.Do("step", step))
        view = program.view()
        assert isinstance(view, PageView) and 0 < len(view.sentence) <= 85


def test_no_loudness_is_offered_that_lies_under_the_song() -> None:
    """By arithmetic: around the aim what lies above the song; for a song above its aim what lies above itself."""
    assert list_around(-14.0, -17.0) == (-16.0, -14.0, -12.5, -11.0)
    assert list_around(-14.0, -15.0) == (-14.0, -12.5, -11.0)
    assert list_around(-14.0, -11.5) == (-11.0, -10.0, -8.5, -7.0)
    assert list_around(-14.0, -8.0) == (-7.5, -6.5, -5.0)
    assert list_wide(-17.0) == (-14.0, -11.5, -9.0, -7.0) and list_wide(-11.5) == (-9.0, -7.0)
    assert list_wide(-8.0) == () and list_around(-14.0, -5.0) == ()
    assert list_around(-14.0, -7.2) == (-6.7, -5.7)


@pytest.mark.parametrize(
    ("own_lufs", "label"), [(-17.0, "Make four around −14 LUFS"), (-11.5, "Make four from −11 LUFS up")]
)
def test_the_mix_stands_beside_its_aim_and_one_loudness_is_not_asked_about(
    world: World, own_lufs: float, label: str
) -> None:
    """The mix's own figures are on the page; a single loudness has nothing to be heard against."""
    rung = Rung(-7.0, -7.0, 3.0, {"true_peak_dbtp": -1.0})
    heard = hear(
        1, 2, loudness=Loudness((rung,), settings={"ceiling_dbtp": -1.0}), kind="rungs", refused=("−9 LUFS: no.",)
    )
    program = open_mix(world, heard)
    sheet = program.state.mix.sheet
    assert sheet is not None
    loud = replace(sheet, mix=replace(sheet.mix, integrated_lufs=own_lufs))
    program.state = replace(program.state, mix=replace(program.state.mix, sheet=loud))
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("step", "loudness"))
    assert label in read(program) and f"{own_lufs:.1f} LUFS, −3.0 dBTP".replace("-", "−") in read(program)
    program.act(intents.Do("try", "around"))
    program.tick()
    assert "All equally loud" not in read(program) and "−9 LUFS: no." in read(program)


def test_a_pass_that_was_ended_sooner_says_how_far_it_was_heard(world: World) -> None:
    """By construction: a mix of three minutes, left after ten seconds, then heard until it came round."""
    song = SongHeard(np.zeros((1, 60 * 100, 2), np.float32), 100, (0.3,) * 200, 0.0, -20.0)
    program = open_mix(world, song, song)
    assert isinstance(world.player, FakePlayer)
    program.act(intents.Do("step", "listen_through"))
    for frame, said in ((1000, True), (5990, False)):
        program.act(intents.Do("pass"))
        program.tick()
        world.player.frame = frame
        program.tick()
        world.player.frame = frame if said else 0
        program.act(intents.GoBack()) if said else program.tick()
        words = "Heard to 0:10 of 3:00; what comes after it was not listened to."
        assert (words in read(program)) == said
        program.act(intents.Do("step", "delivery"))
        assert (words in read(program)) == said
        program.act(intents.Do("step", "listen_through"))

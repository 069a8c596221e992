"""The mix beside its references, whole and in bands, by intents and by typed lines, with a world of stand-ins."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.fakes import FakePlayer, make_world
from tests.session.test_mixes import SHELF, hear, open_mix, read
from tests.text.typing import lead
from trainer.decisions.balance_parts import EVERYTHING, PARTS
from trainer.decisions.mix_jobs import BandMarks, SongsCompared, VersionsHeard
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.enter import find_main
from trainer.session.figure import Area, Label
from trainer.session.mixes.band_figure import WIDTH, WORDS, draw_bands, find_heard, word_legend
from trainer.session.pages import PageView, Picture, Prose, Sheet
from trainer.session.screens import Program
from trainer.session.world import World
from trainer.ui.theme import BODY

NAMES = ("/m/one.wav", "/m/two.wav", "/m/three.wav")
ROWS = (
    BandMarks("60–120 Hz", 2.5, (0.0, 1.0, -1.0), "band", "bottom"),
    BandMarks("120–250 Hz", 0.5, (0.0, 1.0, -1.0), "band", "low_mids"),
    BandMarks("250–500 Hz", -0.5, (0.0, 1.0, -1.0), "band", "low_mids"),
    BandMarks("Sides, 120–250 Hz", 4.0, (0.0, 1.0, -1.0), "width", "low_mids"),
    BandMarks("Hits", -1.0, (0.0, 1.0, -1.0), "hits", EVERYTHING),
)


def make_heard(songs: int = 4) -> VersionsHeard:
    """Give songs whose every part is another sound."""
    names = ("your mix", *(f"song {number}" for number in range(1, songs)))
    sounds = np.zeros((len(PARTS) * songs, 480, 2), np.float32)
    return replace(hear(1, 1), sounds=(sounds,), captions=names, kind="named", parts=tuple(PARTS))


def go_beside(world: World, *results: object, note: str = "") -> Program:
    """Compare three references, and hear the mix beside them."""
    compared = SongsCompared(ROWS, ("h1", "h2", "h3"), NAMES, (SHELF,), note=note)
    program = open_mix(world, compared, *results)
    program.act(intents.Do("step", "balance"))
    for name in NAMES:
        program.act(intents.DropFile(name))
    program.act(intents.Do("compare"))
    program.tick()
    return program


def list_marked(program: Program) -> list[str]:
    """List the rows that the page's picture points at."""
    view = program.view()
    assert isinstance(view, PageView)
    sheets = [part for column in view.columns for part in column if isinstance(part, Sheet)]
    (figure,) = [part.figure for sheet in sheets for part in sheet.parts if isinstance(part, Picture)]
    labels = [shape.text for shape in figure.shapes if isinstance(shape, Label) and shape.weight == "bold"]
    assert len(labels) == sum(isinstance(shape, Area) for shape in figure.shapes)
    return labels


def name_main(program: Program) -> str:
    """Name the accented button."""
    main = find_main(program.view())
    assert main is not None
    return main.label


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins."""
    return make_world({"limiting": drills["limiting"]})


def test_a_band_is_heard_of_every_song_without_a_gap(world: World) -> None:
    """Nothing is loaded anew: part and version name one sound among all (arithmetic), and its rows are pointed at."""
    program = go_beside(world, make_heard())
    program.act(intents.Do("beside"))
    program.tick()
    player = world.player
    assert isinstance(player, FakePlayer)
    loaded = len(player.loaded)
    assert list_marked(program) == []
    program.act(intents.Do("part", "low_mids"))
    program.act(intents.Listen(3))
    assert player.selected == list(PARTS).index("low_mids") * 4 + 2 and len(player.loaded) == loaded
    assert list_marked(program) == ["120–250 Hz", "250–500 Hz"]
    said = read(program)
    assert "Only 120 Hz to 500 Hz" in said and "keeps the gain of its whole" in said and "each song as a whole" in said
    program.act(intents.ListenOther(1))
    assert player.selected == list(PARTS).index("low_mids") * 4 + 3
    program.act(intents.ToggleMonitoring("sides"))
    assert list_marked(program) == ["Sides, 120–250 Hz"] and player.how.channels == "sides"
    program.act(intents.Do("part", "no part"))
    assert program.state.mix.part == "low_mids"


def test_one_thing_is_listened_for_on_each_pass(world: World) -> None:
    """Another pass, another thing; ten references go beside the mix, and the last ones are reached by the arrows."""
    program = go_beside(world, make_heard(11))
    program.act(intents.Do("beside"))
    program.tick()
    first = read(program)
    assert "listen for one thing: the level of the voice" in first and "11, song 10" in first
    program.act(intents.Do("thing"))
    assert "kick against bass" in read(program)
    program.act(intents.ListenOther(-1))
    assert program.state.mix.version == 11


def test_why_there_are_fewer_moves_is_said(world: World) -> None:
    """What the proposals note stands beside the moves."""
    program = go_beside(world, note="Two moves there would partly cancel.")
    assert "Two moves there would partly cancel." in read(program)
    program.act(intents.Do("remove", NAMES[0]))
    assert "Moves, one at most" in read(program), "two references are a taste"


def test_the_main_button_adds_the_song_that_stands_in_the_line(world: World) -> None:
    """A path in the line is what is to be added; Enter does the same, and the way on waits."""
    program = open_mix(world)
    program.act(intents.Do("step", "balance"))
    assert name_main(program) == "Next: sweetening, without references"
    program.act(intents.TypeText(NAMES[0]))
    assert name_main(program) == "Add this song"
    program.act(intents.GoOn())
    assert name_main(program) == "Compare" and "one.wav" in read(program) and program.state.typed == ""


def test_the_wave_is_that_of_the_song_that_sounds(world: World) -> None:
    """By construction: song 2 is silent but for its last frame, so its outline is 0 up to the last column, 1."""
    heard = make_heard()
    heard.sounds[0][2, -1] = 0.5
    program = go_beside(world, heard)
    program.act(intents.Do("beside"))
    program.tick()
    program.act(intents.Listen(3))
    view = program.view()
    assert isinstance(view, PageView) and view.waveform is not None
    assert view.waveform.caption == "song 2" and view.waveform.start_text == "0:00"
    assert view.waveform.peaks[-1] == 1.0 and not any(view.waveform.peaks[:-1])
    program.act(intents.Listen(1))
    view = program.view()
    assert isinstance(view, PageView) and view.waveform is not None and view.waveform.caption == "your mix"


def test_what_is_said_of_a_band_takes_two_lines_whichever_it_is(world: World) -> None:
    """Nothing below moves: as many lines for everything, for a band, and for the sides."""
    program = go_beside(world, make_heard())
    program.act(intents.Do("beside"))
    program.tick()
    counts = set()
    for intent in (intents.Do("part", "low_mids"), intents.ToggleMonitoring("sides"), intents.Do("part", EVERYTHING)):
        program.act(intent)
        view = program.view()
        assert isinstance(view, PageView)
        counts.add(sum(isinstance(part, Prose) for part in view.list_parts()))
    assert len(counts) == 1


def test_the_scale_stands_over_the_rows_and_one_reference_is_no_middle() -> None:
    """Seen before the rows are scrolled; of one song there is no middle."""
    labels = [shape for shape in draw_bands(ROWS).shapes if isinstance(shape, Label)]
    names = [each.at[1] for each in labels if each.text in {row.name for row in ROWS}]
    assert all(each.at[1] < min(names) for each in labels if each.text not in {row.name for row in ROWS})
    assert "middle of the references" in word_legend(ROWS)
    single = tuple(replace(row, references_db=(0.0,)) for row in ROWS)
    assert "middle" not in word_legend(single) + draw_bands(single).described
    assert "reference" in [shape.text for shape in draw_bands(single).shapes if isinstance(shape, Label)]


def test_the_words_of_the_picture_are_no_smaller_than_muted_text() -> None:
    """In half of a page of 1280, 550 px, a scrolled figure is drawn at 0.72, its words 1.18 times that (see ui)."""
    figure = draw_bands(ROWS, find_heard(ROWS, EVERYTHING, EVERYTHING, True))
    scale = 0.72 * 1.18
    assert figure.width == WIDTH and 550 / WIDTH >= 0.72
    assert all(shape.size * scale >= BODY.size for shape in figure.shapes if isinstance(shape, Label))
    assert min(shape.size for shape in figure.shapes if isinstance(shape, Label)) == WORDS
    assert "Sides, 120–250 Hz +4.0 dB" in figure.described and "60–120 Hz" not in figure.described


def test_a_terminal_hears_bands_too(world: World) -> None:
    """By the words of the offer; what is said anew is the band and what its rows show."""
    program = go_beside(world, make_heard())
    said = lead(program, ("[Listen to them]", "[Low mids]", "2", "[Sides only]"))
    assert "Only 120 Hz to 500 Hz" in said and "120–250 Hz +0.5 dB, 250–500 Hz −0.5 dB" in said
    assert "Sides, 120–250 Hz +4.0 dB" in said and program.state.mix.version == 2

"""Pages of parts: what each part shows, where it folds, and that words stand out from what they stand on."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import combinations

import numpy as np
import pygame
import pytest

from tests.ui import sample_pages, sample_views
from tests.ui.canvas import draw
from tests.ui.test_window import Script, click, opened
from trainer.session.intents import Do, GoTo, Listen
from trainer.session.pages import Advance, Entry, Items, PageView, Part, Prose, Share, Sheet, Stages, Table, Tally
from trainer.session.palette import Theme
from trainer.session.view import Button, Progress, Sounding
from trainer.ui.lettering import Lettering
from trainer.ui.pen import Pen, Written
from trainer.ui.screens.view import draw_view
from trainer.ui.theme import SENTENCE
from trainer.ui.widgets.entry import keep_end
from trainer.ui.window import Window

PAGES = sample_pages.all_pages()
LETTERING = Lettering()
FOLDED = [((640, 420), 200), ((960, 600), 200), ((1280, 800), 100)]


def show(page: PageView, size: tuple[int, int] = (1280, 800), percent: int = 100, theme: Theme = "paper") -> Pen:
    """Draw a page."""
    return draw(sample_views.restyle(page, theme, percent, page.frame.keys_open), size, LETTERING)


def words(pen: Pen) -> str:
    """Give all that is written."""
    return " ".join(line.text for line in pen.written)


def find(pen: Pen, text: str) -> pygame.Rect:
    """Give the place of a line."""
    return next(line.box for line in pen.written if line.text == text)


def make_page(*parts: Part, widths: tuple[float, ...] = (1.0,)) -> PageView:
    """Make a page of one column."""
    return PageView(sample_pages.place_frame("mixes"), "", "", (parts,), widths)


def luminance(colour: np.ndarray) -> np.ndarray:
    """Give the relative luminance of WCAG 2.2 of colours of 0–255."""
    part = colour / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return np.asarray(linear @ np.array([0.2126, 0.7152, 0.0722]))


def contrast(surface: pygame.Surface, line: Written) -> float:
    """Give the highest contrast of a line's pixels against the colour that most of them have."""
    box = line.box.clip(surface.get_rect())
    pixels = pygame.surfarray.array3d(surface.subsurface(box)).reshape(-1, 3)
    ground = np.array(Counter(map(tuple, pixels.tolist())).most_common(1)[0][0])
    light, under = luminance(pixels), float(luminance(ground[None])[0])
    ratios = (np.maximum(light, under) + 0.05) / (np.minimum(light, under) + 0.05)
    return float(ratios.max())


@pytest.mark.parametrize("theme", ["paper", "night"])
@pytest.mark.parametrize("name", [name for name in PAGES if not name.endswith("keys")])
def test_words_stand_out(name: str, theme: Theme) -> None:
    """WCAG 2.2, 1.4.3: 4.5 : 1, read from the pixels; lines that fade where a page goes on are left out."""
    pen = show(PAGES[name], (1920, 1080), 100, theme)
    assert pen.scroll_most == 0 or name == "page-drills"
    for line in pen.written:
        if pen.body is None or line.box.bottom < pen.body.bottom - 40:
            assert contrast(pen.surface, line) >= 4.5, line


@pytest.mark.parametrize(("size", "percent"), FOLDED)
def test_places_stand_in_the_head_and_can_be_clicked(size: tuple[int, int], percent: int) -> None:
    """Each part of the program is written there once, whole, and goes to its place."""
    page = sample_views.restyle(sample_pages.name_setup(), "paper", percent)
    pen = draw(page, size)
    hits = {hit.intent: hit.box for hit in pen.hits if isinstance(hit.intent, GoTo)}
    assert list(hits) == [GoTo(name) for name in sample_pages.PLACES]
    for name, title in sample_pages.PLACES.items():
        assert hits[GoTo(name)].contains(find(pen, title).inflate(0, -6))
    window, script = opened(sample_pages.name_setup())
    for hit in list(window.hits):
        if isinstance(hit.intent, GoTo):
            script.wanted.clear()
            click(window, hit.box.center)
            assert script.wanted == [hit.intent]


def test_places_fold_where_they_do_not_fit() -> None:
    """Ten parts at twice the size need rows of their own; none leaves the window, and the page begins below."""
    page = sample_pages.name_setup()
    places = tuple(Button(f"Part number {n}", GoTo(str(n)), selected=n == 3) for n in range(10))
    pen = show(replace(page, frame=replace(page.frame, places=places)), (960, 600), 200)
    boxes = [find(pen, place.label) for place in places]
    assert len({box.top for box in boxes}) > 1
    assert all(pen.surface.get_rect().contains(box) for box in boxes)
    assert find(pen, "A new set-up").top > max(box.bottom for box in boxes)


def test_the_place_that_is_shown_is_told_by_a_line_and_by_weight() -> None:
    """Not by colour alone (WCAG 2.2, 1.4.1): the word is wider than the plain one, and a line stands below it."""
    here, elsewhere = show(sample_pages.decide()), show(sample_pages.weigh())
    word = find(here, "My mixes")
    assert word.width > find(elsewhere, "My mixes").width
    below = pygame.Rect(word.left, word.bottom, word.width, 10)
    pixels = [pygame.surfarray.array3d(pen.surface.subsurface(below)) for pen in (here, elsewhere)]
    assert len(np.unique(pixels[0].reshape(-1, 3), axis=0)) > 1
    assert len(np.unique(pixels[1].reshape(-1, 3), axis=0)) == 1


@pytest.mark.parametrize(("size", "percent"), FOLDED)
def test_steps_open_by_a_click(size: tuple[int, int], percent: int) -> None:
    """Each step is written beside its mark and offers what it opens, in order."""
    steps = tuple(Button(name, Do("step", name)) for name in sample_pages.STEPS)
    pen = show(make_page(Stages(steps, (True,) * 2 + (False,) * 4, 2)), size, percent)
    assert [hit.intent for hit in pen.hits if hit.by_tab and isinstance(hit.intent, Do)] == [s.intent for s in steps]
    for step in steps:
        box = next(hit.box for hit in pen.hits if hit.intent == step.intent)
        assert box.collidepoint(find(pen, step.label).center)


def test_steps_differ_in_shape() -> None:
    """What is done, open and ahead differ when all colour is taken away (WCAG 2.2, 1.4.1)."""
    steps = tuple(Button("Step", Do(str(n))) for n in range(3))
    pen = show(make_page(Stages(steps, (True, False, False), 1)))
    boxes = [hit.box for hit in pen.hits if hit.by_tab and isinstance(hit.intent, Do)]
    shapes = []
    for box in boxes:
        grey = pygame.surfarray.array3d(pen.surface.subsurface(pygame.Rect(box.left, box.top, 20, box.height)))
        dark = grey.mean(axis=2) < 140
        shapes.append(int(dark.sum()))
    assert shapes[1] > shapes[0] > shapes[2] > 0


def test_a_tally_tells_right_from_wrong_by_shape() -> None:
    """A dot and a cross differ in where they cover the ground, whatever their colour (WCAG 2.2, 1.4.1)."""
    covered = []
    marks: tuple[Progress, ...] = ("right", "wrong", "current")
    for mark in marks:
        pen = show(make_page(Tally("", (mark,), "")))
        area = pygame.surfarray.array3d(pen.surface.subsurface(pygame.Rect(36, 100, 30, 60))).astype(int)
        covered.append(np.abs(area - area[0, 0]).sum(axis=2) > 100)
    for one, other in combinations(covered, 2):
        assert (one ^ other).sum() > 0.3 * (one | other).sum() > 0


@pytest.mark.parametrize("counts", [(9, 3), (3, 9), (12, 0), (0, 0), (4.5, 7.5), (1, 2, 3, 4, 5)])
def test_a_share_names_each_part_with_its_count(counts: tuple[float, ...]) -> None:
    """Counts and names are written, and the bar's parts are as wide as the counts are large."""
    names = ("with the move", "without", "crane_a", "crane_b", "crane_c")[: len(counts)]
    pen = show(make_page(Share("Do you prefer it?", names, counts, "")))
    written = words(pen)
    for name, count in zip(names, counts, strict=True):
        assert f"{name} {count:g}" in written
    if counts == (9, 3):
        line = find(pen, "Do you prefer it?")
        row = pygame.surfarray.array3d(pen.surface)[:, line.bottom + 16]
        blue = np.flatnonzero((row == pen.look.shape("blue")).all(axis=1))
        rest = np.flatnonzero((row == pen.look.shape("rule")).all(axis=1))
        assert len(blue) / len(rest) == pytest.approx(3.0, rel=0.05)


def test_figures_of_a_table_end_in_one_line() -> None:
    """Figures flush right, names flush left, as tables of figures are set (common practice, no source)."""
    rows = (("crane_a.wav", "−11.2 LUFS", "7 dB"), ("b", "−9.4 LUFS", "12.25 dB"), ("a longer name", "0.1 LUFS", ""))
    pen = show(make_page(Table(("file", "loudness", "range"), rows)))
    for column in (1, 2):
        ends = {find(pen, row[column]).right for row in rows if row[column]}
        assert len(ends) == 1
    assert len({find(pen, row[0]).left for row in rows}) == 1


def test_a_table_that_is_too_wide_is_set_row_by_row() -> None:
    """Nothing is cut off: each head stands with its figure."""
    head = ("", "integrated", "short-term", "momentary", "true peak", "crest factor", "correlation", "polarity")
    row = ("crane_a.wav", "−11.2", "−9.8", "−8.1", "−0.8", "7.1", "0.62", "1")
    pen = show(make_page(Table(head, (row,))), (640, 420), 200)
    for name, cell in zip(head[1:], row[1:], strict=True):
        assert f"{name}: {cell}" in words(pen)


def test_an_entry_shows_its_hint_or_the_end_of_its_line() -> None:
    """The hint until something is typed; then the end of a long line, as it is there that one types."""
    assert "such as: monitors" in words(show(sample_pages.name_setup()))
    path = "/home/ines/" + "a long folder/" * 12 + "crane.wav"
    pen = show(make_page(Entry("File", path, "a file")))
    line = next(line.text for line in pen.written if line.text.startswith("…"))
    assert line.endswith("crane.wav") and "a file" not in words(pen)
    assert keep_end(pen, "short", SENTENCE, 500) == "short"
    assert pen.width(keep_end(pen, path, SENTENCE, 300), SENTENCE) <= 300


@pytest.mark.parametrize(("fraction", "said"), [(0.0, "0 %"), (0.376, "37 %"), (0.999, "99 %"), (1.0, "100 %")])
def test_advance_says_whole_per_cent_and_never_too_much(fraction: float, said: str) -> None:
    """Rounded down, so that 100 % means done; the bar is filled as far."""
    pen = show(make_page(Advance(fraction, "Aligning crane_b.wav")))
    assert said in [line.text for line in pen.written]
    row = pygame.surfarray.array3d(pen.surface)[:, find(pen, "Aligning crane_b.wav").bottom + 13]
    filled = int((row == pen.look.shape("ink")).all(axis=1).sum())
    assert filled == pytest.approx(880 * fraction, abs=8)


def test_columns_fold_below_each_other() -> None:
    """Side by side where there is room, one after the other where there is not."""
    columns = ((Sheet("One", (Prose("first"),)),), (Sheet("Two", (Prose("second"),)),))
    page = PageView(sample_pages.place_frame("mixes"), "", "", columns, (1, 1))
    wide, narrow = show(page), show(page, (640, 420), 200)
    assert find(wide, "One").top == find(wide, "Two").top
    assert find(narrow, "One").bottom < find(narrow, "Two").top


def test_a_short_column_stays_beside_a_long_one() -> None:
    """What is said of the line that is chosen can be read wherever the list stands."""
    drills = sample_pages.drills().columns[0][0]
    page = PageView(sample_pages.place_frame("drills"), "All", "", ((drills,), (Sheet("About it", ()),)), (1, 1))
    for scroll in (0, 150, 100_000):
        pen = Pen(pygame.Surface((1280, 800)), show(page).look, LETTERING, scroll=scroll)
        draw_view(pen, page)
        assert pen.body is not None and pen.scroll_most > 150
        assert pen.body.contains(find(pen, "About it")) and find(pen, "About it").height > 10


def test_items_on_a_sheet_are_lines() -> None:
    """No card stands on a card: on a sheet nothing but what is chosen or pointed at has an edge of its own."""
    items = sample_pages.drills().columns[0][0]
    assert isinstance(items, Items)
    few = Items(tuple(replace(item, selected=False) for item in items.items[:3]))
    plain, carded = show(make_page(Sheet("List", (few,)))), show(make_page(few))
    assert [hit.box.width for hit in plain.hits if isinstance(hit.intent, Do)] == [856] * 3
    assert [hit.box.width for hit in carded.hits if isinstance(hit.intent, Do)] == [880] * 3


def test_an_empty_table_takes_no_room() -> None:
    """A page may have nothing to list yet."""
    assert words(show(make_page(Table((), ()), Prose("after"))))


def test_the_foot_stays_in_sight_and_leaves_room() -> None:
    """Buttons stay while the page scrolls; a sheet that would crowd the page out is read at its end."""
    page = sample_views.restyle(sample_pages.decide(), "paper", 200)
    top = draw(page, (960, 600))
    low = Pen(pygame.Surface((960, 600)), top.look, LETTERING, scroll=100_000)
    draw_view(low, page)
    for pen in (top, low):
        assert pen.body is not None and pen.body.height > 200
        assert find(pen, "Leave it out").top > pen.body.bottom
    assert "Decision sheet so far" not in words(top) and "Decision sheet so far" in words(low)


@pytest.mark.parametrize("name", ["page-weigh", "page-found"])
def test_the_playhead_moves_alone(name: str) -> None:
    """The small redraw and the whole one agree in every pixel, and the rest of the page is not drawn again."""
    window, script = opened(PAGES[name])
    pen = window._pen
    for fraction in (0.43, 0.6, 0.1):
        assert isinstance(script.shown, PageView) and script.shown.sounding is not None
        script.shown = replace(script.shown, sounding=replace(script.shown.sounding, fraction=fraction))
        window.refresh()
    assert window._pen is pen
    moved = pygame.image.tobytes(pygame.display.get_surface(), "RGB")
    opened(script.shown)
    assert pygame.image.tobytes(pygame.display.get_surface(), "RGB") == moved


def test_a_loop_on_a_sheet_moves_alone_too() -> None:
    """Its ground is the sheet's."""
    page = sample_pages.weigh()
    page = replace(page, columns=((Sheet("The loop", (page.columns[0][1],)),),))
    window, script = opened(page)
    script.shown = replace(page, sounding=Sounding(3, 0.9, True))
    window.refresh()
    moved = pygame.image.tobytes(pygame.display.get_surface(), "RGB")
    opened(script.shown)
    assert pygame.image.tobytes(pygame.display.get_surface(), "RGB") == moved


def test_versions_of_a_page_sound_on_the_press() -> None:
    """As on every other screen."""
    window, script = opened(sample_pages.weigh())
    disc = next(hit for hit in window.hits if hit.intent == Listen(2))
    window.handle(pygame.event.Event(pygame.MOUSEBUTTONDOWN, pos=disc.box.center, button=1))
    assert script.wanted == [Listen(2)]


def test_busy_pages_are_served_quickly() -> None:
    """What advances is drawn as it goes on; the balance that rocks shows that there is work, where a bar rests too."""
    for page in (sample_pages.working(), sample_pages.reading()):
        window, _ = opened(page)
        assert window._moving()
    for page in (sample_pages.working(), sample_pages.reading()):
        assert show(page).waiting is not None
    assert show(sample_pages.drills()).waiting is None
    assert not Window(Script(sample_pages.drills()))._moving()


def test_labels_above_discs_do_not_repeat_their_number() -> None:
    """ "1, as it is" above the disc that says 1 becomes "as it is"."""
    versions = (Button("1, as it is", Listen(1)), Button("2", Listen(2)), Button("3, louder", Listen(3)))
    pen = draw(replace(sample_views.trial(), versions=versions), (1280, 800))
    written = [line.text for line in pen.written]
    assert written.count("1") == written.count("2") == written.count("3") == 1
    assert "as it is" in written and "louder" in written and "1, as it is" not in written

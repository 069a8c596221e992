"""What the desk lets a mix be heard by: bands beside references, and ends with a fade; read by libebur128."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyebur128
import pytest

from tests.decisions.steady_songs import RATE_HZ, make_steady
from tests.decisions.test_fade_proposals import gather, make_song
from trainer.app.balance_desk import BalanceDesk
from trainer.app.listening_desk import ListeningDesk
from trainer.app.song_shelf import OpenedSong, SongShelf
from trainer.audio.clip import Clip
from trainer.decisions.balance_parts import PARTS
from trainer.decisions.mix_jobs import HearBeside, HearEdge, HearSong
from trainer.decisions.sheet import Fades
from trainer.exercise.song import Song, SongEntry
from trainer.workshop.desk import Tell


class Shelf(SongShelf):
    """Hold songs that were never files, by the names that stand for their paths."""

    def __init__(self, songs: dict[str, Clip]) -> None:
        super().__init__()
        self._clips = songs
        self._read: dict[str, OpenedSong] = {}

    def read(self, path: str, tell: Tell) -> OpenedSong:
        """Measure a song, once."""
        if path not in self._read:
            clip = self._clips[path]
            song = Song(SongEntry(path, path, "own"), clip, path, clip.rate_hz, {}, None)
            self._read[path] = OpenedSong(song, gather(clip))
        return self._read[path]


def tell(share: float, words: str) -> None:
    """Keep silent."""


def read_true_peak(samples: npt.NDArray[np.float32]) -> float:
    """Give the highest true peak, as an amplitude."""
    meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_TRUE_PEAK)
    meter.add_frames(np.ascontiguousarray(samples).reshape(-1), samples.shape[0])
    return max(pyebur128.get_true_peak(meter, channel) for channel in (0, 1))


def read_lufs(samples: npt.NDArray[np.float32]) -> float:
    """Give the integrated loudness of four rounds."""
    meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
    rounds = np.tile(samples, (4, 1))
    meter.add_frames(rounds.reshape(-1), rounds.shape[0])
    return pyebur128.get_loudness_global(meter)


def test_songs_are_equally_loud_as_wholes_and_their_bands_are_not_matched() -> None:
    """A heavy song against a plain one: wholes within 0.05 LU on libebur128, bands as far apart as they are."""
    mix = make_steady(lambda hz: np.where(hz < 120, 6.0, 0.0), 1, 4.5)
    desk = BalanceDesk(Shelf({"mix.wav": mix, "other.wav": make_steady(seed=2, length_s=4.5)}))
    heard = desk.works[HearBeside](HearBeside("mix.wav", ("other.wav",)), tell)
    assert heard.captions == ("your mix", "other.wav") and heard.parts == tuple(PARTS)
    whole = [read_lufs(sound) for sound in heard.sounds[0][:2]]
    assert whole[0] == pytest.approx(whole[1], abs=0.05) == pytest.approx(heard.loudness_lufs, abs=0.05)
    first = 2 * heard.parts.index("bottom")
    levels = [10 * np.log10((sound.astype(float) ** 2).mean()) for sound in heard.sounds[0][first : first + 2]]
    # 6 dB more at the bottom make the whole louder, by less than 1.5 LU; so much the gain takes back everywhere.
    assert 4.0 < levels[0] - levels[1] < 6.5
    assert max(read_true_peak(sound) for sound in heard.sounds[0][::3]) <= 10 ** (-1 / 20)


def test_an_end_is_heard_with_and_without_its_fade() -> None:
    """At one gain, under −1 dBTP; alike before the fade begins, silent behind its end; a place has ramps for a seam."""
    song = make_song(decay_s=2.0)
    desk = ListeningDesk(Shelf({"mix.wav": song.with_samples(6 * song.samples)}))
    fades = Fades(0.4, 0.05, 10.0, 0.5)
    heard = desk.works[HearEdge](HearEdge("mix.wav", fades, "tail"), tell)
    faded, plain = heard.sounds
    begins = round((9.5 - heard.start_s) * RATE_HZ)
    ends = round((10.0 - heard.start_s) * RATE_HZ)
    assert np.array_equal(faded[:begins], plain[:begins]) and not faded[ends:].any() and plain[ends:].any()
    assert max(read_true_peak(sound) for sound in heard.sounds) <= 10 ** (-1 / 20)
    assert heard.faded.clean and heard.faded.last_dbfs < -90
    # Drawn as they sound, on one scale: a column is the highest sample of its part, and the highest of all is 1.
    for sound, outline in zip(heard.sounds, heard.outlines, strict=True):
        parts = np.array_split(np.abs(sound).max(axis=1) / np.abs(heard.sounds).max(), len(outline))
        assert np.abs(np.array([part.max() for part in parts]) - outline).mean() < 0.02
    assert max(max(outline) for outline in heard.outlines) == pytest.approx(1.0) and heard.outlines[0][-1] == 0.0
    place = desk.works[HearSong](HearSong("mix.wav", 3.0, 7.0), tell)
    assert np.abs(place.sounds[0, [0, -1]]).max() < 1e-3 and place.sounds.shape[1] == 4 * RATE_HZ

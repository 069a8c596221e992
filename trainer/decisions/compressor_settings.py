"""Settings of one bus compressor beside each other: what each shows, which fit, and a candidate made from one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from trainer.decisions.sheet import Candidate, Sheet
from trainer.units import write_frequency, write_number

Trouble = Literal["held_down", "rough", "kick_steers"]
On = Literal["snare", "hits"]

TOOL, STEM = "compressor", "bus_compression"
# From where a release follows the wave to where it sits on a song; corners below a kick, about it and above it. Common
# practice, no source.
RELEASES_MS = (20.0, 50.0, 120.0, 300.0, 700.0)
CORNERS_HZ = (0.0, 60.0, 100.0, 160.0)
# Most of the gain is back before the next hit; where hits come close, most of what any release gives back there.
WISHED_BACK_PERCENT, BACK_SHARE = 70.0, 0.75
# What ripple adds to a held note is then 1 % of it.
ROUGHEST_DB = -40.0
KICK_OVER_SNARE_DB = 0.7
# Of a candidate's results: the releases that fit on the loud stretch.
WINDOW = ("release_window_from_ms", "release_window_to_ms")
# Two thresholds that are nearer than this were solved for the same.
SAME_DB = 0.05


@dataclass(frozen=True)
class SettingTried:
    """Hold one setting, and what was measured of the loop that was rendered with it.

    Parameters
    ----------
    settings : dict of str to float
        Complete.
    reduction_db : float
        On the snare, or on the hits; alike for all settings that are compared.
    kick_db : float or None
        Reduction on the kick, dB; None where there is none.
    on_hits_db, mean_db : float
        Reduction on the loudest hits, and over time.
    back_percent : float or None
        Share of the reduction that is back before the next hit; None where there is next to none.
    roughness_db : float or None
        What the gain's ripple adds to held bass, against the note, dB; None where no bass is held.
    course_db : tuple of float
        Reduction over the loop, in the steps of the grid.
    """

    settings: dict[str, float]
    reduction_db: float
    kick_db: float | None
    on_hits_db: float
    mean_db: float
    back_percent: float | None
    roughness_db: float | None
    course_db: tuple[float, ...] = ()

    @property
    def release_ms(self) -> float:
        """Its release."""
        return self.settings["release_ms"]

    @property
    def corner_hz(self) -> float:
        """Its side-chain high-pass; 0 for none."""
        return self.settings["side_chain_hz"]


@dataclass(frozen=True)
class SettingGrid:
    """Hold settings at one reduction: a row of releases for each corner.

    Parameters
    ----------
    releases_ms, corners_hz : tuple of float
        What was tried, both rising.
    tried : tuple of SettingTried
        Row by row.
    on : str
        What all turn down alike: ``snare``, or ``hits`` where no snare stands apart from the kick.
    reduction_db : float
        By so much.
    step_s : float
        Of the courses.
    snares_s, kicks_s : tuple of float
        Where in the loop they are.
    """

    releases_ms: tuple[float, ...]
    corners_hz: tuple[float, ...]
    tried: tuple[SettingTried, ...]
    on: On
    reduction_db: float
    step_s: float = 0.01
    snares_s: tuple[float, ...] = ()
    kicks_s: tuple[float, ...] = ()

    def list_row(self, corner_hz: float) -> tuple[SettingTried, ...]:
        """List the settings behind one filter, the shortest release first."""
        return tuple(each for each in self.tried if each.corner_hz == corner_hz)

    def find_wished_percent(self, corner_hz: float) -> float:
        """Find how much has to come back before the next hit for a setting not to hold the song down, %.

        The settings of one row are compared, so that a row shows the same by itself and beside others.
        """
        most_percent = max((each.back_percent or 0.0 for each in self.list_row(corner_hz)), default=0.0)
        return min(WISHED_BACK_PERCENT, BACK_SHARE * most_percent)

    def find_place(self, release_ms: float, corner_hz: float) -> int:
        """Find the place of a setting; of the nearest one that was tried where it was not itself."""
        releases = [abs(math.log(each / release_ms)) for each in self.releases_ms]
        corners = [abs(each - corner_hz) for each in self.corners_hz]
        return corners.index(min(corners)) * len(self.releases_ms) + releases.index(min(releases))

    def move_place(self, place: int, longer: int) -> int:
        """Give the place with a longer or shorter release in the same row; at its end, the same place."""
        row, column = divmod(place, len(self.releases_ms))
        return row * len(self.releases_ms) + min(max(column + longer, 0), len(self.releases_ms) - 1)

    def find_troubles(self, tried: SettingTried) -> tuple[Trouble, ...]:
        """Find what is wrong with a setting; nothing where it fits."""
        found: list[Trouble] = []
        if tried.back_percent is not None and tried.back_percent < self.find_wished_percent(tried.corner_hz):
            found.append("held_down")
        if tried.roughness_db is not None and tried.roughness_db > ROUGHEST_DB:
            found.append("rough")
        if self.on == "snare" and tried.kick_db is not None and tried.kick_db - tried.reduction_db > KICK_OVER_SNARE_DB:
            found.append("kick_steers")
        return tuple(found)

    def list_fitting(self, corner_hz: float) -> tuple[SettingTried, ...]:
        """List the settings of a row whose release fits: enough is back, and the bass is smooth."""
        row = self.list_row(corner_hz)
        return tuple(each for each in row if not {"held_down", "rough"} & set(self.find_troubles(each)))

    def measure_window(self, corner_hz: float) -> dict[str, float]:
        """Give the shortest and the longest release that fit, as results of a candidate; nothing where none does."""
        fitting = [each.release_ms for each in self.list_fitting(corner_hz)]
        return dict(zip(WINDOW, (min(fitting), max(fitting)), strict=True)) if fitting else {}


def name_setting(settings: dict[str, float]) -> str:
    """Name a setting: ``release 300 ms, side-chain high-pass 100 Hz``."""
    corner_hz = settings["side_chain_hz"]
    filter_words = f"side-chain high-pass {write_frequency(corner_hz)}" if corner_hz else "no side-chain filter"
    return f"release {write_number(settings['release_ms'], 0)} ms, {filter_words}"


def explain_setting(grid: SettingGrid, tried: SettingTried) -> str:
    """Say why a candidate has this setting: how it was chosen, at what reduction, and what it measures there."""
    words = f"Set by ear on the loud stretch, with the {grid.on} turned down by {write_number(tried.reduction_db)} dB"
    if tried.back_percent is None:
        return f"{words}."
    words += f": {write_number(tried.back_percent, 0)} % of the gain is back before the next hit"
    if tried.roughness_db is None:
        return f"{words}."
    return f"{words}, and the ripple on held bass lies at {write_number(tried.roughness_db, 0)} dB against the note."


def make_setting(candidate: Candidate, grid: SettingGrid, tried: SettingTried, sheet: Sheet) -> Candidate:
    """Make a candidate of another setting; it has a name of its own, so that no round of another one counts for it.

    Parameters
    ----------
    candidate : Candidate
        The one whose setting was looked for.
    grid : SettingGrid
        At its reduction.
    tried : SettingTried
        The setting that was chosen.
    sheet : Sheet
        What is weighed so far.

    Returns
    -------
    Candidate
        The one with this very setting where the sheet has it already, with the rounds it was heard in; else a new one
        without any.
    """
    same = [each for each in sheet.candidates if each.move == TOOL and _is_same(each.settings, tried.settings)]
    if same:
        return same[0]
    corner = f"_{tried.corner_hz:.0f}_hz" if tried.corner_hz else ""
    stem = f"{STEM}_{tried.release_ms:.0f}_ms{corner}"
    taken = {each.candidate for each in sheet.candidates}
    name = next(each for each in (stem, *(f"{stem}_{n}" for n in range(2, len(taken) + 3))) if each not in taken)
    return replace(
        candidate,
        candidate=name,
        amount=tried.on_hits_db,
        settings=tried.settings,
        results=grid.measure_window(tried.corner_hz),
        reason=explain_setting(grid, tried),
        threshold="",
        verdict="untried",
        decision="open",
        note="",
        rounds=(),
    )


def list_other_settings(candidate: Candidate, candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """List other settings of the same bus compressor; a song goes through one of them at most."""
    if candidate.move != TOOL:
        return ()
    return tuple(each for each in candidates if each.move == TOOL and each.candidate != candidate.candidate)


def replace_setting(sheet: Sheet, candidate: Candidate) -> Sheet:
    """Put a candidate on a sheet: settings of the same tool that were never heard leave it.

    What was heard, or decided, stays with its rounds.
    """
    others = list_other_settings(candidate, sheet.candidates)
    unheard = {each.candidate for each in others if not each.rounds and each.decision == "open"}
    left = tuple(each for each in sheet.candidates if each.candidate not in unheard)
    return replace(sheet, candidates=left).with_candidate(candidate)


def keep_one_setting(sheet: Sheet, kept: Candidate) -> Sheet:
    """Leave out what was kept of another setting of the same tool, and note why."""
    for each in list_other_settings(kept, sheet.candidates):
        if each.decision == "keep":
            note = f"another setting of it was kept in its place: {name_setting(kept.settings)}"
            sheet = sheet.with_candidate(replace(each, decision="leave", note=note))
    return sheet


def _is_same(one: dict[str, float], other: dict[str, float]) -> bool:
    """Tell whether two settings are one: only the threshold may differ, by what solving leaves open."""
    if one.keys() != other.keys():
        return False
    return all(math.isclose(one[name], other[name], abs_tol=SAME_DB if "threshold" in name else 1e-6) for name in one)

"""The desk's work on a mix: opened, heard, compared, proposed; versions and deliveries have desks of their own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from trainer.app.balance_desk import BalanceDesk
from trainer.app.compressor_desk import CompressorDesk
from trainer.app.conditions import Conditions
from trainer.app.delivery_desk import DeliveryDesk
from trainer.app.listening_desk import ListeningDesk
from trainer.app.song_shelf import SongShelf, tell_share, tell_stage
from trainer.app.version_desk import VersionDesk
from trainer.decisions.candidate_loops import choose_stretches
from trainer.decisions.fade_proposals import propose_fades
from trainer.decisions.high_pass_check import check_high_pass
from trainer.decisions.intake import examine_mix
from trainer.decisions.mix_jobs import (
    MixOpened,
    OpenMix,
    Propose,
    Proposed,
)
from trainer.decisions.sheet import Finding, MixFile
from trainer.decisions.sweetening import propose_sweetening
from trainer.dsp.moves import MOVES
from trainer.workshop.desk import Tell


class MixDesk:
    """Do the works on a mix.

    Parameters
    ----------
    conditions : Conditions
        Where targets of one's own lie.
    """

    def __init__(self, conditions: Conditions) -> None:
        self._shelf = SongShelf()
        self._balance = BalanceDesk(self._shelf)
        self._works: dict[type, Callable[[Any, Tell], Any]] = {
            OpenMix: self._open,
            Propose: self._propose,
            **ListeningDesk(self._shelf).works,
            **self._balance.works,
            **VersionDesk(self._shelf).works,
            **CompressorDesk(self._shelf).works,
            **DeliveryDesk(conditions).works,
        }

    def do(self, job: Any, tell: Tell) -> Any:
        """Do a job."""
        return self._works[type(job)](job, tell)

    def _open(self, job: OpenMix, tell: Tell) -> MixOpened:
        """Read a mix, measure it, look for faults, and propose its fades."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, 0.9))
        tell(0.9, "Proposing fades")
        form, programme = opened.evidence.form, opened.evidence.programme
        proposal = propose_fades(opened.clip, opened.evidence)
        mix = MixFile(
            str(Path(job.path).expanduser().resolve()),
            opened.song.sha256,
            form.sample_rate_hz,
            programme.duration_s,
            programme.loudness.integrated_lufs,
            programme.peaks.true_peak_dbtp,
        )
        findings = tuple(
            Finding(each.kind, each.start_s, each.end_s, measured=True, strength=each.strength, unit=each.unit)
            for each in opened.evidence.scan.faults
        )
        return MixOpened(mix, examine_mix(opened.evidence), findings, proposal.fades, proposal.reasons, proposal.edges)

    def _propose(self, job: Propose, tell: Tell) -> Proposed:
        """Check the very bottom, or find candidates for sweetening."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, 0.3))
        if job.step == "balance":
            running = "Running a high-pass over the song"
            found = check_high_pass(opened.clip, tell=tell_share(tell, 0.3, 0.7, running))
            return Proposed("balance", (found.candidate,), found.reasons)
        loud = choose_stretches(opened.clip, opened.evidence)["loudest"]
        proposals = propose_sweetening(
            opened.clip,
            opened.evidence,
            loud,
            job.kept,
            self._balance.comparison,
            tell_share(tell, 0.3, 0.7, "Trying moves on the whole song"),
        )
        left = tuple(f"{MOVES[each.move].title}: {each.reason}" for each in proposals.left_out)
        return Proposed("sweetening", proposals.candidates, left)

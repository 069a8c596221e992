"""A drill in a terminal: for screen readers, for a connection without a screen, and for pipes."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TextIO

from trainer.errors import BadValue, EvenhandError
from trainer.session.answer_tones import CHOICES, say_choice, sound_answer, write_choice
from trainer.session.monitoring import AS_IT_IS, change, list_aids, say_aids
from trainer.session.receipt_rows import list_receipt
from trainer.session.reveal_views import say_lost
from trainer.session.run import (
    Run,
    answer_trial,
    end_early,
    go_on,
    leave_demonstration,
    misses_largest,
    open_trial,
    read_one_mark,
    shows_answer,
    specify_next,
    takes_marks,
)
from trainer.session.summaries import describe_result, describe_run
from trainer.session.words import (
    describe_answer,
    describe_balance,
    describe_change,
    describe_effect,
    describe_offers,
)
from trainer.session.world import World
from trainer.text.lines import AIDS, HELP, TONES_EXPECTED, Line, read_line
from trainer.units import write_amount


class Interrupted(KeyboardInterrupt):
    """Say that the person interrupted at the keyboard, and that the closing lines have been said."""

    said = True


@contextmanager
def close_after(close: Callable[[], None]) -> Iterator[None]:
    """Say the closing lines behind what is done, however it ends at the keyboard."""
    try:
        yield
    except KeyboardInterrupt:
        close()
        raise Interrupted from None
    close()


@dataclass
class Terminal:
    """Where lines come from and go to.

    Parameters
    ----------
    lines : iterator of str
        Standard input, from a person or a pipe.
    out, errors : file
        Standard output and standard error.
    as_json : bool
        One JSON object a line instead of sentences.
    width : int
        Columns of the screen; 0 where lines go to a pipe.
    """

    lines: Iterator[str]
    out: TextIO
    errors: TextIO
    as_json: bool
    width: int = 0

    def say(self, text: str) -> None:
        """Write a sentence, unless objects are wanted; wrapped at words where a person reads it on a screen."""
        if not self.as_json:
            lines = textwrap.fill(text, self.width) if self.width else text
            print(lines, file=self.out, flush=True)

    def say_path(self, path: str) -> None:
        """Write a path as it is, in one line, unless objects are wanted."""
        if not self.as_json:
            print(path, file=self.out, flush=True)

    def tell(self, event: dict[str, Any]) -> None:
        """Write an object, if they are wanted."""
        if self.as_json:
            print(json.dumps(event, ensure_ascii=False), file=self.out, flush=True)

    def complain(self, error: EvenhandError) -> None:
        """Write what is wrong with a line; the drill goes on."""
        print(str(error), file=self.errors, flush=True)


class TextRun:
    """One run, line by line.

    Parameters
    ----------
    run : Run
        As begun.
    world : World
        The ports.
    terminal : Terminal
        The lines.
    """

    def __init__(self, run: Run, world: World, terminal: Terminal) -> None:
        self.run, self._world, self._terminal = run, world, terminal
        self._planned = run.planned
        self._answered: Run | None = None
        self._loaded: Run | None = None
        self._asked_s = 0.0
        self._control = 0
        self._marks: list[str] = []
        self._how = AS_IT_IS

    def play(self) -> bool:
        """Ask and take answers until the run is complete, the person stops or the input ends.

        Returns
        -------
        bool
            True if the run is complete.

        Raises
        ------
        Interrupted
            If it was interrupted at the keyboard; what there was to say is said.
        """
        with close_after(self._close):
            self._take_lines()
        return self.run.phase == "finished"

    def _take_lines(self) -> None:
        """Ask, and take lines as they come."""
        self._open_next()
        for text in self._terminal.lines:
            line = read_line(text)
            if line.kind == "stop":
                return
            try:
                self._act(line)
            except BadValue as error:
                self._terminal.complain(error)
            if self.run.phase == "finished":
                return

    def _close(self) -> None:
        """Leave it quiet, and say what the run tells."""
        self._world.player.pause()
        self._stop()

    def _act(self, line: Line) -> None:
        """Do what a line says."""
        if line.kind == "answer":
            self._answer(line.text)
        elif line.kind == "listen":
            self._listen(line.text)
        elif line.kind in ("more", "less"):
            self._move_control(1 if line.kind == "more" else -1)
        elif line.kind == "change":
            self._play_change()
        elif line.kind == "receipt":
            self._show_receipt()
        elif line.kind == "pause":
            self._pause_or_go_on()
        elif line.kind == "aid":
            self._change_hearing(line.text)
        elif line.kind == "tone":
            self._choose_tone(line.text)
        elif line.kind == "take_back":
            raise BadValue("input", "line", line.text, "another line: in a drill every answer stands at once")
        elif line.kind == "end":
            self._end_early()
        elif line.kind == "help":
            for sentence in HELP:
                self._terminal.say(sentence)
        elif line.kind == "tones":
            raise BadValue("input", "line", line.text, TONES_EXPECTED)
        elif line.kind == "next" and self.run.phase == "demonstration":
            self._answer("")
        elif line.kind != "nothing":
            raise BadValue("input", "line", line.text, self._name_lines())

    def _name_lines(self) -> str:
        """Name what can be typed now; aids to hearing where they work."""
        aids = f"{', '.join(AIDS)}, " if self._may_change_hearing() else ""
        return f"a version's number, =answer, d, r, p, {aids}q or ?"

    def _may_change_hearing(self) -> bool:
        """Tell whether aids to hearing work: never while the sounds of a question are in the player."""
        loaded = self._loaded
        return loaded is not None and not (loaded.trial is self.run.trial and self.run.phase == "question")

    def _open_next(self) -> None:
        """Have the next trial made and put its question, or show a labelled example."""
        world = self._world
        world.workshop.submit(specify_next(self.run))
        trial = None
        while trial is None:
            trial = world.workshop.collect()
        self.run = open_trial(self.run, trial, world.clock.now())
        self._control = trial.layout.begins_at
        self._marks = []
        self._load(self.run)
        self._asked_s = world.clock.monotonic_s()
        if self.run.phase == "demonstration":
            self._show_example()
            return
        self._terminal.tell(self._describe_event("question"))
        number = f"Trial {self.run.index + 1} of {self.run.planned}."
        self._terminal.say(f"{number} {self.run.drill.question} {describe_balance(trial)}; {trial.excerpt.caption}.")
        self._terminal.say(describe_offers(self.run))

    def _show_example(self) -> None:
        """Say what the two versions of a labelled example are."""
        drill = self.run.drill
        assert self.run.trial is not None
        self._terminal.say(f"A labelled example of {drill.title}. {drill.teaching.does} {drill.teaching.listen}")
        labels = self.run.trial.layout.labels
        named = ", ".join(f"{number} {label}" for number, label in enumerate(labels, 1))
        digits = " and ".join(str(number + 1) for number in range(len(labels)))
        self._terminal.say(f"{named}. Listen with {digits}; = goes on to the questions.")

    def _answer(self, text: str) -> None:
        """Judge an answer, keep it, say so, and put the next question."""
        if self.run.phase == "demonstration":
            self.run = leave_demonstration(self.run)
            self._open_next()
            return
        if self._keep_mark(text):
            return
        text = "; ".join(self._marks) if self._marks else text
        world = self._world
        response_s = world.clock.monotonic_s() - self._asked_s
        unheard = world.player.take_interruptions() > 0 or world.lost_sound(self.run.setup)
        answered, stored = answer_trial(self.run, text, response_s, world.clock.now(), unheard)
        world.store.keep(stored)
        self.run = self._answered = answered
        sound_answer(answered.outcomes[-1].correct if shows_answer(answered) else None, world)
        self._terminal.tell(self._describe_event("answer"))
        assert answered.trial is not None
        kept = "Kept." if stored.scored else "Kept, but the sound was interrupted: it does not count."
        shown = f"{describe_answer(answered)} {describe_effect(answered.trial)} " if shows_answer(answered) else ""
        self._terminal.say(shown + kept)
        self.run = go_on(answered)
        if self.run.phase != "finished":
            self._offer_end()
            self._open_next()

    def _offer_end(self) -> None:
        """Offer to end here where not even the largest amount is told; nobody is made to."""
        if misses_largest(self.run):
            self._terminal.say(f"{say_lost(self.run)} Type end to end here, or go on.")

    def _end_early(self) -> None:
        """End a run at what has been answered, where that is offered."""
        if not misses_largest(self.run):
            raise BadValue("input", "line", "end", "much guessing at the largest amount first; q stops at any time")
        self.run = end_early(self.run)

    def _keep_mark(self, text: str) -> bool:
        """Keep a mark of a pass until all are there; tells whether there is more to come."""
        if not takes_marks(self.run) or text.strip().lower() in ("", "done", "none"):
            return False
        self._marks.append(read_one_mark(self.run, text))
        self._terminal.say(f"{len(self._marks)} marked.")
        return True

    def _listen(self, text: str) -> None:
        """Play a version of the trial that is open."""
        trial = self.run.trial
        count = 0 if trial is None else trial.numbered
        if trial is None or not 1 <= int(text) <= count:
            raise BadValue("input", "version", text, f"1 to {count}")
        self._load(self.run)
        self._world.player.select(trial.layout.find_sound(int(text), self._control))
        self._world.player.play()
        self._terminal.say(f"Playing {text}.")

    def _move_control(self, step: int) -> None:
        """Move a question's control, and let it be heard."""
        trial = self.run.trial
        if trial is None or not trial.layout.control:
            raise BadValue("input", "line", "+" if step > 0 else "-", "a question with a control")
        self._control = min(max(self._control + step, 0), len(trial.layout.control) - 1)
        self._listen(str(trial.numbered))
        unit = trial.layout.control_unit or self.run.drill.amount.unit
        self._terminal.say(f"Control at {write_amount(trial.layout.control[self._control])} {unit}.")

    def _pause_or_go_on(self) -> None:
        """Pause, or go on, and say which."""
        player = self._world.player
        if player.position().playing:
            player.pause()
            self._terminal.say("Paused.")
        else:
            player.play()
            self._terminal.say("Playing.")

    def _change_hearing(self, word: str) -> None:
        """Switch an aid to hearing on or off; never while the sounds of a question are in the player."""
        if not self._may_change_hearing():
            raise BadValue("input", "line", word, "an example, or d first; a question is heard as it is")
        self._how = change(self._how, next(aid for aid in AIDS if aid == word))
        self._world.player.hear(self._how)
        self._terminal.say(say_aids(list_aids(self._how)))

    def _choose_tone(self, name: str) -> None:
        """Choose what sounds after each answer, from now on."""
        choice = next(each for each in CHOICES if each == name)
        write_choice(self._world.store, choice)
        self._terminal.say(say_choice(choice))

    def _play_change(self) -> None:
        """Play only what changed, in the trial answered last."""
        answered = self._answered
        if answered is None or answered.trial is None:
            raise BadValue("input", "line", "d", "an answer first; it plays only what changed")
        self._load(answered)
        self._world.player.select(len(answered.trial.versions))
        self._world.player.play()
        self._terminal.say(
            f"Playing only what changed in trial {answered.index + 1}. {describe_change(answered.trial)}"
        )

    def _show_receipt(self) -> None:
        """Say what was asked and measured in the trial answered last."""
        if self._answered is None or self._answered.trial is None:
            raise BadValue("input", "line", "r", "an answer first; it shows the receipt")
        for row in list_receipt(self._answered.trial, self._answered.name):
            asked = f"asked {row.asked}, " if row.asked else ""
            measured = f"measured {row.measured}" if row.measured else "set"
            self._terminal.say(f"{row.name}: {asked}{measured}")

    def _load(self, run: Run) -> None:
        """Put a trial's sounds into the player, unless they are there."""
        if run.trial is None or (self._loaded is not None and self._loaded.trial is run.trial):
            return
        self._world.player.load(run.trial.sounds, run.trial.rate_hz)
        self._world.player.play()
        self._world.player.take_interruptions()
        self._loaded, self._how = run, AS_IT_IS

    def _describe_event(self, event: str) -> dict[str, Any]:
        """Describe a question or an answer as an object."""
        run = self.run
        assert run.trial is not None
        facts: dict[str, Any] = {
            "event": event,
            "trial": run.name,
            "index": run.index,
            "question": run.drill.question,
            "answers": list(run.trial.answers),
            "amount": run.trial.spec.amount,
        }
        if event == "answer":
            outcome = run.outcomes[-1]
            facts |= {
                "answer": outcome.answer,
                "right_answer": outcome.right_answer,
                "correct": outcome.correct,
                "score": outcome.grade.score,
                "error": outcome.grade.error,
                "kept": True,
                "scored": outcome.scored,
            }
        return facts

    def _stop(self) -> None:
        """Say what the run tells."""
        done = len(self.run.outcomes)
        self._terminal.tell({"event": "stop", "answered": done, "complete": done == self._planned})
        self._terminal.say(self._word_end(done))
        if done:
            self._terminal.say(describe_result(self.run))
            for sentence in describe_run(self.run):
                self._terminal.say(sentence)

    def _word_end(self, done: int) -> str:
        """Say how a run ended, and that what was answered is kept."""
        if done == self._planned:
            return "That was the last trial."
        kept = "all of them are kept" if done else "nothing was answered"
        ended = "Ended" if self.run.phase == "finished" else "Stopped"
        return f"{ended} after {done} of {self._planned} trials; {kept}."

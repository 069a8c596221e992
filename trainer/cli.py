"""The command line: arguments become calls."""

from __future__ import annotations

import argparse
import io
import json
import logging
import os
import sys
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from trainer import __version__
from trainer.app.arguments import (
    add_bounce,
    add_check,
    add_decide,
    add_drill,
    add_history,
    add_out,
    add_render,
    add_setup,
    add_simulate,
    add_weigh,
)
from trainer.app.parsing import Parser
from trainer.app.world import Conditions, DrillWish
from trainer.errors import BadValue, EvenhandError
from trainer.files.folders import choose_data_folder

DONE, ANSWERED_NO, BAD_INPUT, UNEXPECTED = 0, 1, 2, 3
# 128 and the number of the signal, as a shell tells an interrupt (POSIX: a signal ends with more than 128).
INTERRUPTED = 130
STOPPED = "Stopped. Everything answered is kept."
LOG_NAME = "evenhand.log"
LONGEST_NAME = 40


def main(arguments: Sequence[str] | None = None) -> int:
    """Carry a command out.

    Returns
    -------
    int
        0 done; 1 the answer is no; 2 bad input, one line on standard error; 3 an unexpected error, one line with the
        log's path.
    """
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8", errors="replace")
    with _quiet_libraries():
        return _carry_out(arguments)


def _carry_out(arguments: Sequence[str] | None) -> int:
    """Carry a command out; every error becomes one line and a status."""
    data = None
    try:
        options = build_parser().parse_args(arguments)
        data = getattr(options, "data", None)
        warnings.simplefilter("ignore")
        run: Callable[[argparse.Namespace], int | None] = getattr(options, "run", _run_window)
        return run(options) or DONE
    except EvenhandError as error:
        print(str(error), file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        # The reader has gone, as with `| head`: nothing is left to say, not even at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except KeyboardInterrupt as error:
        if not getattr(error, "said", False):
            print(STOPPED, file=sys.stderr)
        return INTERRUPTED
    except Exception as error:  # the last resort: a line for the person, the details for a log
        print(f"evenhand: {type(error).__name__}, details in {_log(data)}", file=sys.stderr)
        return UNEXPECTED


@contextmanager
def _quiet_libraries() -> Iterator[None]:
    """Keep the sound and display libraries' own messages, written past Python, off standard error."""
    try:
        ours = os.dup(2)
    except OSError:  # started without a standard error, as from a desktop's menu
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    python_stderr, sys.stderr = sys.stderr, os.fdopen(ours, "w", encoding="utf-8", errors="replace", buffering=1)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        sys.stderr.flush()
        os.dup2(ours, 2)
        sys.stderr.close()
        sys.stderr = python_stderr
        os.close(nowhere)


def build_parser() -> Parser:
    """Build the parser of all commands."""
    common = Parser(add_help=False, argument_default=argparse.SUPPRESS)
    common.add_argument("--data", metavar="DIR", help="folder with all state (or EVENHAND_DATA)")
    common.add_argument("--setup", metavar="NAME", help="listening set-up, such as headphones")
    parser = Parser(prog="evenhand", description="Ear training and guided decisions for mastering.", parents=[common])
    parser.add_argument("--version", action="version", version=f"evenhand {__version__}")
    commands = parser.add_subparsers(metavar="COMMAND")

    def add(name: str, run: Callable[[argparse.Namespace], int | None], words: str) -> argparse.ArgumentParser:
        command = commands.add_parser(name, parents=[common], help=words, description=words)
        command.set_defaults(run=run)
        return command

    add_drill(add("drill", _run_drill, "run a drill, or today's plan"))
    add_render(add("render", _run_render, "write the trials of a drill to files, with their receipt"))
    replay = add("replay", _run_replay, "write a trial of the history to files again")
    replay.add_argument("trial", metavar="TRIAL", help="its name on the receipt, or its identifier")
    add_out(replay)
    listing = add("list", _run_list, "list what there is")
    listing.add_argument("thing", choices=("drills", "moves", "forms", "skills", "targets"), help="what to list")
    progress = add("progress", _run_progress, "show where the ear stands")
    progress.add_argument("--csv", metavar="FILE", help="write a line for every skill and day of practice as well")
    progress.add_argument("--picture", metavar="FILE", help="draw all thresholds to a file, .svg or .png")
    progress.add_argument("--force", action="store_true", help="overwrite what is there")
    add_setup(add("setup", _run_setup, "list, add or use a listening set-up"))
    add_history(add("history", _run_history, "carry the history between computers"))
    doctor = add("doctor", _run_doctor, "examine sound, folders and fonts")
    doctor.add_argument("--tone", action="store_true", help="play a quiet test tone of 3 s")
    measure = add("measure", _run_measure, "measure files: loudness, peaks, spectrum, sides, form")
    check = add("check", _run_check, "measure files, look for faults, and judge them against a delivery target")
    add_check(check)
    weigh = add("weigh", _run_weigh, "bring bounces of one song into step and to one loudness, and compare them")
    add_weigh(weigh)
    add_decide(add("decide", _run_decide, "lead a mix through six steps to a decision sheet and a checked master"))
    bounce = add("bounce", _run_bounce, "render the kept moves of a decision sheet to a master, and check it")
    add_bounce(bounce)
    simulation = add("simulate", _run_simulate, "let simulated listeners with known ears practise a drill")
    add_simulate(simulation)
    for command in (measure, check, weigh):
        command.add_argument("files", nargs="+", metavar="FILE", help="sound files, mono or stereo")
    for command in (listing, progress, doctor, measure, check, weigh, bounce, simulation):
        command.add_argument("--json", action="store_true", help="as one JSON value")
    return parser


def _conditions(options: argparse.Namespace) -> Conditions:
    data = getattr(options, "data", None) or os.environ.get("EVENHAND_DATA")
    setup = getattr(options, "setup", None)
    if setup is not None:
        _check_setup(setup, "--setup")
    return Conditions(data, setup)


def _check_setup(name: str, where: str) -> str:
    """Refuse what is no name for a set-up."""
    if not (1 <= len(name) <= LONGEST_NAME and name.isprintable() and name.strip()):
        raise BadValue("evenhand", where, name or "nothing", f"a name of 1 to {LONGEST_NAME} characters")
    return name


def _run_window(options: argparse.Namespace) -> None:
    from trainer.app.window_face import run_window

    run_window(_conditions(options), DrillWish())


def _run_drill(options: argparse.Namespace) -> None:
    wish = DrillWish(options.drill, options.audio, options.trials, options.seed, options.silent)
    if options.text or options.json:
        from trainer.app.text_face import run_text

        run_text(_conditions(options), wish, options.json)
    else:
        from trainer.app.window_face import run_window

        run_window(_conditions(options), wish)


def _run_render(options: argparse.Namespace) -> None:
    from trainer.app.rendering import RenderWish, render_drill

    wish = RenderWish(
        options.drill, options.out, options.seed, options.trials, options.audio, options.amount, options.force
    )
    print(render_drill(_conditions(options), wish))


def _run_replay(options: argparse.Namespace) -> None:
    from trainer.app.rendering import replay_trial

    print(replay_trial(_conditions(options), options.trial, options.out, options.force))


def _run_list(options: argparse.Namespace) -> None:
    from trainer.app.listing import list_things, word_things

    things = list_things(_conditions(options), options.thing)
    _print(things, word_things(things), options.json)


def _run_progress(options: argparse.Namespace) -> None:
    from trainer.app.listing import read_progress
    from trainer.session.progress import word_progress

    summary = read_progress(_conditions(options))
    if options.csv:
        from trainer.app.listing import write_days

        write_days(_conditions(options), options.csv, options.force)
    if options.picture:
        from trainer.app.picturing import write_picture

        note = write_picture(_conditions(options), options.picture, options.force)
        print(note, file=sys.stderr if options.json else sys.stdout)
    _print(summary, word_progress(summary), options.json)


def _run_setup(options: argparse.Namespace) -> None:
    from trainer.app.setups import add_setup, list_setups, use_setup, word_setups

    conditions = _conditions(options)
    if options.what == "list":
        setups = list_setups(conditions)
        _print(setups, word_setups(setups), options.json)
        return
    name = _check_setup(options.name or "", "setup name")
    print(add_setup(conditions, name) if options.what == "add" else use_setup(conditions, name))


def _run_history(options: argparse.Namespace) -> None:
    from trainer.app.histories import export_history, merge_history

    conditions = _conditions(options)
    if options.what == "export":
        print(export_history(conditions, options.file, options.force))
    else:
        print(merge_history(conditions, options.file))


def _run_doctor(options: argparse.Namespace) -> None:
    from trainer.app.doctor import examine, word_examination

    facts = examine(_conditions(options), options.tone)
    _print(facts, word_examination(facts), options.json)


def _run_simulate(options: argparse.Namespace) -> None:
    from trainer.app.simulating import SimulationWish, simulate_drill, word_simulation

    wish = SimulationWish(
        options.drill,
        options.threshold,
        options.slope,
        options.lapse,
        options.trials,
        options.days,
        options.listeners,
        options.seed,
    )
    found = simulate_drill(_conditions(options), wish)
    _print(found, word_simulation(found), options.json)


def _run_measure(options: argparse.Namespace) -> int:
    from trainer.app.measuring import measure_files
    from trainer.decisions.facts import word_facts

    return _report(measure_files(options.files), word_facts, options.json)[1]


def _run_check(options: argparse.Namespace) -> int:
    from trainer.app.checking import CheckWish, check_files
    from trainer.decisions.check_words import word_check
    from trainer.files.coding import code_clip

    coding = None if options.no_coding else code_clip
    wish = CheckWish(options.files, options.target, options.page, options.force)
    found, status = _report(check_files(_conditions(options), wish, coding), word_check, options.json)
    return status or (ANSWERED_NO if any(facts["verdict"] == "fail" for facts in found) else DONE)


def _run_weigh(options: argparse.Namespace) -> int:
    from trainer.decisions.beam import BeamJob

    conditions = _conditions(options)
    if options.text or options.window:
        job = BeamJob(tuple(options.files), options.start, options.length)
        if options.window:
            from trainer.app.window_face import open_opening
            from trainer.session.program import Opening

            open_opening(conditions, Opening(bounces=job))
            return DONE
        from trainer.app.text_face import weigh_in_text

        return BAD_INPUT if weigh_in_text(conditions, job, options.json, options.silent) else DONE
    facts, lines, errors = _weigh(options, conditions)
    for error in errors:
        print(str(error), file=sys.stderr)
    if facts is not None:
        _print(facts, lines, options.json)
    return BAD_INPUT if errors else DONE


def _weigh(
    options: argparse.Namespace, conditions: Conditions
) -> tuple[dict[str, Any] | None, Sequence[str], Sequence[EvenhandError]]:
    """Compare bounces by measurement, or check the versions of one master."""
    if options.versions:
        from trainer.app.version_checking import check_version_files
        from trainer.decisions.version_check_words import word_version_check

        checked = check_version_files(options.files)
        return checked.facts, word_version_check(checked.facts) if checked.facts else (), checked.errors
    from trainer.app.weighing import WeighWish, weigh_files
    from trainer.decisions.weighing import StretchWish
    from trainer.decisions.weighing_words import word_weighing

    stretch = StretchWish(options.start, options.length)
    wish = WeighWish(options.files, stretch, options.out, options.force, options.page, conditions.data)
    weighed = weigh_files(wish)
    return weighed.facts, word_weighing(weighed.facts) if weighed.facts else (), weighed.errors


def _run_decide(options: argparse.Namespace) -> None:
    from trainer.session.program import Opening

    opening = Opening(mix=options.mix, project=options.project, references=tuple(options.reference))
    if options.text or options.json:
        from trainer.app.text_face import decide_in_text

        decide_in_text(_conditions(options), opening, options.json, options.silent)
    else:
        from trainer.app.window_face import open_opening

        open_opening(_conditions(options), opening)


def _run_bounce(options: argparse.Namespace) -> int:
    from trainer.app.bounce_passes import Watch
    from trainer.app.bouncing import BounceWish, bounce_file, list_bounce, word_result
    from trainer.decisions.bounce import Stopped
    from trainer.files.coding import code_clip

    wish = BounceWish(options.out, options.rate, options.bit_depth, options.mix, options.force)
    watch = Watch(_show_progress) if sys.stderr.isatty() else None
    try:
        result = bounce_file(_conditions(options), options.sheet, wish, code_clip, watch)
    except KeyboardInterrupt:
        raise Stopped from None
    finally:
        if watch is not None:
            print(file=sys.stderr)
    _print(list_bounce(result), word_result(result), options.json)
    return ANSWERED_NO if result.failed else DONE


def _show_progress(fraction: float, words: str) -> None:
    """Show how far it is, on one line that is written over."""
    print(f"\r{100 * fraction:3.0f} %  {words:<24}", end="\r", file=sys.stderr, flush=True)


def _report(
    answers: Iterable[dict[str, Any] | EvenhandError], word: Callable[[dict[str, Any]], list[str]], as_json: bool
) -> tuple[list[dict[str, Any]], int]:
    """Print what was found of several files, and a line for each that could not be read."""
    found, status = [], DONE
    for answer in answers:
        if isinstance(answer, EvenhandError):
            print(str(answer), file=sys.stderr)
            status = BAD_INPUT
            continue
        found.append(answer)
        if not as_json:
            print("\n".join(word(answer)))
    if as_json and found:
        _print(found, (), True)
    return found, status


def _print(value: Any, lines: Sequence[str], as_json: bool) -> None:
    """Print a value as JSON or in words."""
    print(json.dumps(value, indent=2, ensure_ascii=False) if as_json else "\n".join(lines))


def _log(data: str | None) -> Path:
    """Write the error that is being handled to the log; gives its path."""
    path = choose_data_folder(data or os.environ.get("EVENHAND_DATA")) / LOG_NAME
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        logging.basicConfig(filename=path, format="%(asctime)s %(message)s")
        logging.exception("unexpected")
    except OSError:
        return Path(os.devnull)
    return path

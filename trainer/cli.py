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
from typing import Any, NoReturn

from trainer import __version__
from trainer.app.world import Conditions, DrillWish
from trainer.errors import BadValue, EvenhandError
from trainer.files.folders import choose_data_folder

DONE, ANSWERED_NO, BAD_INPUT, UNEXPECTED = 0, 1, 2, 3
LOG_NAME = "evenhand.log"
MOST_TRIALS = 1000
LONGEST_NAME = 40


class Parser(argparse.ArgumentParser):
    """A parser whose complaint is one line."""

    def error(self, message: str) -> NoReturn:
        """Refuse the arguments."""
        raise BadValue("evenhand", "arguments", " ".join(sys.argv[1:]) or "none", f"other ones: {message}; see --help")


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
    except KeyboardInterrupt:
        return DONE
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

    _add_drill(add("drill", _run_drill, "run a drill, or today's plan"))
    _add_render(add("render", _run_render, "write the trials of a drill to files, with their receipt"))
    replay = add("replay", _run_replay, "write a trial of the history to files again")
    replay.add_argument("trial", metavar="TRIAL", help="its name on the receipt, or its identifier")
    _add_out(replay)
    listing = add("list", _run_list, "list what there is")
    listing.add_argument("thing", choices=("drills", "moves", "forms", "skills", "targets"), help="what to list")
    progress = add("progress", _run_progress, "show where the ear stands")
    progress.add_argument("--csv", metavar="FILE", help="write a line for every skill and day of practice as well")
    progress.add_argument("--force", action="store_true", help="overwrite what is there")
    _add_setup(add("setup", _run_setup, "list, add or use a listening set-up"))
    _add_history(add("history", _run_history, "carry the history between computers"))
    doctor = add("doctor", _run_doctor, "examine sound, folders and fonts")
    doctor.add_argument("--tone", action="store_true", help="play a quiet test tone of 3 s")
    measure = add("measure", _run_measure, "measure files: loudness, peaks, spectrum, sides, form")
    check = add("check", _run_check, "measure files, look for faults, and judge them against a delivery target")
    _add_check(check)
    weigh = add("weigh", _run_weigh, "bring bounces of one song into step and to one loudness, and compare them")
    _add_weigh(weigh)
    simulation = add("simulate", _run_simulate, "let simulated listeners with known ears practise a drill")
    _add_simulate(simulation)
    for command in (measure, check, weigh):
        command.add_argument("files", nargs="+", metavar="FILE", help="sound files, mono or stereo")
    for command in (listing, progress, doctor, measure, check, weigh, simulation):
        command.add_argument("--json", action="store_true", help="as one JSON value")
    return parser


def _add_setup(command: argparse.ArgumentParser) -> None:
    command.add_argument("what", choices=("list", "add", "use"), help="what to do")
    command.add_argument("name", nargs="?", metavar="NAME", help="of the set-up, for add and use")
    command.add_argument("--json", action="store_true", help="as one JSON value, for list")


def _add_history(command: argparse.ArgumentParser) -> None:
    command.add_argument("what", choices=("export", "merge"), help="what to do")
    command.add_argument("file", metavar="FILE", help="written, or taken in; merging twice changes nothing")
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def _add_drill(command: argparse.ArgumentParser) -> None:
    command.add_argument("drill", nargs="?", metavar="DRILL", help="its name; without it, today's plan")
    command.add_argument("--text", action="store_true", help="in the terminal")
    command.add_argument("--audio", metavar="FILE", help="your own mix instead of the bundled music")
    command.add_argument("--trials", type=_count, metavar="N", help="exactly so many trials, no examples")
    command.add_argument("--seed", type=_seed, metavar="S", help="for the same places and orders again")
    command.add_argument("--silent", action="store_true", help="without sound; kept apart from all thresholds")
    command.add_argument("--json", action="store_true", help="one JSON object a line; means --text")


def _add_check(command: argparse.ArgumentParser) -> None:
    command.add_argument("--target", metavar="NAME", help="a delivery target, as `list targets` names it")
    command.add_argument("--page", metavar="FILE.html", help="write a page with pictures as well; of one file")
    command.add_argument("--no-coding", action="store_true", help="leave out what lossy coding does to the peaks")
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def _add_weigh(command: argparse.ArgumentParser) -> None:
    command.add_argument("--start", type=float, metavar="S", help="begin there, s in the first file; else the loudest")
    command.add_argument("--length", type=float, metavar="S", help="length of the stretch, 4 to 60 s; 8 if not given")
    command.add_argument("--out", metavar="DIR", help="folder for the matched copies of the stretch")
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def _add_render(command: argparse.ArgumentParser) -> None:
    command.add_argument("drill", metavar="DRILL", help="its name")
    command.add_argument("--seed", type=_seed, default=1, metavar="S", help="1 if not given")
    command.add_argument("--trials", type=_count, default=1, metavar="N", help="1 if not given")
    command.add_argument("--audio", metavar="FILE", help="your own mix instead of the bundled music")
    command.add_argument("--amount", type=float, metavar="X", help="in the drill's unit")
    _add_out(command)


def _add_simulate(command: argparse.ArgumentParser) -> None:
    command.add_argument("drill", metavar="DRILL", help="its name")
    command.add_argument("--threshold", type=float, required=True, metavar="X", help="amount where d' is 1.5")
    command.add_argument("--slope", type=float, default=1.3, metavar="B", help="exponent of d'; 1.3 if not given")
    command.add_argument("--lapse", type=float, default=0.02, metavar="L", help="share of slips; 0.02 if not given")
    command.add_argument("--trials", type=_count, default=30, metavar="N", help="answers a day; 30 if not given")
    command.add_argument("--days", type=_count, default=1, metavar="D", help="days; 1 if not given")
    command.add_argument("--listeners", type=_count, default=20, metavar="K", help="how many; 20 if not given")
    command.add_argument("--seed", type=_seed, default=1, metavar="S", help="1 if not given")


def _add_out(command: argparse.ArgumentParser) -> None:
    command.add_argument("--out", required=True, metavar="DIR", help="folder for the files")
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def _count(text: str) -> int:
    """Read a number of trials."""
    if not text.isdigit() or not 1 <= int(text) <= MOST_TRIALS:
        raise BadValue("evenhand", "--trials", text, f"a whole number, 1 to {MOST_TRIALS}")
    return int(text)


def _seed(text: str) -> int:
    """Read a seed."""
    if not text.isdigit() or int(text) >= 2**31:
        raise BadValue("evenhand", "--seed", text, "a whole number, 0 to 2147483647")
    return int(text)


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
    from trainer.app.faces import run_window

    run_window(_conditions(options), DrillWish())


def _run_drill(options: argparse.Namespace) -> None:
    from trainer.app.faces import run_text, run_window

    wish = DrillWish(options.drill, options.audio, options.trials, options.seed, options.silent)
    if options.text or options.json:
        run_text(_conditions(options), wish, options.json)
    else:
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
    from trainer.app.weighing import WeighWish, weigh_files
    from trainer.decisions.weighing import StretchWish
    from trainer.decisions.weighing_words import word_weighing

    stretch = StretchWish(options.start, options.length)
    weighed = weigh_files(WeighWish(options.files, stretch, options.out, options.force))
    for error in weighed.errors:
        print(str(error), file=sys.stderr)
    if weighed.facts is not None:
        _print(weighed.facts, word_weighing(weighed.facts), options.json)
    return BAD_INPUT if weighed.errors else DONE


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

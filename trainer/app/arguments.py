"""What the commands take: their arguments and options."""

from __future__ import annotations

import argparse

from trainer.errors import BadValue

MOST_TRIALS = 1000


def add_setup(command: argparse.ArgumentParser) -> None:
    """Add what `setup` takes."""
    command.add_argument("what", choices=("list", "add", "use"), help="what to do")
    command.add_argument("name", nargs="?", metavar="NAME", help="of the set-up, for add and use")
    command.add_argument("--json", action="store_true", help="as one JSON value, for list")


def add_history(command: argparse.ArgumentParser) -> None:
    """Add what `history` takes."""
    command.add_argument("what", choices=("export", "merge"), help="what to do")
    command.add_argument("file", metavar="FILE", help="written, or taken in; merging twice changes nothing")
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def add_drill(command: argparse.ArgumentParser) -> None:
    """Add what `drill` takes."""
    command.add_argument("drill", nargs="?", metavar="DRILL", help="its name; without it, today's plan")
    command.add_argument("--text", action="store_true", help="in the terminal")
    command.add_argument("--audio", metavar="FILE", help="your own mix instead of the bundled music")
    command.add_argument("--trials", type=read_count, metavar="N", help="exactly so many trials, no examples")
    command.add_argument("--seed", type=read_seed, metavar="S", help="for the same places and orders again")
    command.add_argument("--silent", action="store_true", help="without sound; kept apart from all thresholds")
    command.add_argument("--json", action="store_true", help="one JSON object a line; means --text")


def add_weigh(command: argparse.ArgumentParser) -> None:
    """Add what `weigh` takes."""
    command.add_argument("--text", action="store_true", help="compare them blind, in the terminal")
    command.add_argument("--window", action="store_true", help="compare them blind, in the window")
    command.add_argument("--silent", action="store_true", help="with --text: without sound; kept apart")
    command.add_argument("--start", type=float, metavar="S", help="begin there, s in the first file; else the loudest")
    command.add_argument("--length", type=float, metavar="S", help="length of the stretch, 4 to 60 s; 8 if not given")
    command.add_argument("--out", metavar="DIR", help="folder for the matched copies of the stretch")
    command.add_argument("--page", metavar="FILE.html", help="write all that is known of them as a page")
    versions = "check an instrumental, clean or a cappella version against the first file: gain, length, sync"
    command.add_argument("--versions", action="store_true", help=versions)
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def add_decide(command: argparse.ArgumentParser) -> None:
    """Add what `decide` takes."""
    command.add_argument("mix", metavar="MIX", help="a finished mix; it is read, never changed")
    command.add_argument("--project", default="", metavar="NAME", help="of the project; the file's name if not given")
    command.add_argument("--reference", action="append", default=[], metavar="FILE", help="a song to set beside it")
    command.add_argument("--text", action="store_true", help="in the terminal")
    command.add_argument("--silent", action="store_true", help="with --text: without sound; kept apart")
    command.add_argument("--json", action="store_true", help="one JSON object a line; means --text")


def add_check(command: argparse.ArgumentParser) -> None:
    """Add what `check` takes."""
    command.add_argument("--target", metavar="NAME", help="a delivery target, as `list targets` names it")
    command.add_argument("--page", metavar="FILE.html", help="write a page with pictures as well; of one file")
    command.add_argument("--no-coding", action="store_true", help="leave out what lossy coding does to the peaks")
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def add_render(command: argparse.ArgumentParser) -> None:
    """Add what `render` takes."""
    command.add_argument("drill", metavar="DRILL", help="its name")
    command.add_argument("--seed", type=read_seed, default=1, metavar="S", help="1 if not given")
    command.add_argument("--trials", type=read_count, default=1, metavar="N", help="1 if not given")
    command.add_argument("--audio", metavar="FILE", help="your own mix instead of the bundled music")
    command.add_argument("--amount", type=float, metavar="X", help="in the drill's unit")
    add_out(command)


def add_simulate(command: argparse.ArgumentParser) -> None:
    """Add what `simulate` takes."""
    command.add_argument("drill", metavar="DRILL", help="its name")
    command.add_argument("--threshold", type=float, required=True, metavar="X", help="amount where d' is 1.5")
    command.add_argument("--slope", type=float, default=1.3, metavar="B", help="exponent of d'; 1.3 if not given")
    command.add_argument("--lapse", type=float, default=0.02, metavar="L", help="share of slips; 0.02 if not given")
    command.add_argument("--trials", type=read_count, default=30, metavar="N", help="answers a day; 30 if not given")
    command.add_argument("--days", type=read_count, default=1, metavar="D", help="days; 1 if not given")
    command.add_argument("--listeners", type=read_count, default=20, metavar="K", help="how many; 20 if not given")
    command.add_argument("--seed", type=read_seed, default=1, metavar="S", help="1 if not given")


def add_bounce(command: argparse.ArgumentParser) -> None:
    """Add what `bounce` takes."""
    command.add_argument("sheet", metavar="SHEET", help="a decision sheet")
    command.add_argument("--out", required=True, metavar="FILE", help="the master: .wav or .flac")
    command.add_argument("--bit-depth", type=read_depth, metavar="N", help="16, 24 or 32 (floating point, WAV only)")
    command.add_argument("--rate", type=read_rate, metavar="HZ", help="another rate than the sheet's")
    command.add_argument(
        "--mix", metavar="FILE", help="where the mix lies now, or an instrumental or clean version of it"
    )
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def add_out(command: argparse.ArgumentParser) -> None:
    """Add a folder for files."""
    command.add_argument("--out", required=True, metavar="DIR", help="folder for the files")
    command.add_argument("--force", action="store_true", help="overwrite what is there")


def read_count(text: str) -> int:
    """Read a number of trials."""
    if not text.isdigit() or not 1 <= int(text) <= MOST_TRIALS:
        raise BadValue("evenhand", "--trials", text, f"a whole number, 1 to {MOST_TRIALS}")
    return int(text)


def read_seed(text: str) -> int:
    """Read a seed."""
    if not text.isdigit() or int(text) >= 2**31:
        raise BadValue("evenhand", "--seed", text, "a whole number, 0 to 2147483647")
    return int(text)


def read_depth(text: str) -> int:
    """Read a word length."""
    from trainer.decisions.sheet import BIT_DEPTHS

    return _read_one_of("--bit-depth", text, BIT_DEPTHS)


def read_rate(text: str) -> int:
    """Read a sampling rate."""
    from trainer.decisions.sheet import RATES_HZ

    return _read_one_of("--rate", text, RATES_HZ)


def _read_one_of(option: str, text: str, allowed: tuple[int, ...]) -> int:
    if text not in map(str, allowed):
        raise BadValue("evenhand", option, text, f"one of {', '.join(map(str, allowed))}")
    return int(text)

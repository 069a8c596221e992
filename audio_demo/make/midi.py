"""Write notes as a standard MIDI file (format 0), for a synthesiser that reads nothing else."""

from __future__ import annotations

import struct
from collections.abc import Sequence

from .score import Note

# At MIDI's default tempo of half a second per quarter note this is 19 200 ticks a second.
_TICKS_PER_QUARTER = 9600
_TICKS_PER_S = 2 * _TICKS_PER_QUARTER
_BEND_RANGE_CENTS = 200.0
DRUM_CHANNEL = 9


def _variable_length(value: int) -> bytes:
    """Encode a delta time in MIDI's seven-bit groups."""
    groups = [value & 0x7F]
    while value := value >> 7:
        groups.append(0x80 | value & 0x7F)
    return bytes(reversed(groups))


def _ticks(time_s: float) -> int:
    return round(time_s * _TICKS_PER_S)


def midi_bytes(notes: Sequence[Note], *, program: int, drums: bool, cents: float, end_s: float) -> bytes:
    """Return a MIDI file that plays the notes on one channel.

    Parameters
    ----------
    notes : sequence of Note
        In any order.
    program : int
        0–127, the General MIDI instrument, or the drum kit when ``drums`` is set.
    drums : bool
        Play on the drum channel.
    cents : float
        −200–200, fixed detuning of the part.
    end_s : float
        Time of the end of the track in seconds, so that the last notes can ring.
    """
    channel = DRUM_CHANNEL if drums else 0
    bend = round(8192 + 8191 * cents / _BEND_RANGE_CENTS)
    events: list[tuple[int, int, bytes]] = [
        (0, 0, bytes([0xC0 | channel, program])),
        (0, 1, bytes([0xE0 | channel, bend & 0x7F, bend >> 7])),
    ]
    for note in notes:
        on, off = _ticks(note.start_s), _ticks(note.start_s + note.length_s)
        # At one tick an ending note comes first, or a repeated key would be cut at once.
        events.append((on, 3, bytes([0x90 | channel, note.key, note.velocity])))
        events.append((max(off, on + 1), 2, bytes([0x80 | channel, note.key, 0])))
    track, now = bytearray(), 0
    for tick, _, message in sorted(events):
        track += _variable_length(tick - now) + message
        now = tick
    track += _variable_length(max(0, _ticks(end_s) - now)) + b"\xff\x2f\x00"
    header = b"MThd" + struct.pack(">IHHH", 6, 0, 1, _TICKS_PER_QUARTER)
    return header + b"MTrk" + struct.pack(">I", len(track)) + bytes(track)

"""A free soundfont in place of our models of strings: Debian's fluidsynth with fluid-soundfont-gm (FluidR3,
MIT). Each string is played by itself, since a soundfont knows no strings."""

import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile
import wave

import numpy as np
from guitar import STRINGS
from hands import velocity
from sounds import RATE, length

FONT = pathlib.Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
# General MIDI's guitar with nylon strings.
PROGRAM = 24
# Ticks of a quarter that lasts half a second.
TICKS = 5_000


def render(strokes):
    if not shutil.which("fluidsynth") or not FONT.exists():
        sys.exit("--sound soundfont needs fluidsynth and fluid-soundfont-gm")
    total = length(strokes)
    rows = [_string([s for s in strokes if s.string == string], total) for string in STRINGS]
    return np.array(rows)


def _string(strokes, total):
    row = np.zeros(total)
    if not strokes:
        return row
    with tempfile.TemporaryDirectory() as folder:
        score, sound = pathlib.Path(folder, "string.mid"), pathlib.Path(folder, "string.wav")
        score.write_bytes(_file(strokes))
        call = ["fluidsynth", "-q", "-n", "-i", "-R", "0", "-C", "0", "-g", "0.7", "-r", str(RATE)]
        subprocess.run([*call, "-F", str(sound), str(FONT), str(score)], check=True, capture_output=True)
        with wave.open(str(sound)) as heard:
            samples = np.frombuffer(heard.readframes(heard.getnframes()), "<i2")
    left = samples[::2] / 32_768
    row[: min(total, len(left))] = left[:total]
    return row


def _file(strokes):
    """A Standard MIDI File of format 0."""
    events = [(0, 0, bytes((0xC0, PROGRAM)))]
    for stroke in strokes:
        begins, ends = (round(2 * TICKS * t) for t in (stroke.at, stroke.until))
        events.append((begins, 1, bytes((0x90, stroke.pitch, velocity(stroke.level)))))
        events.append((ends, 0, bytes((0x80, stroke.pitch, 64))))
    track, now = b"", 0
    for at, _, message in sorted(events):
        track += _delta(at - now) + message
        now = at
    track += b"\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, TICKS) + b"MTrk" + struct.pack(">I", len(track)) + track


def _delta(ticks):
    """A number in groups of seven bits, all but the last marked."""
    groups = [ticks & 0x7F]
    while ticks := ticks >> 7:
        groups.append(0x80 | ticks & 0x7F)
    return bytes(reversed(groups))

"""From sound to notes, a string at a time, in two ways; the listening in both is aubio's (GPL-3, Debian's
python3-aubio), which is a program under test here and part of nothing that we ship.

`notes` is aubio's own note tracker as it is. `joined` takes aubio's pitch and aubio's strokes, and says by
itself when a note begins and ends, as converters for guitars do: it waits for a pitch that settles, tells a
slur by the change of pitch, and lets nothing begin that is much softer than another string.

A note is dated when it is told, so how late it comes is the converter's own.
"""

from dataclasses import dataclass

import aubio
import numpy as np
from guitar import STRINGS
from pickup import hops_of, levels
from sounds import RATE

HOP = 128
# Windows for a pitch, in samples: two periods of the open string at least.
WINDOWS = {1: 256, 2: 256, 3: 320, 4: 384, 5: 512, 6: 640}
# The lowest and the highest note that a guitar has.
RANGE = range(38, 92)


@dataclass
class Sent:
    at: float
    until: float
    string: int
    pitch: int
    level: float = 0.0
    velocity: int = 1
    truth: str = ""
    # The written note that it stands for, and whether with its pitch.
    stands_for: int | None = None


def by_notes(row, string, setting, _):
    window, step = (512, setting.moves[0]) if string < 5 else (1024, setting.moves[1])
    held = 6 * (max(setting.moves) - step) / RATE if setting.evened else 0.0
    # It tells nothing up to MIDI note 45, which a guitar's lowest strings are. At twice the rate it hears
    # everything an octave higher and twice as fast.
    tracker = aubio.notes("default", window, step, 2 * RATE)
    tracker.set_silence(setting.silence)
    tracker.set_minioi_ms(1000 * setting.apart / 2)
    tracker.set_release_drop(setting.release)
    sent, open_note = [], None
    for hop in range(len(row) // step):
        pitch, _, over = tracker(row[hop * step : (hop + 1) * step])
        now = (hop + 1) * step / RATE + held
        heard = round(float(pitch)) - 12
        begins = heard in RANGE
        if open_note and (over or begins):
            open_note.until = now
            open_note = None
        if begins:
            open_note = Sent(now, len(row) / RATE, string, heard)
            sent.append(open_note)
    return sent


def joined(row, string, setting, loud):
    pitch_of = aubio.pitch("yinfast", WINDOWS[string], HOP, RATE)
    pitch_of.set_unit("midi")
    pitch_of.set_silence(setting.silence - 6)
    strokes = aubio.onset("hfc", 256, HOP, RATE)
    strokes.set_threshold(setting.stroke)
    strokes.set_silence(setting.silence)
    strokes.set_minioi_s(setting.apart)
    back = hops_of(0.03, HOP)
    sent, now_on, votes, struck = [], None, [], -99
    for hop, level in enumerate(loud):
        block = row[hop * HOP : (hop + 1) * HOP]
        if now_on is None and level < setting.silence - 12:
            votes = []
            continue
        now = (hop + 1) * HOP / RATE
        pitch = float(pitch_of(block)[0])
        sure = pitch_of.get_confidence() >= setting.sure and RANGE[0] - 1 < pitch < RANGE[-1]
        votes = (votes + [pitch if sure else None])[-setting.agree :]
        before = loud[max(0, hop - back) : hop]
        rose = level - (before.min() if len(before) else -120) >= setting.rise
        if strokes(block)[0] > 0 and (rose or now_on is None):
            struck, votes = hop, []
        if now_on and level < setting.silence - 4:
            now_on.until, now_on = now, None
        settled = _settled(votes, setting.agree)
        if settled is None or level < setting.silence:
            continue
        fresh = hop - struck < hops_of(0.12, HOP)
        # A note that goes on is not left for a pitch beside it that wavers.
        changed = now_on is None or abs(settled - now_on.pitch) > 0.6
        if fresh or changed:
            if now_on:
                now_on.until = now
            now_on = Sent(now, len(row) / RATE, string, round(settled))
            sent.append(now_on)
            struck = -99
    return sent


def _settled(votes, agree):
    """The pitch that the last votes agree on, within a third of a semitone; none if they do not."""
    if len(votes) < agree or any(vote is None for vote in votes):
        return None
    middle = float(np.median(votes))
    return middle if max(abs(vote - middle) for vote in votes) < 1 / 3 else None


TRACKERS = {"notes": by_notes, "joined": joined}


def convert(sound, tracker, setting):
    """What the converter sends, in order of time."""
    loud = levels(sound, HOP)
    sent = []
    for string in STRINGS:
        if loud[string - 1].max() > setting.silence - 12:
            sent += TRACKERS[tracker](sound[string - 1], string, setting, loud[string - 1])
    near = hops_of(0.02, HOP)
    kept = []
    for note in sorted(sent, key=lambda n: (n.at, n.pitch)):
        hop = round(note.at * RATE / HOP)
        around = loud[:, max(0, hop - near) : hop + near].max(axis=1)
        note.level = around[note.string - 1]
        if around.max() - note.level < setting.gate:
            kept.append(note)
    if kept:
        # What is loud of them comes near the velocity of an ideal stroke.
        loudest = np.percentile([note.level for note in kept], 90)
        for note in kept:
            note.velocity = int(np.clip(round(96 * 10 ** ((note.level - loudest) / 40)), 1, 127))
    return kept

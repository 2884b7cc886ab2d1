"""The instrument, and the two forms in which music lies here: as it is written, and as it is struck."""

from dataclasses import dataclass, replace

# Standard tuning, string 1 first, as MIDI note numbers.
OPEN = {1: 64, 2: 59, 3: 55, 4: 50, 5: 45, 6: 40}
STRINGS = tuple(OPEN)


def hertz(pitch):
    return 440.0 * 2.0 ** ((pitch - 69) / 12.0)


@dataclass(frozen=True)
class Written:
    """A note of an exercise; times in beats (quarter notes)."""

    beat: float
    length: float
    string: int
    fret: int
    slur: bool = False

    @property
    def pitch(self):
        return OPEN[self.string] + self.fret


@dataclass(frozen=True)
class Stroke:
    """A note as a hand makes it: seconds, and decibels beside the hand's usual level."""

    at: float
    until: float
    string: int
    pitch: int
    level: float
    slur: bool = False
    # The number of the written note that it is meant for; none for a note of the player's own.
    meant: int | None = None
    # What is wrong with it; empty if nothing is.
    slip: str = ""


def one_at_a_time(strokes):
    """A string sounds one note: each ends when the next one on it begins at the latest."""
    strokes = sorted(strokes, key=lambda s: (s.at, s.string))
    following, cut = {}, []
    for stroke in reversed(strokes):
        until = min(stroke.until, following.get(stroke.string, stroke.until))
        cut.append(replace(stroke, until=max(until, stroke.at + 0.01)))
        following[stroke.string] = stroke.at
    return cut[::-1]

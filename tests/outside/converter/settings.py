"""How well the pickup and its converter are set. These are settings, not products: how often they err says
nothing about any pickup that can be bought."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Setting:
    # What of a string is heard on its neighbours, and noise, in decibels.
    crosstalk: float
    noise: float
    # Softer than this there is no note, in decibels.
    silence: float
    # So much softer than the loudest string no note begins, in decibels.
    gate: float
    # Shorter than this no two notes follow each other, in seconds.
    apart: float
    # So many pitches in a row (one every hop) must agree.
    agree: int
    # How sure a pitch must be, from 0 to 1.
    sure: float
    # How much a stroke must stand out to be one (aubio's threshold), and by how many decibels.
    stroke: float
    rise: float
    # For aubio's own notes: by how many samples the windows of the four upper strings and of the two lower
    # ones move on. What it tells is a median of six.
    moves: tuple
    # Whether the upper strings are held back until the lower ones can be told as well.
    evened: bool
    # And by how many decibels a note falls until it is over.
    release: float


SETTINGS = {
    "good": Setting(-42, -82, -38, 18, 0.06, 5, 0.8, 0.5, 4.0, (208, 320), True, 18),
    "mid": Setting(-34, -74, -42, 23, 0.045, 3, 0.7, 0.35, 2.0, (160, 256), True, 13),
    "bad": Setting(-26, -64, -46, 30, 0.03, 2, 0.5, 0.25, 0.5, (128, 160), False, 8),
}

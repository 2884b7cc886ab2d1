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
    "good": Setting(-39, -80, -39, 22, 0.06, 4, 0.75, 0.8, 8.0, (176, 272), True, 14),
    "mid": Setting(-33, -73, -42, 26, 0.04, 3, 0.65, 0.35, 3.0, (152, 232), True, 10),
    "bad": Setting(-26, -64, -46, 30, 0.03, 2, 0.5, 0.25, 0.5, (128, 160), False, 8),
}

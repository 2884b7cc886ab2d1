"""Who plays: a hand with ordinary scatter, clean or with one slip that is made in every take at its place."""

import random
from dataclasses import replace

from guitar import OPEN, Stroke, one_at_a_time

# Standard deviation of when a stroke comes, in seconds. Our default, beside 8 to 9 ms of skilled hands
# (Jabusch 2006, scales on the piano).
TIMING = 0.008
# Of the strokes of one chord, around its own time. Our default.
TOGETHER = 0.002
# Of how loud a stroke is, in decibels. Our default: far within what the judge allows, so that what it
# says of loudness is the converter's doing.
LEVEL = 0.4
# How much softer the left hand sounds a note, in decibels. Our default.
SLURRED = -1.0
# Strokes of one chord are no further apart, in seconds.
APART = 0.05
# The velocity of a stroke of the usual level; 40 dB are a factor of ten in it.
USUAL = 90
SLIPS = ("wrong", "missing", "missing-repeat", "extra", "double", "grace")


def velocity(level):
    return max(1, min(127, round(USUAL * 10 ** (level / 40))))


def take(written, tempo, seed):
    """One performance without a slip."""
    chance = random.Random(seed)
    beat = 60 / tempo
    late, strokes = {}, []
    for number, note in enumerate(written):
        if note.beat not in late:
            late[note.beat] = chance.gauss(0, TIMING)
        chord = sum(other.beat == note.beat for other in written) > 1
        at = 0.5 + note.beat * beat + late[note.beat] + (chance.gauss(0, TOGETHER) if chord else 0)
        level = chance.gauss(0, LEVEL) + (SLURRED if note.slur else 0)
        until = at + note.length * beat * chance.uniform(0.93, 0.99)
        strokes.append(Stroke(at, until, note.string, note.pitch, level, note.slur, number))
    return one_at_a_time(strokes)


def place(written, tempo, slip, seed):
    """Where the slip is made: the number of a written note; none where the exercise has no place for it."""
    beat = 60 / tempo
    fits = [k for k in range(3, len(written) - 3) if _fits(written, k, slip, beat)]
    return random.Random(seed).choice(fits) if fits else None


def _fits(written, k, slip, beat):
    note = written[k]
    before = [n for n in written[:k] if n.string == note.string][-1:]
    after = [n for n in written[k + 1 :] if n.string == note.string][:1]
    if note.slur:
        return False
    if slip == "wrong":
        return True
    if any(n.slur for n in after):
        return False
    again = any(n.pitch == note.pitch for n in before + after)
    later = [n.beat for n in written[k + 1 :] if n.beat > note.beat]
    room = (min(later[:1] + [note.beat + note.length]) - note.beat) * beat
    if slip == "missing":
        return not again
    if slip == "missing-repeat":
        return any(n.pitch == note.pitch for n in before)
    if slip in ("extra", "double"):
        return room > 0.28
    if slip == "grace":
        # A hammer-on to the note, from a fret below it that is not what has just been played.
        gap = (note.beat - max([n.beat for n in before], default=-9)) * beat
        return note.fret > 1 and gap > 0.28 and all(n.pitch != note.pitch - 1 for n in before)
    raise ValueError(slip)


def with_slip(strokes, slip, at, seed):
    """The same performance with the slip. What is random in it is of the place, not of the take."""
    chance = random.Random(seed)
    index = next(k for k, stroke in enumerate(strokes) if stroke.meant == at)
    this = strokes[index]
    rest = strokes[:index] + strokes[index + 1 :]
    if slip == "wrong":
        ways = [w for w in (-1, 1) if this.pitch + w >= OPEN[this.string]]
        return one_at_a_time(rest + [replace(this, pitch=this.pitch + chance.choice(ways), slip=slip)])
    if slip in ("missing", "missing-repeat"):
        return one_at_a_time(rest)
    # Between this stroke and the next of any string, so that it is plain after which note it came.
    later = [stroke.at for stroke in rest if stroke.at > this.at + APART]
    room = min(later + [this.until]) - this.at
    own = replace(this, at=this.at + 0.5 * room, until=this.at + 0.92 * room, meant=None, slip=slip)
    if slip == "extra":
        own = replace(own, pitch=this.pitch + chance.choice((2, 3)))
    if slip == "grace":
        own = replace(this, at=this.at - 0.075, until=this.at, pitch=this.pitch - 1, meant=None, slip=slip)
        # The left hand makes the note itself out of the one before it.
        rest, this = rest, replace(this, slur=True)
    return one_at_a_time(rest + [this, own])

"""Our own exercises, one a function: (tempo in beats a minute, written notes). They are what technique
books are full of, in no particular book's form: each brings one thing that converters find hard."""

from guitar import Written

_ALL = {}


def exercise(tempo):
    def keep(make):
        notes = sorted(make(), key=lambda n: (n.beat, n.pitch, n.string))
        _ALL[make.__name__.replace("_", "-")] = (tempo, notes)
        return make

    return keep


def line(steps, step, length=None):
    """Notes of the same length one after another; a step is (string, fret) or (string, fret, True) for a
    slurred one."""
    return [Written(k * step, length or step, *what) for k, what in enumerate(steps)]


def stack(beat, length, frets):
    """A chord: frets by string."""
    return [Written(beat, length, string, fret) for string, fret in frets.items()]


# Shapes that several exercises share, frets by string.
SHAPES = (
    {5: 0, 4: 2, 3: 2, 2: 1, 1: 0},
    {4: 0, 3: 2, 2: 3, 1: 1},
    {6: 0, 4: 2, 3: 1, 2: 0, 1: 0},
    {5: 3, 4: 2, 3: 0, 2: 1, 1: 0},
)


@exercise(92)
def scale_in_position():
    up = [(6, 5), (6, 7), (6, 8), (5, 5), (5, 7), (5, 8), (4, 5), (4, 7), (3, 4), (3, 5), (3, 7), (2, 5), (2, 6), (1, 3), (1, 5)]
    return line(up + up[-2::-1], 0.5)


@exercise(76)
def all_frets():
    rows = [[(string, fret) for fret in (5, 6, 7, 8)] for string in (1, 2, 3, 4, 5, 6)]
    return line([note for row in rows for note in row], 0.5)


@exercise(66)
def slur_ladder():
    bout = ((3, False), (5, True), (6, True), (5, True))
    rows = [(string, fret, slur) for string in (4, 3, 2, 1, 2, 3, 4, 5) for fret, slur in bout]
    return line(rows, 0.5)


@exercise(58)
def pull_off_pairs():
    pairs = [(s, f, slur) for s in (1, 2, 3) for high, low in ((7, 5), (8, 7), (5, 3), (3, 0)) for f, slur in ((high, False), (low, True))]
    return line(pairs, 1 / 3)


@exercise(88)
def broken_chords():
    notes = []
    for bar, shape in enumerate(SHAPES):
        strings = sorted(shape, reverse=True)
        order = (strings[0], 3, 2, 1, 2, 3, 2, 1)
        for k, string in enumerate(order):
            notes.append(Written(bar * 4 + k * 0.5, 0.5 if k else 2, string, shape[string]))
    return notes


@exercise(60)
def tremolo():
    notes = []
    for beat in range(8):
        shape = SHAPES[beat // 2]
        strings = sorted(shape, reverse=True)
        bass = strings[0] if beat % 2 == 0 else strings[1]
        notes.append(Written(beat, 1, bass, shape[bass]))
        notes += [Written(beat + k / 4, 0.25, 1, shape[1]) for k in (1, 2, 3)]
    return notes


@exercise(66)
def block_chords():
    notes = []
    for bar in range(6):
        shape = SHAPES[bar % 4]
        notes += stack(2 * bar, 1, shape)
        top = {s: shape[s] for s in (3, 2, 1)}
        notes += stack(2 * bar + 1, 1, top)
    return notes


@exercise(96)
def low_riff():
    riff = [(6, 0), (6, 3), (6, 0), (5, 2), (5, 2), (6, 3), (6, 1), (6, 0)]
    turn = [(5, 0), (5, 0), (6, 5), (6, 3), (6, 0), (6, 0), (5, 2), (6, 3)]
    return line(riff + turn + riff, 0.5)


@exercise(84)
def one_string():
    frets = (5, 5, 5, 7, 7, 8, 8, 8, 7, 5, 5, 3, 3, 3, 5, 5)
    return line([(2, fret) for fret in frets] + [(4, fret) for fret in frets[::-1]], 0.5)


@exercise(72)
def melody_over_bass():
    tune = [(1, 3), (1, 1), (1, 0), (2, 3), (1, 0), (1, 1), (2, 3), (2, 1)] * 2
    bass = [(5, 3), (6, 3), (5, 0), (6, 1)] * 2
    low = [Written(2 * k, 2, *what) for k, what in enumerate(bass)]
    return low + line(tune, 1)


@exercise(80)
def position_shifts():
    steps = []
    for root in (1, 5, 9, 5, 1):
        steps += [(2, root), (2, root + 2), (1, root), (1, root + 3), (1, root + 2), (2, root + 2)]
    return line(steps, 0.5)


@exercise(54)
def mordents():
    """A written neighbour and back, quick and slurred, before a plain note."""
    notes, beat = [], 0.0
    for string, fret in ((3, 5), (2, 5), (2, 8), (1, 5), (1, 7), (2, 6), (3, 7), (3, 5)):
        notes += [
            Written(beat, 0.25, string, fret),
            Written(beat + 0.25, 0.25, string, fret + 2, True),
            Written(beat + 0.5, 0.5, string, fret, True),
            Written(beat + 1, 1, string, fret - 2),
        ]
        beat += 2
    return notes


@exercise(80)
def double_strokes():
    steps = [(5, 3), (4, 0), (4, 2), (4, 3), (3, 0), (3, 2), (2, 0), (2, 1), (2, 0), (3, 2), (3, 0), (4, 3)]
    return line([step for step in steps for _ in (0, 1)], 0.5)


@exercise(76)
def let_ring():
    """Each note sounds until the bar ends."""
    notes = []
    for bar, shape in enumerate(SHAPES + SHAPES[:2]):
        strings = sorted(shape, reverse=True)
        for k, string in enumerate(dict.fromkeys((strings[0], strings[1], 3, 2, 1))):
            notes.append(Written(4 * bar + 0.5 * k, 4 - 0.5 * k, string, shape[string]))
    return notes


@exercise(70)
def thirds_and_octaves():
    thirds = [{2: 5, 1: 3}, {2: 6, 1: 5}, {2: 8, 1: 7}, {2: 10, 1: 8}]
    octaves = [{4: 2, 2: 5}, {4: 4, 2: 7}, {5: 3, 3: 5}, {5: 5, 3: 7}]
    notes = []
    for k, pair in enumerate(thirds + octaves + thirds[::-1] + octaves[::-1]):
        notes += stack(k, 1, pair)
    return notes


def exercises():
    """All of them, by name."""
    return dict(_ALL)

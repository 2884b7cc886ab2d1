"""What six strings sound like: one channel a string, as a hexaphonic pickup gives them.

Two models of our own, which err in different ways where a converter listens: a plucked string as a delay
loop, whose state goes on from stroke to stroke, and a sum of partials that are somewhat out of tune and
fade each at its own pace. Neither is a recording of an instrument.
"""

import numpy as np
from guitar import OPEN, STRINGS, hertz
from scipy.signal import lfilter

RATE = 22_050
# A hand damps a string in about this time, in seconds. Our default.
DAMPING = 0.02
# What is left after a second of a string that is touched (a tenth after 10 ms). Our default.
TOUCHED = 1e-100
# How often a finger that leaves a string lets the open one sound for a moment. Our default.
LIFTS = 0.8
# How much the loop takes from either neighbour of a sample. Our default.
DULL = 0.08


def amplitude(level):
    return 10 ** (level / 20)


def length(strokes):
    return int((max(stroke.until for stroke in strokes) + 0.8) * RATE)


def noise(chance, samples, dull):
    """Noise that is the duller, the nearer `dull` is to 1; its peak is 1."""
    burst = lfilter([1 - dull], [1, -dull], chance.normal(size=samples))
    burst -= burst.mean()
    return burst / (np.abs(burst).max() + 1e-12)


def delay_loop(strokes, string, total, chance):
    """The string's past comes round again a period later, a little weaker and duller. A stroke damps what
    is there and adds a burst of one period; a slur only makes the loop longer or shorter, with a knock; at the
    end of a note the hand lies down on the string, or a finger is lifted and leaves a bit of the open one."""
    sound, drive = np.zeros(total), np.zeros(total)
    # What the loop does from a sample on: (sample, pitch, share that comes round in a second).
    changes = [(0, OPEN[string], 0.0)]
    for number, stroke in enumerate(strokes):
        start, end = int(stroke.at * RATE), int(stroke.until * RATE)
        period = RATE / hertz(stroke.pitch)
        shape = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(int(period)) / int(period))
        burst = 0.6 * shape**2 + 0.4 * noise(chance, int(period), 0.45)
        burst -= burst.mean()
        # Plucked at a seventh of the string: what comes back from the bridge is upside down.
        burst = burst - 0.9 * np.roll(burst, int(period / 7))
        # As loud as the stroke is, whatever chance made of the burst.
        burst *= 0.3 / np.sqrt((burst**2).mean())
        strength = amplitude(stroke.level) * (0.75 if stroke.slur else 1.0)
        drive[start : start + len(burst)] += (strength * burst)[: max(0, total - start)]
        if not stroke.slur:
            # The finger or pick touches the string for some milliseconds before it lets go.
            touch = int(max(0.006 * RATE, 1.5 * period))
            changes.append((max(0, start - touch), stroke.pitch, TOUCHED))
        changes.append((start, stroke.pitch, 0.35 if stroke.pitch < 52 else 0.2))
        following = strokes[number + 1].at if number + 1 < len(strokes) else np.inf
        if following - stroke.until > 0.03:
            lifted = stroke.pitch != OPEN[string] and chance.random() < LIFTS
            if lifted:
                # The finger takes most of the sound with it.
                changes.append((end, OPEN[string], TOUCHED))
                end += int(0.01 * RATE)
                changes.append((end, OPEN[string], 1e-3))
                end += int(chance.uniform(0.03, 0.09) * RATE)
            if following * RATE > end:
                changes.append((end, OPEN[string] if lifted else stroke.pitch, 1e-9))
    changes.append((total, OPEN[string], 0.0))
    for (start, pitch, kept), (end, _, _) in zip(changes, changes[1:]):
        _run(sound, drive, start, min(end, total), hertz(pitch), kept)
    return sound


def _run(sound, drive, start, end, frequency, kept):
    """The loop from one sample to another, in blocks shorter than a period: two taps make it as long as the
    period is, and three dull what comes round; together they are four."""
    period = RATE / frequency
    whole = int(period)
    part = period - whole
    taps = np.convolve([1 - part, part], [DULL, 1 - 2 * DULL, DULL])
    gain = kept ** (1 / frequency) if kept > 0 else 0.0
    while start < end:
        m = min(whole - 2, end - start)
        sound[start : start + m] = drive[start : start + m]
        # The first tap lies a sample before the whole period, the last two after it.
        for tap, weight in zip(range(whole - 1, whole + 3), taps):
            if start >= tap:
                sound[start : start + m] += gain * weight * sound[start - tap : start - tap + m]
        start += m


def partials(strokes, string, total, chance):
    """Up to twenty partials, sharpened by the string's stiffness, each fading at its own pace and twice over:
    the string swings in two directions, which are a fraction of a hertz apart."""
    sound = np.zeros(total)
    for number, stroke in enumerate(strokes):
        following = strokes[number + 1].at if number + 1 < len(strokes) else np.inf
        start, end = int(stroke.at * RATE), min(int(min(stroke.until, following) * RATE), total)
        tail = min(end + int(DAMPING * RATE), total)
        t = np.arange(tail - start) / RATE
        frequency = hertz(stroke.pitch)
        # Stiffness of wound and plain strings, from usual measures of guitars (our default).
        stiff = {1: 2e-5, 2: 4e-5, 3: 9e-5}.get(string, 6e-5)
        where = chance.uniform(0.12, 0.2)
        tone = np.zeros(len(t))
        for k in range(1, 21):
            f = k * frequency * np.sqrt(1 + stiff * k * k)
            if f > 0.45 * RATE:
                break
            weight = np.sin(np.pi * k * where) / k ** (1.5 if stroke.slur else 1.1)
            fades = (1.6 if stroke.pitch < 55 else 0.9) / (1 + 0.25 * k)
            for share, apart in ((0.7, 0.0), (0.3, chance.uniform(0.2, 0.9))):
                phase = chance.uniform(0, 2 * np.pi)
                pace = fades if share > 0.5 else 2 * fades
                tone += share * weight * np.exp(-t / pace) * np.sin(2 * np.pi * (f + apart) * t + phase)
        early = tone[: int(0.1 * RATE)]
        tone *= 0.3 * amplitude(stroke.level) * (0.8 if stroke.slur else 1.0)
        tone /= np.sqrt((early**2).mean()) + 1e-12
        rise = int((0.004 if stroke.slur else 0.0015) * RATE)
        tone[:rise] *= np.linspace(0, 1, rise)[: len(tone)]
        knock = noise(chance, int(0.008 * RATE), 0.3 if not stroke.slur else 0.7)
        knock *= np.linspace(1, 0, len(knock)) * amplitude(stroke.level) * 0.2
        m = min(len(knock), len(tone))
        tone[:m] += knock[:m]
        if tail > end:
            tone[end - start :] *= np.linspace(1, 0, tail - end)
        sound[start:tail] += tone
        if following - stroke.until > 0.05 and stroke.pitch != OPEN[string] and chance.random() < LIFTS:
            _lifted(sound, end, string, amplitude(stroke.level), chance)
    return sound


def _lifted(sound, start, string, loud, chance):
    """A finger leaves the string, and the open one is heard for a moment."""
    m = min(int(chance.uniform(0.03, 0.1) * RATE), len(sound) - start)
    t = np.arange(max(m, 0)) / RATE
    f = hertz(OPEN[string])
    tone = sum(np.sin(2 * np.pi * k * f * t) / k**1.5 for k in (1, 2, 3))
    sound[start : start + len(t)] += 0.1 * loud * tone * np.exp(-t / 0.04)


MODELS = {"loop": delay_loop, "partials": partials}


def render(strokes, model, seed):
    """The six strings, each a row."""
    chance = np.random.default_rng(seed)
    total = length(strokes)
    rows = []
    for string in STRINGS:
        own = [stroke for stroke in strokes if stroke.string == string]
        rows.append(0.3 * MODELS[model](own, string, total, chance) if own else np.zeros(total))
    return np.array(rows)

"""Six strings under one pickup: each hears its neighbours a little, and noise."""

import numpy as np
from sounds import RATE


def heard(strings, setting, seed):
    """The strings as the converter gets them, the loudest at 0.7."""
    leak = 10 ** (setting.crosstalk / 20)
    far = np.abs(np.subtract.outer(np.arange(6), np.arange(6)))
    # Half as much again with each string further away.
    mix = np.where(far == 0, 1.0, leak * 0.5 ** (far - 1))
    sound = mix @ strings
    sound += 10 ** (setting.noise / 20) * np.random.default_rng(seed).normal(size=sound.shape)
    return (0.7 * sound / np.abs(sound).max()).astype(np.float32)


def levels(sound, hop):
    """The level of each hop in decibels, a row a string."""
    hops = sound.shape[1] // hop
    blocks = sound[:, : hops * hop].reshape(6, hops, hop).astype(float)
    return 10 * np.log10((blocks**2).mean(axis=2) + 1e-13)


def hops_of(seconds, hop):
    return max(1, round(seconds * RATE / hop))

"""The independent judge of sampled notes: a long-window least-squares fit of a harmonic series.

Given a window, the sum of squares explained by sines and cosines at h·f, h = 1…H, is maximised over f
(nonlinear least squares: Kay, Fundamentals of Statistical Signal Processing, ch. 7; Christensen &
Jakobsson, Multi-Pitch Estimation, 2009). Slow, exact, and sharing no code with any tracker.
"""

import numpy as np
from scipy.optimize import minimize_scalar

from .tones import RATE


def explained(x, hz, partials):
    """Share of the energy of `x` that `partials` harmonics of `hz` explain."""
    t = (np.arange(len(x)) - len(x) / 2) / RATE
    angles = 2 * np.pi * hz * np.outer(t, np.arange(1, partials + 1))
    basis = np.hstack([np.cos(angles), np.sin(angles)])
    weights, *_ = np.linalg.lstsq(basis, x, rcond=None)
    return float(np.sum((basis @ weights) ** 2) / np.sum(x**2))


def fundamental(x, near_hz, partials=None):
    """The fundamental near `near_hz` (within 60 cents) and the share of energy that its harmonics explain."""
    x = (x - np.mean(x)) * np.hanning(len(x))
    count = partials or max(1, min(12, int(9000 / near_hz)))
    cents = np.arange(-60, 61, 3.0)
    coarse = [explained(x, near_hz * 2 ** (c / 1200), count) for c in cents]
    best = cents[int(np.argmax(coarse))]
    cost = lambda c: -explained(x, near_hz * 2 ** (c / 1200), count)
    found = minimize_scalar(cost, bounds=(best - 4, best + 4), method="bounded", options={"xatol": 1e-4})
    return near_hz * 2 ** (found.x / 1200), -found.fun

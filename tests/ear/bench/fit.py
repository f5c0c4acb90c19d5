"""The independent judge of sampled notes: a long-window least-squares fit of a harmonic series.

Given a window, the sum of squares explained by sines and cosines at h·f, h = 1…H, is maximised over f
(nonlinear least squares: Kay, Fundamentals of Statistical Signal Processing, ch. 7; Christensen &
Jakobsson, Multi-Pitch Estimation, 2009). Slow, exact, and sharing no code with any tracker.
"""

import numpy as np
from scipy.optimize import minimize_scalar

from .tones import RATE


def explained(x, hz, partials):
    """Share of the energy of `x` (under a Hann weight) that `partials` harmonics of `hz` explain."""
    weight = np.sqrt(np.hanning(len(x)))
    t = (np.arange(len(x)) - len(x) / 2) / RATE
    turns = np.exp(2j * np.pi * hz * t)
    powers = np.cumprod(np.repeat(turns[None, :], partials, axis=0), axis=0)
    basis = np.vstack([powers.real, powers.imag]) * weight
    seen = x * weight
    right = basis @ seen
    solved = np.linalg.solve(basis @ basis.T + 1e-9 * len(x) * np.eye(len(basis)), right)
    return float(right @ solved / np.sum(seen**2))


def fundamental(x, near_hz, reach=60.0):
    """The fundamental within `reach` cents of `near_hz` and the share of energy that its harmonics explain."""
    x = x - np.mean(x)
    if np.sqrt(np.mean(x**2)) < 1e-4:
        return np.nan, 0.0
    partials = max(1, min(12, int(9000 / near_hz)))
    cost = lambda c: -explained(x, near_hz * 2 ** (c / 1200), partials)
    # The main lobe of a Hann window is 4/T wide; a quarter of that in the highest partial cannot miss it.
    step = 1200 * np.log2(1 + RATE / len(x) / (near_hz * partials))
    grid = np.arange(-reach, reach + step, step)
    best = grid[int(np.argmin([cost(c) for c in grid]))]
    found = minimize_scalar(cost, bounds=(best - step, best + step), method="bounded", options={"xatol": 1e-4})
    return near_hz * 2 ** (found.x / 1200), -found.fun

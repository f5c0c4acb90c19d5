"""Pools the figures of one tracker over the takes of each set."""

import numpy as np

from . import chords, figures, reeds


def percentile(values, q):
    """Percentile in which "never" (NaN) counts as longer than anything."""
    values = np.where(np.isnan(values), np.inf, values)
    return float(np.percentile(values, q, method="higher")) if len(values) else np.nan


def of_steady(runs, chosen=lambda note: True):
    """Error, gross, within and sigma figures over the steady stretches of the chosen notes."""
    parts = [figures.steady(r.rows, [n for n in r.take.notes if chosen(n)]) for r in runs]
    errors = np.abs(np.concatenate([p["errors"] for p in parts]))
    sigmas = np.concatenate([p["sigmas"] for p in parts])
    ticks = sum(p["ticks"] for p in parts)
    within = sum(p["within"] for p in parts) / ticks if ticks else np.nan
    if len(errors) == 0:
        return dict.fromkeys(("median", "p95", "gross", "octave", "sigma"), np.nan) | {"within": within}
    octaves = np.abs(errors / 1200 - np.round(errors / 1200)) * 1200 < 100
    given = ~np.isnan(sigmas)
    return {
        "median": float(np.median(errors)),
        "p95": float(np.percentile(errors, 95)),
        "gross": float(np.mean(errors > figures.GROSS)),
        "within": within,
        "octave": float(np.mean(octaves & (errors > 600))),
        "sigma": float(np.mean(errors[given] <= sigmas[given])) if np.any(given) else np.nan,
    }


def of_sampled(runs):
    """As for steady notes; those that beat count for octave errors only."""
    settled = of_steady(runs, lambda note: not note["beats"])
    return settled | {"octave": of_steady(runs)["octave"]}


def of_delays(delays):
    """Median, 95th percentile and share of never, in milliseconds and 0..1."""
    delays = np.concatenate(delays) if delays else np.array([])
    return {
        "median": 1000 * percentile(delays, 50),
        "p95": 1000 * percentile(delays, 95),
        "never": float(np.mean(np.isnan(delays))) if len(delays) else np.nan,
    }


def of_moving(runs):
    """Median error after compensating the lag, and the lag (median and longest over notes, ms)."""
    parts = [figures.moving(r.rows, r.take) for r in runs]
    errors, lags = np.concatenate([p["errors"] for p in parts]), np.concatenate([p["lags"] for p in parts])
    return {
        "error": float(np.median(np.abs(errors))) if len(errors) else np.nan,
        "lag": 1000 * float(np.nanmedian(lags)),
        "longest": 1000 * float(np.nanmax(lags)),
    }


def of_unvoiced(runs):
    """Share of frames called a note."""
    counts = np.array([figures.unvoiced(r.rows, r.take) for r in runs])
    return {"called": float(counts[:, 0].sum() / counts[:, 1].sum())}


def of_runs(runs):
    """Share of notes known in time."""
    return {"in_time": float(np.mean(np.concatenate([figures.in_time(r.rows, r.take) for r in runs])))}


def by_condition(runs):
    """Runs grouped by the condition of their take, in the order of the corpus."""
    groups = {}
    for run in runs:
        groups.setdefault(run.take.condition, []).append(run)
    return groups


def delays(runs):
    """Latencies of every take, one array each."""
    return [figures.latency(r.rows, r.take) for r in runs]


MAKERS = {
    "steady": of_steady,
    "degraded": lambda runs: of_steady(runs) | {f"wait_{k}": v for k, v in of_delays(delays(runs)).items()},
    "sampled": of_sampled,
    "player": of_steady,
    "unvoiced": of_unvoiced,
    "latency": lambda runs: of_delays(delays(runs)),
    "bends": lambda runs: of_delays([figures.arrival(r.rows, r.take) for r in runs]),
    "vibrato": of_moving,
    "glides": of_moving,
    "sixteenths": of_runs,
    "reeds": reeds.figures,
    "chords": chords.figures,
}


def summarise(runs):
    """Set → figures, and (set, condition) → figures, and the cost in ms of CPU per second of sound."""
    whole, parts = {}, {}
    for name, make in MAKERS.items():
        chosen = [r for r in runs if r.take.set == name]
        if not chosen:
            continue
        whole[name] = make(chosen)
        for condition, group in by_condition(chosen).items():
            parts[name, condition] = make(group)
    timed = [r for r in runs if r.take.set not in reeds.SETS]
    seconds = sum(r.take.seconds for r in timed)
    whole["cost"] = {"ms": 1000 * sum(r.cpu for r in timed) / seconds if seconds else np.nan}
    return whole, parts

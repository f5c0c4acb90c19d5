"""What every tracker gives back: one row a hop."""

import csv

import numpy as np

FIELDS = [("known", float), ("time", float), ("hz", float), ("sigma", float)]


def rows(known, time, hz, sigma=None):
    """A table of readings; `hz` is NaN where no note is called, `sigma` NaN where none is given."""
    table = np.empty(len(hz), dtype=FIELDS)
    table["known"], table["time"] = known, time
    hz = np.asarray(hz, dtype=float)
    table["hz"] = np.where(hz > 0, hz, np.nan)
    table["sigma"] = np.nan if sigma is None else sigma
    return table


def cents(hz, reference):
    """Distance in cents, NaN where either is missing."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return 1200 * np.log2(np.asarray(hz) / reference)


def read_csv(lines):
    """Rows from a CSV with the columns of `track`: known_s, time_s, hz and, where present, sigma_cents."""
    number = lambda text: float(text) if text else np.nan
    known, time, hz, sigma = [], [], [], []
    for line in csv.DictReader(lines):
        known.append(float(line["known_s"]))
        time.append(float(line["time_s"]))
        hz.append(number(line["hz"]))
        sigma.append(number(line.get("sigma_cents") or ""))
    return rows(known, time, hz, sigma)

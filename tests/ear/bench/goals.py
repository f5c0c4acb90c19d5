"""The goal table: which figures make a line, how it is written, and when the goal is met."""

from dataclasses import dataclass
from typing import Callable


@dataclass
class Line:
    """One line of the table. `read` picks its numbers out of a summary; `limits` are their goals."""

    label: str
    goal: str
    read: Callable
    limits: tuple
    text: str
    needs_causal: bool = False

    def cell(self, whole, parts):
        """(text, met) of one tracker, or None where it has no such figures."""
        try:
            values = self.read(whole, parts)
        except KeyError:
            return None
        met = all(limit(v) for limit, v in zip(self.limits, values))
        return self.text.format(*values), met


def at_most(limit):
    """A goal from above. NaN meets nothing."""
    return lambda value: value <= limit


def at_least(limit):
    """A goal from below."""
    return lambda value: value >= limit


def anything(_value):
    """No goal."""
    return True


def percent(value):
    """0..1 → per cent."""
    return 100 * value


def latency(register, median, p95):
    """The latency line of one register."""
    read = lambda _whole, parts: [parts["latency", register][k] for k in ("median", "p95")]
    limits = at_most(median), at_most(p95)
    return Line(f"latency {register}, ms", f"≤ {median} / {p95}", read, limits, "{:.1f} / {:.1f}", True)


def reed12(whole, parts):
    """The second reed at -12 dB."""
    found = parts["degraded", "second reed -12 dB"]
    return found["p95"], percent(found["gross"])


def errors_of(found):
    """Median, 95th percentile, gross and within of a summary of notes."""
    return found["median"], found["p95"], percent(found["gross"]), percent(found["within"])


def of_sigmas(*sets):
    """The least and the greatest share of errors inside one sigma over the conditions of these sets; none if none is told."""
    def read(_whole, parts):
        shares = [percent(found["sigma"]) for (name, _), found in parts.items() if name in sets and found["sigma"] == found["sigma"]]
        if not shares:
            raise KeyError(sets)
        return min(shares), max(shares)
    return read


def moving(name, error):
    """Error after compensating the lag, and the lag."""
    read = lambda whole, _parts: (whole[name]["error"], whole[name]["lag"])
    goal = f"≤ {error} at ≤ 11"
    return Line(f"{name}: error c at lag ms", goal, read, (at_most(error), at_most(11)), "{:.2f} at {:.1f}", True)


LINES = (
    Line("clean steady: median / p95 c; gross %", "≤ 0.02 / 0.1; 0",
         lambda w, p: (w["steady"]["median"], w["steady"]["p95"], percent(w["steady"]["gross"])),
         (at_most(0.02), at_most(0.1), at_most(0)), "{:.3f} / {:.3f}; {:.2f}"),
    Line("degraded: median / p95 c; gross %; within 5 c %", "≤ 0.05 / 0.8; ≤ 0.1; ≥ 99.9",
         lambda w, p: errors_of(w["degraded"]),
         (at_most(0.05), at_most(0.8), at_most(0.1), at_least(99.9)), "{:.3f} / {:.2f}; {:.2f}; {:.2f}"),
    Line("second reed −12 dB: p95 c; gross %", "≤ 1.5; 0", reed12, (at_most(1.5), at_most(0)), "{:.2f}; {:.2f}"),
    Line("sampled reeds: within 5 c %; octave errors %", "≥ 99.9; 0",
         lambda w, p: (percent(w["sampled"]["within"]), percent(w["sampled"]["octave"])),
         (at_least(99.9), at_most(0)), "{:.2f}; {:.2f}"),
    Line("simulated player: median / p95 c; gross %; within 5 c %", "–; ≤ 0.1; ≥ 99.9",
         lambda w, p: errors_of(w["player"]), (anything, anything, at_most(0.1), at_least(99.9)),
         "{:.3f} / {:.2f}; {:.2f}; {:.2f}"),
    Line("unvoiced: frames called a note %", "≤ 0.5",
         lambda w, p: (percent(w["unvoiced"]["called"]),), (at_most(0.5),), "{:.2f}"),
    latency("below 200 Hz", 20, 28),
    latency("200-500 Hz", 10, 15),
    latency("500-1500 Hz", 7, 11),
    latency("above 1500 Hz", 6, 10),
    Line("latency degraded: p95 ms; never %", "≤ 40; ≤ 1",
         lambda w, p: (w["degraded"]["wait_p95"], percent(w["degraded"]["wait_never"])),
         (at_most(40), at_most(1)), "{:.1f}; {:.1f}", True),
    Line("arrival at a bend's bottom, ms", "≤ 14 / 18", lambda w, p: (w["bends"]["median"], w["bends"]["p95"]),
         (at_most(14), at_most(18)), "{:.1f} / {:.1f}", True),
    moving("vibrato", 0.3),
    moving("glides", 0.1),
    Line("sixteenths known in time %", "≥ 99.5",
         lambda w, p: (percent(w["sixteenths"]["in_time"]),), (at_least(99.5),), "{:.1f}", True),
    Line("adjacent reeds: right set within 60 ms %; lone called lone %", "≥ 97; ≥ 99",
         lambda w, p: (percent(w["reeds"]["adjacent"]), percent(w["reeds"]["lone"])),
         (at_least(97), at_least(99)), "{:.1f}; {:.1f}", True),
    Line("leaking reed −6 to −20 dB: right within 60 ms %; at the end %", "–; ≥ 97",
         lambda w, p: (percent(w["reeds"]["leaks"]), percent(w["reeds"]["leaks_at_end"])),
         (anything, at_least(97)), "{:.1f}; {:.1f}", True),
    Line("octaves, tongue-blocked: right within 60 ms %; at the end %", "≥ 97; ≥ 97",
         lambda w, p: (percent(w["reeds"]["octaves"]), percent(w["reeds"]["octaves_at_end"])),
         (at_least(97), at_least(97)), "{:.1f}; {:.1f}", True),
    Line("chords, splits, one missing, one leaking: something false told %", "≤ 0.5",
         lambda w, p: (percent(w["chords"]["false"]),), (at_most(0.5),), "{:.1f}", True),
    Line("three, four, five reeds: right set within 100 ms %", "≥ 95 each",
         lambda w, p: tuple(percent(w["chords"][f"{kind}_in_100"]) for kind in ("three", "four", "five")),
         (at_least(95),) * 3, "{:.1f}; {:.1f}; {:.1f}", True),
    Line("three to five reeds: within 60 ms; within 100 ms; at the end %", "–; ≥ 95; –",
         lambda w, p: tuple(percent(w["chords"][f"chord_{when}"]) for when in ("in_60", "in_100", "at_end")),
         (anything, at_least(95), anything), "{:.1f}; {:.1f}; {:.1f}", True),
    Line("neighbour −20 dB told within 250 ms; clean reed called lone %", "≥ 95; ≥ 99.5",
         lambda w, p: (percent(w["chords"]["beside_in_250"]), percent(w["chords"]["clean"])),
         (at_least(95), at_least(99.5)), "{:.1f}; {:.2f}", True),
    Line("two pitches without a harp: right within 60 ms %", "≥ 97",
         lambda w, p: (percent(w["reeds"]["blind"]),), (at_least(97),), "{:.1f}", True),
    Line("cost: ms CPU per s of sound", "≤ 6", lambda w, p: (w["cost"]["ms"],), (at_most(6),), "{:.1f}"),
    Line("sigma: % of degraded errors inside (about 68)", "58–78", lambda w, p: (percent(w["degraded"]["sigma"]),) * 2,
         (at_least(58), at_most(78)), "{:.0f}"),
    Line("sigma: % inside, in the worst and the best condition", "≥ 58; ≤ 78", of_sigmas("steady", "degraded", "player"),
         (at_least(58), at_most(78)), "{:.0f}; {:.0f}"),
    # The truth of a sample is the mean over its stretch, so its own wavering counts as an error of the reading.
    Line("sigma: the same of sampled reeds", "–", of_sigmas("sampled"), (anything, anything), "{:.0f}; {:.0f}"),
)

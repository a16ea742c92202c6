"""Where the tests of an oil in plain wax change their answers, solved one by one.

Reads {"most", "substances": [share of the oil, percent, and whether it is only
neared], "tests": [...]} with fractions as [over, under]; writes the loads of
total as fractions and the seconds it took.
"""

import json
import sys
import time
from fractions import Fraction


def fraction(pair):
    return Fraction(int(pair[0]), int(pair[1]))


def counted(terms, oil, load):
    """Sum of weight times share over what has reached its cut-off."""
    total, is_open = Fraction(0), False
    for substance, cut_off, weight in terms:
        share, neared = oil[substance]
        share = share * load
        if share > cut_off or (share == cut_off and share > 0 and not neared):
            total += share * weight
            is_open = is_open or neared
    return total, is_open


def reached(test, oil, load):
    total, is_open = counted(test["terms"], oil, load)
    if total == 0:
        return False
    if total > test["limit"] or (total == test["limit"] and not is_open):
        return True
    unknown, unknown_open = counted(test["unknown"], oil, load)
    total += unknown
    is_open = is_open or unknown_open
    return unknown > 10 and (
        total > test["limit"] or (total == test["limit"] and not is_open)
    )


def flip(test, oil, most):
    """The load at which a test begins to hold; it never ends again, for only the
    oil brings hazards here."""
    both = test["terms"] + test["unknown"]
    turns = {cut / oil[s][0] for s, cut, _ in both if oil[s][0] > 0}
    turns = sorted(turn for turn in turns if 0 < turn < most)
    edges = [Fraction(0)] + turns + [most]
    points = set(turns)
    for low, high in zip(edges, edges[1:]):
        middle = (low + high) / 2
        known = counted(test["terms"], oil, middle)[0] / middle
        unknown = counted(test["unknown"], oil, middle)[0] / middle
        for slope, limit in (
            (known, test["limit"]),
            (known + unknown, test["limit"]),
            (unknown, Fraction(10)),
        ):
            if slope > 0 and low < limit / slope < high:
                points.add(limit / slope)
    points = sorted(points) + [most]
    low = Fraction(0)
    for at in points:
        if reached(test, oil, (low + at) / 2):
            return low
        low = at
    return most if reached(test, oil, most) else None


def climb(given):
    oil = [(fraction(share), neared) for share, neared in given["substances"]]
    most = fraction(given["most"])
    flips = set()
    for test in given["tests"]:
        test = {
            "terms": [(s, fraction(c), fraction(w)) for s, c, w in test["terms"]],
            "unknown": [(s, fraction(c), fraction(w)) for s, c, w in test["unknown"]],
            "limit": fraction(test["limit"]),
        }
        at = flip(test, oil, most)
        if at:
            flips.add(at)
    return sorted(flips)


given = json.load(sys.stdin)
seconds = []
for _ in range(5):
    started = time.perf_counter()
    flips = climb(given)
    seconds.append(time.perf_counter() - started)
json.dump({"seconds": min(seconds), "loads": [float(at) * 100 for at in flips]}, sys.stdout)

"""The rules of CLP Annex I for an oil at 10 parts on 100 of wax, written down
the plain way: one list of dictionaries, one function. Reads a list of oils as
JSON, prints their answers and the time each took.

Python, as a yardstick for the bench and a third opinion; not part of the
program."""

import json
import sys
import time

SKIN_CORROSIVE = ("Skin Corr. 1", "Skin Corr. 1A", "Skin Corr. 1B", "Skin Corr. 1C")
SENSITISERS = {"1": (1.0, 0.1), "1A": (0.1, 0.01), "1B": (1.0, 0.1)}
ALONE = {
    "Muta. 1A": 0.1, "Muta. 1B": 0.1, "Muta. 2": 1.0,
    "Carc. 1A": 0.1, "Carc. 1B": 0.1, "Carc. 2": 1.0,
    "Repr. 1A": 0.3, "Repr. 1B": 0.3, "Repr. 2": 3.0, "Lact.": 0.3,
    "ED HH 1": 0.1, "ED HH 2": 1.0, "ED ENV 1": 0.1, "ED ENV 2": 1.0,
    "PBT": 0.1, "vPvB": 0.1, "PMT": 0.1, "vPvM": 0.1, "Ozone 1": 0.1,
}
STATEMENTS = {
    "Carc. 2": "H351", "Repr. 2": "H361", "ED HH 2": "EUH381", "vPvB": "EUH441",
}
ACUTE = {
    "oral": ((5, 50, 300, 2000), (0.5, 5, 100, 500), ("H300", "H300", "H301", "H302")),
    "dermal": ((50, 200, 1000, 2000), (5, 50, 300, 1100), ("H310", "H310", "H311", "H312")),
    "inhalation": ((0.5, 2, 10, 20), (0.05, 0.5, 3, 11), ("H330", "H330", "H331", "H332")),
}
HAIR = 1e-9


def at_least(value, limit):
    return value >= limit * (1 - HAIR)


def has(line, *codes):
    return any(name.rsplit(" ", 1)[0] in codes for name in line["classes"])


def statement(line, code):
    return any(name.endswith(" " + code) for name in line["classes"])


def acute(lines, route):
    bounds, converted, codes = ACUTE[route]
    total = 0.0
    for line in lines:
        value = line["oral"] if route == "oral" else None
        if value is not None and value > bounds[3]:
            continue
        if value is None:
            for category in range(4):
                if f"Acute Tox. {category + 1} {codes[category]}" in line["classes"]:
                    value = converted[category]
                    break
        if value is None:
            continue
        if at_least(line["share"], 0.1 if value <= bounds[2] else 1.0):
            total += line["share"] / value
    if total == 0.0:
        return None
    for category in range(4):
        if at_least(total * bounds[category], 100.0):
            return f"Acute Tox. {category + 1} {codes[category]}"
    return None


def skin(lines):
    corrosive = [x for x in lines if has(x, *SKIN_CORROSIVE) and at_least(x["share"], 1.0)]
    if at_least(sum(x["share"] for x in corrosive), 5.0):
        if any(has(x, "Skin Corr. 1") for x in corrosive):
            return "Skin Corr. 1 H314"
        for last in (2, 3, 4):
            subs = SKIN_CORROSIVE[1:last]
            if at_least(sum(x["share"] for x in corrosive if has(x, *subs)), 5.0):
                return f"{subs[-1]} H314"
    quotient = sum(x["share"] for x in corrosive)
    for line in lines:
        if has(line, "Skin Irrit. 2") and not has(line, *SKIN_CORROSIVE):
            limit = line["irritant_limit"] or 10.0
            if at_least(line["share"], min(1.0, limit)):
                quotient += line["share"] / limit
    return "Skin Irrit. 2 H315" if at_least(quotient, 1.0) else None


def eyes(lines):
    damaging = irritant = 0.0
    for line in lines:
        if not at_least(line["share"], 1.0):
            continue
        if has(line, "Eye Dam. 1", *SKIN_CORROSIVE):
            damaging += line["share"]
        elif has(line, "Eye Irrit. 2"):
            irritant += line["share"]
    if at_least(damaging, 3.0):
        return "Eye Dam. 1 H318"
    return "Eye Irrit. 2 H319" if at_least(10 * damaging + irritant, 10.0) else None


def sensitisers(lines, kind, code):
    triggers, named = [], []
    for place, line in enumerate(lines):
        for sub, (limit, elicits) in SENSITISERS.items():
            if has(line, f"{kind} {sub}"):
                if at_least(line["share"], limit):
                    triggers.append((place, sub))
                elif at_least(line["share"], elicits):
                    named.append(place)
    subs = {sub for _, sub in triggers}
    found = None
    if subs:
        found = f"{kind} {subs.pop() if len(subs) == 1 else '1'} {code}"
    return found, {place for place, _ in triggers}, named


def organs(lines, kind, first, second):
    if any(has(x, f"{kind} 1") and at_least(x["share"], 10.0) for x in lines):
        return f"{kind} 1 {first}"
    if any(
        (has(x, f"{kind} 1") and at_least(x["share"], 1.0))
        or (has(x, f"{kind} 2") and at_least(x["share"], 10.0))
        for x in lines
    ):
        return f"{kind} 2 {second}"
    return None


def passing(lines, code):
    total = sum(x["share"] for x in lines if statement(x, code) and at_least(x["share"], 1.0))
    return f"STOT SE 3 {code}" if at_least(total, 20.0) else None


def water(lines):
    found = []
    total = sum(
        x["share"] * x["m_acute"]
        for x in lines
        if has(x, "Aquatic Acute 1") and at_least(x["share"], 0.1 / x["m_acute"])
    )
    if at_least(total, 25.0):
        found.append("Aquatic Acute 1 H400")
    sums = [0.0, 0.0, 0.0, 0.0]
    plain = 0.0
    for line in lines:
        for category in (1, 2, 3, 4):
            if not has(line, f"Aquatic Chronic {category}"):
                continue
            if category == 1:
                if at_least(line["share"], 0.1 / line["m_chronic"]):
                    sums[0] += line["share"] * line["m_chronic"]
                    plain += line["share"]
            elif at_least(line["share"], 1.0):
                sums[category - 1] += line["share"]
            break
    first, second, third, fourth = sums
    for category, total in enumerate(
        (
            first,
            10 * first + second,
            100 * first + 10 * second + third,
            plain + second + third + fourth,
        )
    ):
        if at_least(total, 25.0):
            found.append(f"Aquatic Chronic {category + 1} H41{category}")
            break
    return found


def classify(oil):
    lines = [dict(line, share=line["high"] * 10 / 110) for line in oil]
    found = [acute(lines, route) for route in ACUTE]
    found += [skin(lines), eyes(lines)]
    airways, airway_triggers, airway_named = sensitisers(lines, "Resp. Sens.", "H334")
    allergy, allergy_triggers, allergy_named = sensitisers(lines, "Skin Sens.", "H317")
    found += [airways, allergy]
    alone = [
        name
        for name, limit in ALONE.items()
        if any(has(x, name) and at_least(x["share"], limit) for x in lines)
    ]
    for name in ("Muta.", "Carc.", "Repr."):
        of_kind = [own for own in alone if own.startswith(name)]
        found += [f"{own} {STATEMENTS[own]}" for own in of_kind[:1]]
    found += [
        organs(lines, "STOT SE", "H370", "H371"),
        passing(lines, "H335"),
        passing(lines, "H336"),
        organs(lines, "STOT RE", "H372", "H373"),
    ]
    endocrine = [own for own in alone if own.startswith("ED HH")]
    found += [f"{own} {STATEMENTS[own]}" for own in endocrine[:1]]
    found += water(lines)
    found += [f"{own} {STATEMENTS[own]}" for own in alone if own == "vPvB"]
    # A solid has no aspiration hazard and is no flammable liquid.
    triggers = airway_triggers | allergy_triggers
    named = sorted({place for place in airway_named + allergy_named if place not in triggers})
    names = ", ".join(lines[place]["name"] for place in named)
    return ", ".join(own for own in found if own) + " | " + names


def main():
    oils = json.load(sys.stdin)
    began = time.perf_counter()
    answers = [classify(oil) for oil in oils]
    took = (time.perf_counter() - began) / len(oils) * 1e6
    json.dump({"answers": answers, "microseconds": took}, sys.stdout)


main()

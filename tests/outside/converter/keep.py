"""keep.py FOLDER FILE

Chooses some of the sessions that make.py wrote into the folder, and writes them into one file in which they
take little room: what `evenhand_tests::converter::kept` reads.
"""

import json
import pathlib
import sys

# How many sessions of a setting, clean and with a slip. Few of the bad one: they are long.
CLEAN = {"good": 8, "mid": 5, "bad": 2}
SLIPS = {"good": 12, "mid": 10, "bad": 3}


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    folder, file = map(pathlib.Path, sys.argv[1:])
    sessions = [json.loads(path.read_text()) for path in sorted(folder.glob("*.json"))]
    chosen = []
    for clean, numbers in ((True, CLEAN), (False, SLIPS)):
        for quality, number in numbers.items():
            fits = [s for s in sessions if s["quality"] == quality and (s["slip"] is None) == clean]
            if len(fits) < number:
                sys.exit(f"{folder} has {len(fits)} sessions for {number} of {quality}: make more seeds")
            chosen += spread(fits, number, {s["exercise"] for s in chosen})
    truths = sorted({n["cat"] for s in chosen for t in s["takes"] for n in t["played"]})
    rows = ",\n".join(dense(small(session, truths)) for session in chosen)
    file.write_text(f'{{"truths":{dense(truths)},"sessions":[\n{rows}\n]}}\n')


def spread(sessions, number, known):
    """So many of them, of as many exercises and slips as there are; what has been chosen comes last."""
    seen, chosen = {}, []
    for name in known:
        seen[name] = 1
    rest = list(sessions)
    for _ in range(number):
        rest.sort(key=lambda s: (seen.get(s["slip"], 0) + seen.get(s["exercise"], 0), s["id"]))
        this = rest.pop(0)
        chosen.append(this)
        for name in (this["slip"], this["exercise"]):
            seen[name] = seen.get(name, 0) + 1
    return chosen


def small(session, truths):
    first = session["takes"][0]
    return {
        "id": session["id"],
        "exercise": session["exercise"],
        "slip": session["slip"],
        "place": session["place"],
        "quality": session["quality"],
        "tempo_bpm": first["tempo_bpm"],
        "expected": [
            [short(n["onset_beat"]), short(n["duration_beat"]), n["pitch"], n["string"], int(n["slur"])]
            for n in first["expected"]
        ],
        "takes": [
            {
                "played": [row(n) + [truths.index(n["cat"])] for n in take["played"]],
                "ideal": [row(n) for n in take["ideal"]],
                "lost": take["lost"],
            }
            for take in session["takes"]
        ],
    }


def row(note):
    tenths = [round(10_000 * note[name]) for name in ("onset_s", "duration_s")]
    return tenths + [note["pitch"], note["velocity"], note["string"]]


def short(number):
    return int(number) if number == int(number) else number


def dense(value):
    return json.dumps(value, separators=(",", ":"))


if __name__ == "__main__":
    main()

"""Sessions: four takes of an exercise, clean or with the same slip in each, heard with every setting.

The form is what `evenhand_tests::converter` reads: expected notes, what the converter sent, what an ideal
one would have sent, and the truth about each sent note.
"""

import hashlib
import json
from dataclasses import dataclass, replace

from exercises import exercises
from guitar import one_at_a_time
from hands import SLIPS, place, take, velocity, with_slip
from pickup import heard
from settings import SETTINGS
from sounds import MODELS, render
from trackers import TRACKERS, convert
from truth import account

TAKES = 4


@dataclass(frozen=True)
class Session:
    exercise: str
    # Empty if the player is clean.
    slip: str
    sound: str
    tracker: str
    seed: str

    @property
    def name(self):
        return "-".join([self.exercise, self.slip or "clean", self.sound, self.tracker, self.seed])


def number(*parts):
    """A seed out of words, the same on every machine."""
    return int.from_bytes(hashlib.sha256("/".join(map(str, parts)).encode()).digest()[:6], "big")


def planned(seeds, sounds=tuple(MODELS)):
    """All sessions of these seeds. Sounds and trackers take turns, so that each exercise has met each of them
    with each slip after as many seeds as there are pairs."""
    pairs = [(sound, tracker) for sound in sounds for tracker in TRACKERS]
    sessions = []
    for turn, seed in enumerate(seeds):
        for row, (exercise, (tempo, written)) in enumerate(exercises().items()):
            for column, slip in enumerate(("",) + SLIPS):
                if slip and place(written, tempo, slip, 0) is None:
                    continue
                sound, tracker = pairs[(turn + row + column) % len(pairs)]
                sessions.append(Session(exercise, slip, sound, tracker, str(seed)))
    return sessions


def make(session, folder, step=0.0):
    """Plays a session, and writes a file for each setting. `step` is by how many seconds strings 4 to 6 come
    later than the others."""
    tempo, written = exercises()[session.exercise]
    where = None
    if session.slip:
        where = place(written, tempo, session.slip, number(session.name, "place"))
    takes = {quality: [] for quality in SETTINGS}
    for k in range(TAKES):
        strokes = take(written, tempo, number(session.name, k, "hand"))
        if session.slip:
            strokes = with_slip(strokes, session.slip, where, number(session.name, "slip"))
        strokes = one_at_a_time(strokes)
        strings = _sound(session, strokes, k)
        for quality, setting in SETTINGS.items():
            sound = heard(strings, setting, number(session.name, k, "noise"))
            sent = _later(convert(sound, session.tracker, setting), step)
            takes[quality].append(_take(k, written, tempo, strokes, sent, step))
    for quality, played in takes.items():
        whole = {
            "id": f"{session.name}-{quality}",
            "exercise": session.exercise,
            "slip": session.slip or None,
            "place": None if where is None else f"e{where}",
            "quality": quality,
            "sound": session.sound,
            "tracker": session.tracker,
            "takes": played,
        }
        (folder / f"{whole['id']}.json").write_text(json.dumps(whole))


def _sound(session, strokes, k):
    if session.sound in MODELS:
        return render(strokes, session.sound, number(session.name, k, "sound"))
    import soundfont

    return soundfont.render(strokes)


def _later(sent, step):
    late = [replace(n, at=n.at + step, until=n.until + step) if n.string >= 4 else n for n in sent]
    return sorted(late, key=lambda n: (n.at, n.pitch))


def _take(k, written, tempo, strokes, sent, step):
    # What a note is does not depend on when it is told.
    in_time = [replace(n, at=n.at - (step if n.string >= 4 else 0)) for n in sent]
    lost = account(strokes, in_time)
    for note, known in zip(sent, in_time):
        note.truth, note.stands_for = known.truth, known.stands_for
    return {
        "id": str(k),
        "tempo_bpm": tempo,
        "expected": [
            {
                "id": f"e{i}",
                "onset_beat": round(n.beat, 4),
                "duration_beat": round(n.length, 4),
                "pitch": n.pitch,
                "string": n.string,
                "slur": n.slur,
            }
            for i, n in enumerate(written)
        ],
        "played": [
            {
                "id": f"p{i}",
                "onset_s": round(n.at, 5),
                "duration_s": round(max(0.01, n.until - n.at), 5),
                "pitch": n.pitch,
                "velocity": n.velocity,
                "string": n.string,
                "cat": n.truth,
            }
            for i, n in enumerate(sent)
        ],
        "ideal": [
            {
                "id": f"q{i}",
                "onset_s": round(s.at, 5),
                "duration_s": round(s.until - s.at, 5),
                "pitch": s.pitch,
                "velocity": velocity(s.level),
                "string": s.string,
            }
            for i, s in enumerate(sorted(strokes, key=lambda s: (s.at, s.pitch)))
        ],
        "truth": _truth(written, strokes, sent, lost),
        "lost": [f"e{i}" for i in lost],
    }


def _truth(written, strokes, sent, lost):
    """What is what: each expected note once, and each sent note that is none of them."""
    by_player = {s.meant: s.slip for s in strokes if s.meant is not None}
    rows = []
    for i in range(len(written)):
        stands = next((k for k, n in enumerate(sent) if n.stands_for == i), None)
        if i not in by_player:
            rows.append(_row("missing", i, None, "player"))
        elif stands is None:
            rows.append(_row("missing", i, None, "converter"))
        elif by_player[i] == "wrong":
            rows.append(_row("wrong_pitch", i, stands, "player"))
        elif sent[stands].truth == "match":
            rows.append(_row("match", i, stands, None))
        else:
            rows.append(_row("wrong_pitch", i, stands, "converter"))
    for k, note in enumerate(sent):
        if note.stands_for is None:
            rows.append(_row("extra", None, k, "player" if note.truth == "match" else "converter"))
    return rows


def _row(label, expected, played, by):
    row = {
        "label": label,
        "expected": None if expected is None else f"e{expected}",
        "played": None if played is None else f"p{played}",
    }
    return row | ({"by": by} if by else {})

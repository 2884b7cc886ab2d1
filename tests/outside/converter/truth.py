"""What each sent note is in truth, since the rig knows what was struck and when.

match     a stroke, with its pitch, the first time
double    its pitch once more
octave    an octave, twelfth, fifth, fourth or two octaves off
stale     the pitch that the string had before, just after a stroke
semitone  one or two semitones off
other     any other pitch while a stroke sounds
trailing  after the note has ended: a finger that is lifted, a tail
bleed     on a string that does not sound, the pitch of one that does
ghost     on a string that does not sound, otherwise
"""

# A converter is never earlier than this, in seconds, and a note that comes later than that after its stroke is
# no longer it. Our defaults.
EARLY, LATE = 0.02, 0.3
# A tail is still the note's own for so long after its end.
TAIL = 0.15
STALE = 0.12
PARTIALS = (5, 7, 12, 19, 24)


def account(strokes, sent):
    """Names each sent note, and gives the numbers of the written notes of which nothing was sent."""
    sounding = {}
    for note in sent:
        own = [s for s in strokes if s.string == note.string and s.at - EARLY <= note.at]
        this = own[-1] if own else None
        if this is None or note.at > this.until + TAIL:
            note.truth = _silent(strokes, note)
        elif note.at > max(this.until + 0.01, this.at + STALE):
            note.truth = "trailing"
        else:
            sounding.setdefault(id(this), []).append(note)
    for stroke in strokes:
        _of_one(stroke, _before(strokes, stroke), sounding.get(id(stroke), []))
    told = {note.stands_for for note in sent}
    return [s.meant for s in strokes if s.meant is not None and s.meant not in told]


def _silent(strokes, note):
    others = [s for s in strokes if s.string != note.string and s.at - EARLY <= note.at <= s.until + TAIL]
    return "bleed" if any(s.pitch == note.pitch for s in others) else "ghost"


def _before(strokes, stroke):
    return next((s for s in reversed(strokes) if s.string == stroke.string and s.at < stroke.at), None)


def _of_one(stroke, before, sent):
    """The notes that came while one stroke sounded."""
    right = [n for n in sent if n.pitch == stroke.pitch and n.at - stroke.at < LATE]
    for note in sent:
        off = note.pitch - stroke.pitch
        if right and note is right[0]:
            note.truth = "match"
        elif off == 0:
            note.truth = "double"
        elif before and note.pitch == before.pitch and note.at - stroke.at < STALE:
            note.truth = "stale"
        elif abs(off) in PARTIALS:
            note.truth = "octave"
        else:
            note.truth = "semitone" if abs(off) <= 2 else "other"
    stands = right[:1] or [n for n in sent if n.truth in ("octave", "semitone", "other")][:1]
    for note in stands:
        note.stands_for = stroke.meant
        if not right:
            note.truth += "-only"

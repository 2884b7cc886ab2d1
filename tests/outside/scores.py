"""What music21 and partitura read in scores: when notes begin (quarters), and which pitch is written.

Reads {"files": [...], "strings": bool}; gives for each file a list by each library, or what it complained of, and where
it is asked for the strings and frets by music21. Ties are joined, grace notes left out.
"""

import json
import sys
import warnings
from fractions import Fraction

warnings.filterwarnings("ignore")
# A script beside this one has the name of a module that the libraries want.
sys.path.pop(0)

import mido
import music21
import partitura


def exact(value):
    return str(Fraction(value).limit_denominator(10000))


def by_music21(path):
    found = []
    for part in music21.converter.parse(path, forceSource=True).parts:
        flat = part.stripTies()
        for note in flat.recurse().notes:
            if note.duration.isGrace or isinstance(note, music21.harmony.ChordSymbol):
                continue
            for pitch in getattr(note, "pitches", []):
                found.append([exact(note.getOffsetInHierarchy(flat)), round(pitch.ps)])
    return sorted(found)


def by_mido(path):
    """Of a Standard MIDI File: when notes begin, which they are, and their channels from 1."""
    found = []
    file = mido.MidiFile(path)
    for track in file.tracks:
        now = 0
        for message in track:
            now += message.time
            if message.type == "note_on" and message.velocity:
                onset = str(Fraction(now, file.ticks_per_beat))
                found.append([onset, message.note, message.channel + 1])
    return sorted(found)


def strings(path):
    found = []
    for part in music21.converter.parse(path, forceSource=True).parts:
        for note in part.recurse().notes:
            # The marks of a chord stand in one list, those of each note together.
            def numbers(kind):
                marks = [mark for mark in note.articulations if type(mark).__name__ == kind]
                return [int(mark.number) for mark in marks]

            onset = exact(note.getOffsetInHierarchy(part))
            pairs = zip(numbers("StringIndication"), numbers("FretIndication"))
            found.extend([onset, string, fret] for string, fret in pairs)
    return sorted(found)


def by_partitura(path):
    found = []
    for part in partitura.load_musicxml(path).parts:
        quarters = part.quarter_map
        # It counts from the first full bar.
        start = float(quarters(part.first_point.t))
        for note in part.notes_tied:
            if isinstance(note, partitura.score.GraceNote) or not hasattr(note, "midi_pitch"):
                continue
            found.append([exact(float(quarters(note.start.t)) - start), int(note.midi_pitch)])
    return sorted(found)


def attempt(read, *arguments):
    try:
        return read(*arguments)
    except Exception as complaint:  # Whatever it is, the test decides what it means.
        return f"{type(complaint).__name__}: {complaint}"


question = json.load(sys.stdin)
answers = []
for path in question["files"]:
    if path.endswith(".mid"):
        answers.append({"mido": attempt(by_mido, path)})
        continue
    answer = {"music21": attempt(by_music21, path), "partitura": attempt(by_partitura, path)}
    if question.get("strings"):
        answer["strings"] = attempt(strings, path)
    answers.append(answer)
json.dump({"files": answers}, sys.stdout)

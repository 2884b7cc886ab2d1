"""Match notes with mir_eval.transcription.match_notes, a batch at a time.

Standard input:  {"onset_tolerance": seconds, "cases": [{"reference": [[onset, pitch], ...],
                  "estimate": [[onset, pitch], ...]}, ...]}, times in seconds, pitches as MIDI
                  note numbers.
Standard output: {"cases": [[[reference index, estimate index], ...], ...]}
"""

import importlib.metadata
import json
import sys

import mir_eval
import numpy as np

EXPECTED_VERSION = "0.8.2"


def intervals_and_frequencies(notes):
    onsets = np.array([onset for onset, _ in notes], dtype=float)
    pitches = np.array([pitch for _, pitch in notes], dtype=float)
    # Lengths are not compared (offset_ratio=None), but have to be positive.
    intervals = np.column_stack([onsets, onsets + 0.05])
    return intervals, mir_eval.util.midi_to_hz(pitches)


def main():
    version = importlib.metadata.version("mir_eval")
    if version != EXPECTED_VERSION:
        sys.exit(f"mir_eval is {version}, but the tests were written against {EXPECTED_VERSION}")
    question = json.load(sys.stdin)
    answers = []
    for case in question["cases"]:
        reference = intervals_and_frequencies(case["reference"])
        estimate = intervals_and_frequencies(case["estimate"])
        matched = mir_eval.transcription.match_notes(
            *reference,
            *estimate,
            onset_tolerance=question["onset_tolerance"],
            # In cents; a semitone is 100.
            pitch_tolerance=25.0,
            offset_ratio=None,
        )
        answers.append(sorted([int(i), int(j)] for i, j in matched))
    json.dump({"cases": answers}, sys.stdout)


if __name__ == "__main__":
    main()

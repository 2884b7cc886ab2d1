"""make.py FOLDER [--seeds N] [--jobs J] [--latency-step MS] [--sound NAME] [--only WORD]

Makes sessions for `evenhand_tests::converter`, a file a session and setting. Seeds follow from
EVENHAND_SEED_BASE (0 if it is not set): seed 3 of base 17 is `17.3`.

needs Debian's python3-aubio, python3-numpy and python3-scipy; for `--sound soundfont` fluidsynth and
fluid-soundfont-gm, too.
"""

import argparse
import multiprocessing
import os
import pathlib
import sys

from sessions import make, planned
from sounds import MODELS


def base():
    text = os.environ.get("EVENHAND_SEED_BASE", "0")
    if not text.isdigit():
        sys.exit(f"EVENHAND_SEED_BASE={text}: that is no whole number")
    return text


def _one(job):
    make(*job)


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("folder", type=pathlib.Path)
    words.add_argument("--seeds", type=int, default=1)
    words.add_argument("--jobs", type=int, default=os.cpu_count())
    words.add_argument("--latency-step", type=float, default=0, metavar="MS")
    words.add_argument("--sound", choices=[*MODELS, "soundfont"])
    words.add_argument("--only", default="", metavar="WORD", help="sessions whose name has it")
    said = words.parse_args()
    if said.seeds < 1 or said.jobs < 1:
        sys.exit("--seeds and --jobs want a number from 1 on")
    said.folder.mkdir(parents=True, exist_ok=True)
    seeds = [f"{base()}.{k}" for k in range(said.seeds)]
    sounds = (said.sound,) if said.sound else tuple(MODELS)
    sessions = [s for s in planned(seeds, sounds) if said.only in s.name]
    jobs = [(session, said.folder, said.latency_step / 1000) for session in sessions]
    with multiprocessing.Pool(said.jobs) as pool:
        for done, _ in enumerate(pool.imap_unordered(_one, jobs), 1):
            if done % 20 == 0 or done == len(jobs):
                print(f"{done} of {len(jobs)} sessions", file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()

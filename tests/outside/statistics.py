"""Answer questions of statistics with scipy, in one batch.

Standard input:  {"deviation": {"centre": c, "cases": [[x, ...], ...]},
                  "slopes": [[[x, y], ...], ...]}
Standard output: {"deviation": [robust deviation, ...],
                  "slopes": [slope, ...]}

The robust deviation is median_abs_deviation with the scale of the normal distribution, around a
centre that is given. A slope is least squares.
"""

import json
import sys

from scipy.stats import linregress, median_abs_deviation


def main():
    question = json.load(sys.stdin)
    deviation = question["deviation"]
    answer = {
        "deviation": [
            float(
                median_abs_deviation(
                    case,
                    axis=None,
                    center=lambda x, axis=None: deviation["centre"],
                    scale="normal",
                )
            )
            for case in deviation["cases"]
        ],
        "slopes": [float(linregress(*zip(*points)).slope) for points in question["slopes"]],
    }
    json.dump(answer, sys.stdout)


if __name__ == "__main__":
    main()

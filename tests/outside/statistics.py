"""Answer questions of statistics with scipy, in one batch.

Standard input:  {"chi_square": {"share": p, "degrees": [n, ...]},
                  "deviation": {"centre": c, "cases": [[x, ...], ...]},
                  "slopes": [[[x, y], ...], ...]}
Standard output: {"chi_square": [quantile, ...], "deviation": [robust deviation, ...],
                  "slopes": [slope, ...]}

The robust deviation is median_abs_deviation with the scale of the normal distribution, around a
centre that is given. A slope is least squares.
"""

import json
import sys

from scipy.stats import chi2, linregress, median_abs_deviation


def main():
    question = json.load(sys.stdin)
    chi_square = question["chi_square"]
    deviation = question["deviation"]
    answer = {
        "chi_square": [float(chi2.ppf(chi_square["share"], n)) for n in chi_square["degrees"]],
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

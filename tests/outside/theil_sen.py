"""Fit lines with scipy.stats.theilslopes, a batch at a time.

Standard input:  {"cases": [[[x, y], ...], ...]}
Standard output: {"cases": [{"slope": s, "intercept": i}, ...]}

The method is pinned: with "joint" the intercept is the median of y - slope * x; with
"separate" it is median(y) - slope * median(x), which can differ by many milliseconds.
"""

import json
import sys

from scipy.stats import theilslopes


def main():
    question = json.load(sys.stdin)
    answers = []
    for points in question["cases"]:
        x = [point[0] for point in points]
        y = [point[1] for point in points]
        fit = theilslopes(y, x, method="joint")
        answers.append({"slope": float(fit.slope), "intercept": float(fit.intercept)})
    json.dump({"cases": answers}, sys.stdout)


if __name__ == "__main__":
    main()

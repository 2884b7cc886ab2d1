"""Distributions by scipy: reads {"what": [[name, arguments...], ...]}, gives their values."""

import json
import sys

from scipy import stats

FUNCTIONS = {
    "chi-square quantile": stats.chi2.ppf,
    "student quantile": stats.t.ppf,
    "chi-square": stats.chi2.cdf,
    "non-central chi-square": stats.ncx2.cdf,
    "normal": stats.norm.cdf,
    "student": stats.t.cdf,
    "range quantile": lambda share, values: stats.studentized_range.ppf(share, values, float("inf")),
}

question = json.load(sys.stdin)
answers = [float(FUNCTIONS[name](*arguments)) for name, *arguments in question["what"]]
json.dump({"values": answers}, sys.stdout)

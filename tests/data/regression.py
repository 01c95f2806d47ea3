"""Bayesian linear regression by statsmodels: what was known before as rows of data, all weighted least squares.

Reads from stdin {"x", "y", "sd", "prior": [[mean, sd], ...]}, x one row a way; writes the coefficients and their covariance. Also
reads the data of the NIST sets from the packages that carry them, where "sets" names files to be held against them.
"""

import json
import sys

import numpy as np
import statsmodels.api as sm
from scipy import stats

asked = json.load(sys.stdin)
x, y, sd = (np.array(asked[key]) for key in ("x", "y", "sd"))
means, spreads = np.array(asked["prior"]).T
rows = np.vstack([x, np.eye(len(means))])
answers = np.concatenate([y, means])
weights = 1 / np.concatenate([sd, spreads]) ** 2
fit = sm.WLS(answers, rows, weights=weights).fit(cov_type="fixed scale", cov_kwds={"scale": 1.0})

longley = sm.datasets.longley.load_pandas()
ours = np.loadtxt(asked["longley"], delimiter=",")
columns = np.column_stack([longley.endog, longley.exog])
norris = np.loadtxt(asked["norris"], delimiter=",")
line = stats.linregress(norris[:, 1], norris[:, 0])
json.dump(
    {
        "mean": fit.params.tolist(),
        "covariance": fit.cov_params().tolist(),
        "longley_is_the_same": bool(np.array_equal(ours, columns)),
        "norris": [line.intercept, line.slope, line.intercept_stderr, line.stderr],
    },
    sys.stdout,
)

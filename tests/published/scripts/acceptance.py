"""Shares that a test accepts and rejects wrongly, by scipy's quadrature.

95 % of the units meet the specification; the expanded uncertainty is two
standard uncertainties. Its output is in src/spread/acceptance.rs.
"""

from math import hypot

from scipy.integrate import quad
from scipy.stats import norm

PRODUCT = 1 / norm.ppf(0.975)

for ratio, guard in ((10, 0), (4, 0), (4, 1), (1, 0)):
    measurement, limit = 0.5 / ratio, 1 - guard / ratio

    def accepted_above(x):
        accepts = norm.sf((x - limit) / measurement) - norm.sf((x + limit) / measurement)
        return norm.pdf(x / PRODUCT) / PRODUCT * accepts

    false_accept = 2 * quad(accepted_above, 1, 1 + 12 * measurement, epsabs=1e-14, epsrel=1e-10)[0]
    accepted = 2 * norm.cdf(limit / hypot(PRODUCT, measurement)) - 1
    print(ratio, guard, f"{false_accept:.7g} {0.95 - accepted + false_accept:.7g}")

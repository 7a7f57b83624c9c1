"""Shares of the time that the sum of sines of random phases lies beyond a limit.

For the checks of src/trade/voices.rs. Run with numpy 2.4.6; prints one line a
case: voices, limit in peaks of one voice, share.
"""

import numpy as np

rng = np.random.default_rng(1)
for voices, limit in ((2, 1.0), (3, 2.0), (5, 4.0)):
    beyond = drawn = 0
    for _ in range(20):
        phases = 2 * np.pi * rng.random((1_000_000, voices))
        sums = np.abs(np.sin(phases).sum(axis=1))
        beyond += int((sums > limit).sum())
        drawn += len(sums)
    print(voices, limit, beyond / drawn)

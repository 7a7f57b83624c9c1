"""Responses of a ladder of two resistors and two capacitors, by chain matrices,
and what it leaves of a square wave, step by step in time.

For the checks of src/trade/converter_output.rs. Run with numpy 2.4.6 and
scipy 1.17.1.
"""

import numpy as np
from scipy.linalg import expm
from scipy.optimize import brentq


def gain(frequency, pin, load):
    """Output for a volt at the pin: 1 kohm and 10 nF, 2.2 kohm and 4.7 nF."""
    s = 2j * np.pi * frequency
    chain = np.eye(2, dtype=complex)
    if pin:
        chain = chain @ np.array([[1, pin], [0, 1]])
    for r, c in ((1e3, 10e-9), (2.2e3, 4.7e-9)):
        chain = chain @ np.array([[1, r], [0, 1]]) @ np.array([[1, 0], [s * c, 1]])
    if load:
        chain = chain @ np.array([[1, 0], [1 / load, 1]])
    return abs(1 / chain[0, 0])


def level(ratio):
    return 20 * np.log10(ratio)


def with_pin_and_load(frequency):
    return gain(frequency, 100.0, 10e3)


still = with_pin_and_load(0)
note, rate = 4e3, 16e3
print("gain", level(still))
print("droop", level(with_pin_and_load(note) / still))
held = note / (rate - note)
print("image", level(held * with_pin_and_load(rate - note) / with_pin_and_load(note)))
print("corner", brentq(lambda f: with_pin_and_load(f) - still / np.sqrt(2), 1, 1e6, xtol=1e-9))

# Two sections without pin and load, driven between 0 V and 3.3 V.
r1, c1, r2, c2 = 1e3, 10e-9, 2.2e3, 4.7e-9
a = np.array([[-(1 / r1 + 1 / r2) / c1, 1 / (r2 * c1)], [1 / (r2 * c2), -1 / (r2 * c2)]])
b = np.array([1 / (r1 * c1), 0])
steps = 2000
step = 1 / 31_250 / 2 / steps
through = expm(a * step)
driven = np.linalg.solve(a, (through - np.eye(2)) @ b)
x = np.full(2, 1.65)
seen = []
for half in range(400):
    for _ in range(steps):
        x = through @ x + driven * (3.3 if half % 2 == 0 else 0.0)
        # The last whole period: behind two sections the extremes lie after the
        # edges.
        if half >= 398:
            seen.append(x[1])
print("ripple", max(seen) - min(seen))

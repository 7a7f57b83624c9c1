"""Noise, distortion and spurs of waves read out of a table, by numpy.

For the checks of src/trade/wave_table.rs, written apart from it. Run with numpy
2.4.6; prints a line a case: signal to noise and distortion, signal to noise,
distortion, worst spur, all in dB.
"""

from math import gcd

import numpy as np


def table(length, bits, harmonics):
    angle = 2 * np.pi * np.arange(length) / length
    wave = sum(a * np.sin((k + 1) * angle) for k, a in enumerate(harmonics))
    wave = wave / np.abs(wave).max() * (2 ** (bits - 1) - 1)
    # Halves go away from zero.
    return (np.sign(wave) * np.floor(np.abs(wave) + 0.5)).astype(np.int64)


def samples(entries, count, periods, linear):
    """A whole number of periods in so many samples."""
    length = len(entries)
    phase = np.arange(count) * periods % count
    place = phase * length
    at, part = place // count, place % count
    if not linear:
        return entries[at]
    here, after = entries[at], entries[(at + 1) % length]
    fraction = (part * 2**15) // count
    return here + (((after - here) * fraction) >> 15)


def report(length, bits, harmonics, linear, accumulator, increment):
    # The samples come round after 2^N over what the increment shares with it;
    # where that is long, an odd number of periods close by stands for it.
    shared = gcd(increment, 2**accumulator)
    count, periods = 2**accumulator // shared, increment // shared
    if count > 2**16:
        count = min(max(16 * length, 4096), 2**18)
        periods = 2 * int(increment * count / 2**accumulator // 2) + 1
    run = samples(table(length, bits, harmonics), count, periods, linear)
    power = np.abs(np.fft.rfft(run)) ** 2

    def line(k):
        at = k * periods % count
        return min(at, count - at)

    kept = {line(k + 1) for k, a in enumerate(harmonics) if a and 2 * (k + 1) * periods < count}
    bent = {line(k) for k in range(1, max(10, len(harmonics)) + 1)} - kept - {0}
    rest = [i for i in range(1, len(power)) if i not in kept]
    signal = sum(power[i] for i in kept)
    distortion = sum(power[i] for i in bent)
    noise = sum(power[i] for i in rest if i not in bent)
    level = lambda a, b: 10 * np.log10(a / b)
    print(
        (length, bits, harmonics, linear, accumulator, increment),
        level(signal, noise + distortion),
        level(signal, noise),
        level(distortion, signal),
        level(max(power[i] for i in rest), power[line(1)]),
    )


report(256, 8, [1.0], False, 16, 3691)
report(256, 8, [1.0], True, 16, 3691)
report(1024, 16, [1.0], False, 24, 334783)
report(64, 16, [1.0], True, 32, 42852281)
report(256, 8, [1.0, 0.0, 0.4, 0.1], False, 16, 3691)
report(128, 12, [1.0, 0.5, 0.25, 0.125], False, 24, 1592507)
report(256, 8, [1.0], False, 16, 3584)
report(256, 8, [1.0], False, 16, 5248)
report(64, 8, [1.0], False, 24, 1572864)

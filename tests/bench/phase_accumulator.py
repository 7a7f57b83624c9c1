"""Samples of a phase accumulator from a table of 256 entries, with numpy.

Usage: phase_accumulator.py COUNT ROUNDS

Prints two numbers: milliseconds for COUNT samples, the median of ROUNDS, and the
sum over the samples. Table, accumulator and increment are those of sound.rs.
Phases wrap as integers of 32 bits do, which is the fastest way that was found.
"""

import sys
import time

import numpy as np

INCREMENT = 42_852_281


def main():
    count, rounds = int(sys.argv[1]), int(sys.argv[2])
    wave = np.sin(2 * np.pi * np.arange(256) / 256) * 127
    table = (np.sign(wave) * np.floor(np.abs(wave) + 0.5)).astype(np.int32)
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        phases = np.arange(count, dtype=np.uint32) * np.uint32(INCREMENT)
        samples = table[phases >> np.uint32(24)]
        times.append((time.perf_counter() - start) * 1e3)
    print(sorted(times)[len(times) // 2], int(samples.sum()))


main()

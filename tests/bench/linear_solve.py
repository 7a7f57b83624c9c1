"""Operating points of a linear network of six nodes with numpy, in batches.

Usage: linear_solve.py UNKNOWNS SOLVES

With 6 unknowns a current source of 1 mA feeds node 1; with 7, a voltage source
of 5 V, whose current is the seventh. Prints three numbers: solves a second
when the matrices are given, the same with the matrices made from the resistor
values, and the sum of the voltages of node 6 over one batch. The network, its
values and the size of a batch are those of circuit.rs.
"""

import sys
import time

import numpy as np

BATCH = 4096
RESISTORS = [
    (1, 0), (1, 2), (2, 0), (2, 3), (3, 0), (3, 4), (4, 0),
    (4, 5), (5, 0), (5, 6), (6, 0), (1, 4), (2, 5), (3, 6),
]


def resistances():
    """Row by row, the resistor values of each network of the batch."""
    network = np.arange(BATCH)[:, None]
    at = np.arange(14)[None, :]
    share = (network * 14 + at) * 7919 % 10_007 / 10_006.0
    return 1000.0 * (at + 1) * (0.99 + 0.02 * share)


def main():
    unknowns, solves = int(sys.argv[1]), int(sys.argv[2])
    # Where the conductance of each resistor goes in the matrix: making the
    # matrices is one product, the fastest way that was found.
    places = np.zeros((14, unknowns, unknowns))
    for at, (a, b) in enumerate(RESISTORS):
        for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            if row and column:
                places[at, row - 1, column - 1] += sign
    places = places.reshape(14, -1)
    fixed = np.zeros((unknowns, unknowns))
    right = np.zeros((unknowns, 1))
    if unknowns == 6:
        right[0] = 1e-3
    else:
        fixed[0, 6] = fixed[6, 0] = 1.0
        right[6] = 5.0

    values = resistances()

    def matrices():
        return (1.0 / values @ places).reshape(-1, unknowns, unknowns) + fixed

    def solve(systems):
        return np.linalg.solve(systems, right)

    given = matrices()
    total = solve(given)[:, 5, 0].sum()
    rounds = -(-solves // BATCH)

    def rate(work):
        """Solves a second in the middle one of all rounds."""
        seconds = []
        for _ in range(rounds):
            start = time.perf_counter()
            work()
            seconds.append(time.perf_counter() - start)
        return BATCH / sorted(seconds)[rounds // 2]

    alone = rate(lambda: solve(given))
    whole = rate(lambda: solve(matrices()))
    print(repr(alone), repr(whole), repr(float(total)))


if __name__ == "__main__":
    main()

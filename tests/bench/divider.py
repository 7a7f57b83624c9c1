"""A divider by Monte Carlo with numpy, as fast as it gets.

The same job as tests/bench/monte_carlo.rs: two resistors of 1 % and a supply
of 2 %, mean, deviation and the symmetric 95 % interval. The generator is the
fastest of numpy (SFC64), everything is done in place, in blocks of the size
that turns out best. Prints for each shape of the distributions the trials a
second (in millions) without and with the interval.
"""

import sys
import time

import numpy

SUPPLY, LOWER, UPPER = 5.0, 20e3, 10e3
TOLERANCES = {SUPPLY: 0.02, LOWER: 0.01, UPPER: 0.01}


def draw(generator, shape, nominal, out):
    """Fills `out` with values of a part, in place."""
    reach = nominal * TOLERANCES[nominal]
    if shape == "normal":
        generator.standard_normal(out=out)
        out *= reach / 3.0
        out += nominal
    else:
        generator.random(out=out)
        out *= 2.0 * reach
        out += nominal - reach


def run(shape, trials, block, with_interval):
    """Mean, deviation and interval of the output voltage."""
    generator = numpy.random.Generator(numpy.random.SFC64(2008))
    supply, lower, upper = (numpy.empty(block) for _ in range(3))
    values = numpy.empty(trials if with_interval else block)
    total = squares = 0.0
    for start in range(0, trials, block):
        draw(generator, shape, SUPPLY, supply)
        draw(generator, shape, LOWER, lower)
        draw(generator, shape, UPPER, upper)
        upper += lower
        lower /= upper
        out = values[start : start + block] if with_interval else values
        numpy.multiply(supply, lower, out=out)
        total += out.sum()
        supply[:] = out
        supply -= SUPPLY * LOWER / (LOWER + UPPER)
        squares += numpy.dot(supply, supply)
    mean = total / trials
    deviation = (squares / trials) ** 0.5
    if not with_interval:
        return mean, deviation
    ends = [int(0.025 * trials), int(0.975 * trials)]
    values.partition(ends)
    return mean, deviation, values[ends[0]], values[ends[1]]


def rate(shape, trials, block, with_interval):
    """Trials a second of one run."""
    start = time.perf_counter()
    run(shape, trials, block, with_interval)
    return trials / (time.perf_counter() - start)


def best(shape, trials, runs, with_interval):
    """Trials a second in the middle run, with the block that gives most."""
    blocks = [1 << power for power in range(11, 19)]
    block = max(blocks, key=lambda block: rate(shape, trials, block, with_interval))
    rates = [rate(shape, trials, block, with_interval) for _ in range(runs)]
    return sorted(rates)[runs // 2]


def main():
    trials, runs = int(sys.argv[1]), int(sys.argv[2])
    for shape in ("normal", "rectangular"):
        bare = best(shape, trials, runs, False)
        whole = best(shape, trials, runs, True)
        print(shape, bare / 1e6, whole / 1e6)


main()

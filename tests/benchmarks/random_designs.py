"""Random designs end to end: no exception but ours, no warning, no outline that breaks a rule.

    python tests/benchmarks/random_designs.py --count 10000

Prints the seed, what broke (with the command that repeats it), and how the designs ended.
"""

import argparse
import sys
import time
from multiprocessing import Pool
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from random_design import design_text, judge, summary

WRITE_EVERY = 25


def run(job: tuple[int, int]) -> tuple[int, str, float]:
    """Judge one design; its number, what became of it, and the seconds it took."""
    seed, number = job
    start = time.perf_counter()
    try:
        outcome = judge(design_text(seed, number), write=number % WRITE_EVERY == 0)
    except Exception as error:
        outcome = f"BROKEN: {type(error).__name__}: {error}"
    return number, outcome, time.perf_counter() - start


def main() -> int:
    """Run a series and print what became of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=1000, help="how many designs")
    parser.add_argument("--first", type=int, default=0, help="number of the first one")
    parser.add_argument("--seed", type=int, default=None, help="of the series; else a new one")
    parser.add_argument("--show", action="store_true", help="print the design files themselves")
    given = parser.parse_args()
    seed = int(np.random.SeedSequence().entropy % 2**32) if given.seed is None else given.seed
    print(f"seed {seed}", flush=True)
    numbers = range(given.first, given.first + given.count)
    if given.show:
        print("\n".join(design_text(seed, number) for number in numbers))
    results, broken, slowest, start = [], 0, (0.0, -1), time.perf_counter()
    with Pool(2) as pool:
        for number, outcome, seconds in pool.imap_unordered(run, ((seed, n) for n in numbers), 8):
            results.append(outcome.split(":")[0] if outcome.startswith("BROKEN") else outcome)
            slowest = max(slowest, (seconds, number))
            if outcome.startswith("BROKEN"):
                broken += 1
                print(f"--seed {seed} --first {number} --count 1: {outcome}", flush=True)
            if len(results) % 500 == 0:
                rate = len(results) / (time.perf_counter() - start)
                print(f"{len(results)} done, {rate:.1f} a second, {broken} broken", flush=True)
    print(summary(results))
    print(f"slowest: {slowest[0]:.1f} s, number {slowest[1]}")
    print(f"{len(results)} designs of seed {seed}: {broken} broken")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())

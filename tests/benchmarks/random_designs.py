"""Random designs end to end: only our exceptions, no warning, outlines and solids as they must be.

    python tests/benchmarks/random_designs.py --count 10000
    python tests/benchmarks/random_designs.py --count 500 --searched
    python tests/benchmarks/random_designs.py --count 60 --hard

Prints the seed, what broke (with the command that repeats it), and how the designs ended.
"""

import argparse
import os
import signal
import sys
import time
from multiprocessing import Pool
from pathlib import Path

# One process for each core: threads of the linear algebra would only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
import hard_brief
from random_brief import answered, brief_text
from random_design import design_text, judge, summary

WRITE_EVERY = 25


def run(job: tuple[int, int, str]) -> tuple[int, str, float]:
    """Judge one design; its number, what became of it, and the seconds it took."""
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    seed, number, series = job
    start = time.perf_counter()
    try:
        if series == "hard":
            outcome = hard_brief.answered(hard_brief.hard_text(seed, number))
        elif series == "searched":
            outcome = answered(brief_text(seed, number))
        else:
            outcome = judge(design_text(seed, number), write=number % WRITE_EVERY == 0)
    except Exception as error:
        outcome = f"BROKEN: {type(error).__name__}: {error}"
    return number, outcome, time.perf_counter() - start


class Tally:
    """What became of the designs so far; `each`: whether to tell it of every one."""

    def __init__(self, seed: int, each: bool) -> None:
        self.seed, self.each, self.start = seed, each, time.perf_counter()
        self.results: list[str] = []
        self.broken, self.slowest = 0, (0.0, -1)

    def add(self, number: int, outcome: str, seconds: float) -> None:
        """Count one design, and tell at once if it broke."""
        broken = outcome.startswith("BROKEN")
        if broken:
            print(f"--seed {self.seed} --first {number} --count 1: {outcome}", flush=True)
        elif self.each:
            print(f"{number}: {outcome}", flush=True)
        self.results.append("BROKEN" if broken else outcome)
        self.broken += broken
        self.slowest = max(self.slowest, (seconds, number))
        if len(self.results) % 100 == 0:
            rate = len(self.results) / (time.perf_counter() - self.start)
            print(f"{len(self.results)} done, {rate:.2f}/s, {self.broken} broken", flush=True)

    def __str__(self) -> str:
        return (
            f"{summary(self.results)}\nslowest: number {self.slowest[1]}, {self.slowest[0]:.1f} s\n"
            f"{len(self.results)} designs of seed {self.seed}: {self.broken} broken"
        )


def main() -> int:
    """Run a series and print what became of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=1000, help="how many designs")
    parser.add_argument("--first", type=int, default=0, help="number of the first one")
    parser.add_argument("--seed", type=int, default=None, help="of the series; else a new one")
    series = parser.add_mutually_exclusive_group()
    for name, words in (
        ("searched", "wishes whose train is searched"),
        ("hard", "wishes for too much, with ways out or brute force"),
    ):
        series.add_argument(
            f"--{name}",
            dest="series",
            action="store_const",
            const=name,
            default="given",
            help=words,
        )
    parser.add_argument("--show", action="store_true", help="print the design files themselves")
    given = parser.parse_args()
    seed = int(np.random.SeedSequence().entropy % 2**32) if given.seed is None else given.seed
    print(f"seed {seed}", flush=True)
    numbers = range(given.first, given.first + given.count)
    if given.show:
        texts = {"given": design_text, "searched": brief_text, "hard": hard_brief.hard_text}
        text = texts[given.series]
        print("\n".join(text(seed, number) for number in numbers))
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    hard = given.series == "hard"
    tally, jobs = Tally(seed, hard), ((seed, n, given.series) for n in numbers)
    with Pool(2) as pool:
        try:
            for result in pool.imap_unordered(run, jobs, 1 if hard else 8):
                tally.add(*result)
        except KeyboardInterrupt:
            signal.signal(signal.SIGTERM, signal.SIG_IGN)
            print("stopped before the end")
    print(tally)
    return 1 if tally.broken else 0


if __name__ == "__main__":
    sys.exit(main())

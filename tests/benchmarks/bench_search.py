"""How many pairs a second the search checks, against check_pair, and how the cost grows.

Both in one run: python tests/benchmarks/bench_search.py
"""

import time

import numpy as np

import gearwork as gw
from gearwork.design.drive import GivenDrive
from gearwork.design.duty import Duty
from gearwork.design.load import GivenLoad
from gearwork.design.pair_grid import PairGrid
from gearwork.design.pair_table import CHUNK, PairTable, pairs_in
from gearwork.design.search import search
from gearwork.design.search_space import Limits, SearchSpace

SHEET = gw.plywood("birch", 12)
SPACE = SearchSpace(gw.Bit(3.175), (SHEET,), ratio=(7.0, 9.0))
DUTY = Duty(GivenDrive(0.5, 400.0), GivenLoad(2.5, 40.0))


def timed(work):
    """Seconds that work takes, and what it gives."""
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def single_rate(table: PairTable, count: int = 40) -> float:
    """Pairs a second by check_pair, of pairs spread over a table."""
    rows = np.linspace(0, len(table) - 1, count).astype(int)
    pairs = [table.pair(row, SPACE) for row in rows]

    def check() -> None:
        for pair in pairs:
            gw.check_pair(pair, SPACE.bit, SHEET, torque=0.5, speed=100.0, stall_torque=1.0)

    return count / min(timed(check)[0] for _ in range(3))


def main() -> None:
    """Print rates and ratios."""
    grid = PairGrid(SPACE, Limits(), SPACE.teeth_pairs)
    last = len(grid) // CHUNK * CHUNK
    seconds, (table, _) = min(
        (timed(lambda: pairs_in(grid, (last - CHUNK, last))) for _ in range(3)), key=lambda r: r[0]
    )
    baseline = single_rate(table)
    tried, passed = CHUNK / seconds, len(table) / seconds
    print(f"check_pair                 {baseline:10.1f} pairs/s")
    print(f"search, all it tries       {tried:10.0f} pairs/s {tried / baseline:8.0f} x (>= 300)")
    print(f"search, those that pass    {passed:10.0f} pairs/s {passed / baseline:8.0f} x (>= 300)")
    for count in (CHUNK // 100, CHUNK // 10, CHUNK):
        seconds, _ = timed(lambda count=count: pairs_in(grid, (last - count, last)))
        print(f"pairs tried at once  {count:6d} {1e6 * seconds / count:10.1f} us a pair")
    for stages in ((1,), (2,), (3,)):
        space = SearchSpace(SPACE.bit, SPACE.panels, SPACE.ratio, stages)
        seconds, found = timed(lambda space=space: search(space, DUTY))
        print(f"whole search, {stages[0]} stages     {seconds:10.2f} s  {found!r}")


if __name__ == "__main__":
    main()

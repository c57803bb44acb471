"""Speed, each figure as a ratio to a stated baseline in the same run, and how cost grows.

python tests/benchmarks/run.py            # all of it, some two minutes
python tests/benchmarks/run.py job import # what is named alone
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time

import numpy as np
import shapely
from shapely import affinity

import gearwork as gw
from gearwork.checks.tolerance import SAMPLES, sample_pair
from gearwork.checks.tooth.mesh import mesh_checks
from gearwork.choosing.pairs import CHUNK, PairGrid, pairs_in
from gearwork.choosing.search import search
from gearwork.choosing.space import Limits, SearchSpace
from gearwork.machine.drive import GivenDrive
from gearwork.machine.duty import Duty
from gearwork.machine.load import GivenLoad
from gearwork.verify.rolling import roll_outlines as roll

BIT, SHEET = gw.Bit(3.0), gw.plywood("birch", 12)
SPACE = SearchSpace(gw.Bit(3.175), (SHEET,), ratio=(7.0, 9.0))
DUTY = Duty(GivenDrive(0.5, 400.0), GivenLoad(2.5, 40.0))

EMPTY_FILES = """
import numpy, scipy.optimize, matplotlib.figure, ezdxf, io
matplotlib.figure.Figure().savefig(io.BytesIO(), format="pdf")
ezdxf.new().write(io.StringIO())
"""
MAIN_JOB = """
import contextlib, io
from gearwork.cli import main
with contextlib.redirect_stdout(io.StringIO()):
    main([{design!r}, "--into", {folder!r}])
"""
SEARCHED = ("orchard-cart", "cider-mill", "drying-carousel")


def best(work, times=5):
    """Shortest of several runs, s."""
    work()
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def best_in_turn(ours, baseline, rounds, each):
    """The same of ours and its baseline, run in turn: a slow spell of the machine meets both."""
    found = [(best(ours, each), best(baseline, 1)) for _ in range(rounds)]
    return tuple(map(min, zip(*found, strict=True)))


def show(name, ours, baseline, wanted):
    """One line of the result."""
    print(f"{name:60} {1e3 * ours:9.2f} ms {ours / baseline:8.3g} x baseline ({wanted})")


def grows(name, costs):
    """How the cost of one piece changes with their number: level is proportional."""
    each = ", ".join(f"{count}: {1e6 * seconds / count:.3g}" for count, seconds in costs.items())
    print(f"    µs per {name}, by their number: {each}")


def mesh(wheel_teeth=38):
    """A pair with backlash."""
    return gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, wheel_teeth, thinning=0.2))


def edges(pair):
    """Both outlines of a pair."""
    gears = (pair.pinion, pair.wheel), (pair.wheel, pair.pinion)
    return [gw.gear_outline(gear, BIT, mate, pair.centre_distance) for gear, mate in gears]


def outline():
    """One gear, against rounding its sampled polygon at the same deviation."""
    gear = gw.Gear(5, 40)
    sampled = shapely.Polygon(gw.gear_outline(gear, BIT).points(0.005))
    steps = int(np.ceil((np.pi / 2) / (2 * np.arccos(1 - 0.005 / 1.5))))
    ours, rounded = best_in_turn(
        lambda: gw.gear_outline(gw.Gear(5, 40), BIT),
        lambda: sampled.buffer(1.5, quad_segs=steps).buffer(-1.5, quad_segs=steps),
        30,
        20,
    )
    show("outline of 40 teeth / shapely rounding", ours, rounded, "wanted <= 0.15")
    gears = {teeth: gw.Gear(5, teeth) for teeth in (20, 80, 320)}
    grows("tooth", {z: best(lambda g=g: gw.gear_outline(g, BIT)) for z, g in gears.items()})


def check():
    """The full check of a pair, against cutting its two outlines."""
    pair, outlines = mesh(), best(lambda: edges(mesh()))

    def full(pair=pair):
        mesh_checks.cache_clear()  # each is a new pair
        return gw.check_pair(
            gw.CutPair(pair, BIT), SHEET, torque=2.0, speed=150.0, stall_torque=4.0
        )

    show("full check of a pair / its two outlines", best(full), outlines, "no limit")
    pairs = {z: mesh(z) for z in (20, 80, 320)}
    grows("tooth of the wheel", {z: best(lambda p=p: full(p)) for z, p in pairs.items()})


def searching():
    """Pairs the search checks, against `check_pair` of pairs spread over its table."""
    grid = PairGrid(SPACE, Limits(), SPACE.teeth_pairs)
    last = len(grid) // CHUNK * CHUNK
    table, _ = pairs_in(grid, (last - CHUNK, last))
    rows = np.linspace(0, len(table) - 1, 40).astype(int)
    singles = [table.pair(row, SPACE) for row in rows]

    def one_by_one():
        mesh_checks.cache_clear()  # they are new pairs in each round
        for pair in singles:
            cut = gw.CutPair(pair, SPACE.bit)
            gw.check_pair(cut, SHEET, torque=0.5, speed=100.0, stall_torque=1.0)

    seconds = {
        n: best(lambda n=n: pairs_in(grid, (last - n, last)), 3)
        for n in (CHUNK // 100, CHUNK // 10, CHUNK)
    }
    single = best(one_by_one, 3) / len(singles)
    tried, passed = seconds[CHUNK] / CHUNK, seconds[CHUNK] / len(table)
    show("search, one pair of all it tries / check_pair", tried, single, "wanted <= 1/1000")
    show("search, one pair of those that pass / check_pair", passed, single, "wanted <= 1/1000")
    grows("pair tried", seconds)
    for stages in (1, 2, 3):
        space = SearchSpace(SPACE.bit, SPACE.panels, SPACE.ratio, (stages,))
        show(
            f"whole search of {stages} stages / check_pair",
            best(lambda s=space: search(s, DUTY), 1),
            single,
            "no limit",
        )


def rolling():
    """Outlines turned against each other in 720 positions, against polygon intersection."""
    pair = mesh()
    own = edges(pair)
    pinion, wheel = (shapely.Polygon(edge.points()) for edge in own)
    wheel = affinity.translate(wheel, pair.centre_distance)

    def polygons():
        for turn in np.linspace(0, 360, 720):
            turned = affinity.rotate(pinion, turn, origin=(0, 0))
            mate = affinity.rotate(wheel, -turn / pair.gear_ratio, origin=(pair.centre_distance, 0))
            turned.intersection(mate)

    def turned(pair, outlines, positions=720):
        teeth = int(pair.pinion.teeth), int(pair.wheel.teeth)
        return roll(*outlines, pair.centre_distance, teeth, positions)

    ours, theirs = best_in_turn(lambda: turned(pair, own), polygons, 4, 25)
    show("rolling 720 positions / shapely intersection", ours, theirs, "wanted <= 0.02")
    grows("position", {n: best(lambda n=n: turned(pair, own, n)) for n in (72, 720, 7200)})
    pairs = {z: (mesh(z), tuple(edges(mesh(z)))) for z in (20, 80, 320)}
    grows("tooth of the wheel", {z: best(lambda p=p: turned(*p)) for z, p in pairs.items()})


def sampling():
    """What scatter does to a pair, against making one pair and asking for its backlash."""
    pair = mesh()
    single = best(lambda: [mesh().backlash for _ in range(20)]) / 20
    ours = best(lambda: sample_pair(gw.CutPair(pair, BIT)).chance_of_binding)
    show(f"{SAMPLES} samples / as many single pairs", ours, single * SAMPLES, "no limit")
    counts = (SAMPLES // 10, SAMPLES, 10 * SAMPLES)
    grows(
        "sample",
        {n: best(lambda n=n: sample_pair(gw.CutPair(pair, BIT), samples=n)) for n in counts},
    )


def alternating(code, baseline, times, wanted, name, *, of_processor=False):
    """Two processes in turn, so that whatever else the machine does hits both.

    By the clock, or by the time of the processor that they and their children take.
    """
    with tempfile.TemporaryDirectory() as compiled:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": compiled}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)

        def seconds(source):
            start = os.times()
            subprocess.run([sys.executable, "-c", source], check=True, env=environment)
            taken = [after - before for before, after in zip(start, os.times(), strict=True)]
            _, _, children_user, children_system, elapsed = taken
            return children_user + children_system if of_processor else elapsed

        seconds(code), seconds(baseline)
        runs = [(seconds(code), seconds(baseline)) for _ in range(times)]
    ours, theirs = (min(each) for each in zip(*runs, strict=True))
    show(name, ours, theirs, wanted)
    paired = statistics.median(mine / other for mine, other in runs)
    print(f"    median of {times} runs in turn: {paired:.3f} x baseline")


def imports():
    """`import gearwork`, against `import numpy`; compiled files at hand, as after installing."""
    alternating("import gearwork", "import numpy", 11, "wanted <= 1.3", "import gearwork / numpy")


def job():
    """The main job, against a process that imports libraries and saves two empty files."""
    with tempfile.TemporaryDirectory() as folder:
        code = MAIN_JOB.format(design=gw.EXAMPLES[0], folder=folder)
        alternating(code, EMPTY_FILES, 7, "wanted <= 1.8", "main job / imports and empty files")


def searched():
    """The main job of examples whose trains are searched, time of the processor: see `job`."""
    for design in SEARCHED:
        with tempfile.TemporaryDirectory() as folder:
            code = MAIN_JOB.format(design=design, folder=folder)
            name = f"{design} / imports and empty files, processor"
            alternating(code, EMPTY_FILES, 3, "wanted <= 2.5", name, of_processor=True)


BENCHMARKS = {
    "outline": outline, "check": check, "search": searching, "rolling": rolling,
    "sampling": sampling, "import": imports, "job": job, "searched": searched,
}  # fmt: skip

if __name__ == "__main__":
    for chosen in sys.argv[1:] or BENCHMARKS:
        BENCHMARKS[chosen]()

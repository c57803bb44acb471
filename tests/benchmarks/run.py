"""Speed, each figure as a ratio to a stated baseline in the same run."""

import subprocess
import sys
import tempfile
import time

import numpy as np
import shapely
from shapely import affinity

import gearwork as gw
from gearwork.checks.rolling import roll

EMPTY_FILES = """
import numpy, scipy.optimize, matplotlib.figure, ezdxf, io
matplotlib.figure.Figure().savefig(io.BytesIO(), format="pdf")
ezdxf.new().write(io.StringIO())
"""


def best(work, times=5):
    """Shortest of several runs, s."""
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def python(code):
    """Work that runs code in a process of its own."""
    return lambda: subprocess.run([sys.executable, "-c", code], check=True)


def show(name, ours, baseline, limit):
    """One line of the result."""
    ratio = ours / baseline
    print(f"{name:58} {1e3 * ours:9.2f} ms {ratio:7.3f} x baseline (wanted: {limit})")


def outline():
    """One gear against rounding its sampled polygon at the same deviation."""
    gear, bit = gw.Gear(5, 40), gw.Bit(3.0)
    sampled = shapely.Polygon(gw.gear_outline(gear, bit).points(0.005))
    steps = int(np.ceil((np.pi / 2) / (2 * np.arccos(1 - 0.005 / 1.5))))

    def rounded():
        for _ in range(20):
            sampled.buffer(1.5, quad_segs=steps).buffer(-1.5, quad_segs=steps)

    def ours():
        for _ in range(20):
            gw.gear_outline(gear, bit)

    ours()
    show("outline of 40 teeth / shapely rounding", best(ours) / 20, best(rounded) / 20, "<= 0.25")


def rolling():
    """720 positions against polygon intersection."""
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    edges = [
        gw.gear_outline(gear, gw.Bit(3.0), mate, pair.centre_distance)
        for gear, mate in ((pair.pinion, pair.wheel), (pair.wheel, pair.pinion))
    ]
    pinion, wheel = (shapely.Polygon(edge.points()) for edge in edges)
    wheel = affinity.translate(wheel, pair.centre_distance)

    def polygons():
        for turn in np.linspace(0, 360, 720):
            turned = affinity.rotate(pinion, turn, origin=(0, 0))
            mate = affinity.rotate(wheel, -turn / pair.gear_ratio, origin=(pair.centre_distance, 0))
            turned.intersection(mate)

    ours = best(lambda: roll(*edges, pair.centre_distance, (14, 38), 720))
    show("rolling 720 positions / shapely intersection", ours, best(polygons, 2), "<= 0.05")


def processes():
    """Import and main job against processes that only import."""
    numpy, own = best(python("import numpy")), best(python("import gearwork"))
    show("import gearwork / import numpy", own, numpy, "<= 1.3")
    with tempfile.TemporaryDirectory() as folder:
        job = f"from gearwork.__main__ import main; main(['--into', {folder!r}])"
        code = f"import contextlib, io\nwith contextlib.redirect_stdout(io.StringIO()): {job}"
        show(
            "main job / imports and empty files",
            best(python(code), 3),
            best(python(EMPTY_FILES)),
            "<= 2.5",
        )


if __name__ == "__main__":
    outline()
    rolling()
    processes()

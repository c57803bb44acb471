"""Writes the pictures of the README into notebooks/pictures."""

from pathlib import Path

import gearwork as gw
from gearwork.plot.style import png_of

FOLDER = Path(__file__).parent / "pictures"
RESOLUTION = 90.0


def pictures() -> dict[str, bytes]:
    """Return the picture files by name."""
    hauler = gw.solve(gw.example_brief())
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    return {
        "train.svg": gw.plot_train(hauler.train, hauler.brief.bit).svg.encode(),
        "mesh.svg": gw.plot_mesh(gw.CutPair(pair, gw.Bit(3.0))).svg.encode(),
        "pull-and-speed.png": png_of(gw.plot_pull_and_speed(hauler.duty)[0], RESOLUTION),
    }


def main() -> None:
    """Draw and save every picture."""
    FOLDER.mkdir(exist_ok=True)
    for name, data in pictures().items():
        (FOLDER / name).write_bytes(data)


if __name__ == "__main__":
    main()

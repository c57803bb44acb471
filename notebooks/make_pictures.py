"""Writes the pictures of the README into notebooks/pictures."""

from pathlib import Path

import gearwork as gw

FOLDER = Path(__file__).parent / "pictures"


def main() -> None:
    """Draw and save every picture."""
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    axes = gw.plot_mesh(pair, gw.Bit(3.0))
    axes.figure.savefig(FOLDER / "mesh.png", dpi=90, metadata={"Software": None})


if __name__ == "__main__":
    main()

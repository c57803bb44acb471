"""Random teeth broken by nonlinear elements, against what the formula of the rating allows.

Prints its seed and a line for each tooth; ends with status 1 if a tooth is allowed more than the
5th percentile of the elements, or more than their linear peak of tension leaves. 200 teeth take
about a quarter of an hour.
"""

import argparse
import sys
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from broken_teeth import SEED, Margins, random_teeth


def main() -> int:
    """Break teeth until there are enough."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=SEED)
    asked = parser.parse_args()
    print(f"seed {asked.seed}; load the elements bear over the formula's: linear peak, first fibre")
    found = []
    for number, (cut, panel) in enumerate(islice(random_teeth(asked.seed), asked.count), 1):
        each = Margins(cut, panel)
        found.append((each.linear, each.first_fibre))
        gear, (linear, first) = cut.gear, found[-1]
        print(
            f"{number} z {gear.teeth} m {gear.module:g} x {gear.profile_shift:g} fillet"
            f" {cut.fillet_diameter:.3f} {panel.name}: {linear:.3f} {first:.3f}",
            flush=True,
        )
    least = [min(each) for each in zip(*found, strict=True)]
    print(f"least of {len(found)}: linear peak {least[0]:.3f}, first fibre {least[1]:.3f}")
    return int(min(least) < 1.0)


if __name__ == "__main__":
    sys.exit(main())

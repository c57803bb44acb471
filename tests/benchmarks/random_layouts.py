"""Random machines built as solids: python tests/benchmarks/random_layouts.py --count 1000.

Prints its seed, what is wrong with any of them, and how many were made; fails where anything is.
"""

import argparse
import secrets
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from random_design import design_text
from solids import faults

from gearwork.errors import GearworkError
from gearwork.machine.design import Design
from gearwork.spec.spec import parse_brief


def main() -> None:
    """Build until so many machines were made."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--count", type=int, default=1000)
    options.add_argument("--seed", type=int, default=secrets.randbelow(10**8))
    given = options.parse_args()
    print(f"seed {given.seed}", flush=True)
    made = wrong = number = 0
    while made < given.count:
        try:
            design = Design(parse_brief(design_text(given.seed, number), f"random {number}"))
            found = faults(design)
            made, wrong = made + 1, wrong + bool(found)
            for fault in found:
                print(f"{number}: {fault}", flush=True)
        except GearworkError:
            pass
        number += 1
    print(f"{number} design files, {made} machines, {wrong} of them not whole")
    sys.exit(wrong > 0)


if __name__ == "__main__":
    main()

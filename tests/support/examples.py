"""The examples as solved, each once for all tests of a process."""

from functools import cache

import gearwork as gw


@cache
def example(name="orchard-hauler"):
    return gw.solve(gw.example_brief(name))

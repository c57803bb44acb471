"""What must hold of every machine whose train is searched, whatever was wished for."""

import pytest
from random_brief import answered, brief_text

SEED = 20261128
"""Of a series; `tests/benchmarks/random_designs.py --searched` runs as many as one likes."""


@pytest.mark.parametrize(
    "number", [0, *(pytest.param(n, marks=pytest.mark.slow) for n in range(1, 10))]
)
def test_no_load_moves_faster_than_asked_and_what_cannot_be_says_what_must_yield(number):
    assert answered(brief_text(SEED, number))

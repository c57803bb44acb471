"""Proofs by volume: of many cases some run each time, all of them with `-m slow`."""

import pytest


def every(step, cases):
    """The cases as parameters: the first and each step-th run each time, the others are slow."""
    rows = []
    for place, case in enumerate(cases):
        one = case if hasattr(case, "marks") else pytest.param(*_values(case))
        slow = [pytest.mark.slow] if place % step else []
        rows.append(pytest.param(*one.values, id=one.id, marks=[*one.marks, *slow]))
    return rows


def _values(case):
    return case if isinstance(case, tuple) else (case,)

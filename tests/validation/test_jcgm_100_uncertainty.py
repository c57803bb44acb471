"""Student's t, two-sided 95 %.

Source: JCGM 100 (GUM), Table G.2 (from memory). Half of the last printed digit.
"""

import numpy as np
import pytest

from gearwork.machine.evaluation import (
    student_quantile,
)

# Student's t, two-sided 95 % (JCGM 100, Table G.2, from memory), half of the last digit printed.
STUDENT = [(1, 12.71), (2, 4.30), (3, 3.18), (4, 2.78), (5, 2.57), (8, 2.31), (10, 2.23),
           (20, 2.09), (50, 2.01), (np.inf, 1.96)]  # fmt: skip


@pytest.mark.parametrize(("freedom", "printed"), STUDENT)
def test_student_quantiles_as_printed(freedom, printed):
    assert student_quantile(0.975, freedom) == pytest.approx(printed, abs=0.0051)

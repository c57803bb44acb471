"""The sample in output/ is what the command writes today."""

from pathlib import Path

import gearwork as gw
from gearwork.shop.files import MANIFEST

SAMPLE = Path(__file__).parents[1] / "output"


def test_the_committed_sample_is_what_the_example_writes(tmp_path):
    gw.write_files(gw.solve(gw.example_brief()), tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(p.name for p in SAMPLE.iterdir())
    for path in tmp_path.iterdir():
        if path.suffix != ".pdf" and path.name != MANIFEST:  # vary with library versions
            assert (SAMPLE / path.name).read_bytes() == path.read_bytes(), path.name

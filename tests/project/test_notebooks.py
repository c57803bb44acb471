"""Every notebook is stored without outputs and runs from top to bottom."""

from copy import deepcopy
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = {
    path.stem: nbformat.read(path, as_version=4)
    for path in sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
}


def code(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebook_is_stored_without_outputs_and_asserts_something(name):
    cells = code(NOTEBOOKS[name])
    assert all(not cell.outputs and cell.execution_count is None for cell in cells)
    assert any("assert" in cell.source for cell in cells)


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebook_imports_public_names_alone(name):
    for cell in code(NOTEBOOKS[name]):
        assert "from gearwork" not in cell.source, cell.source
        assert "import gearwork." not in cell.source, cell.source


@pytest.mark.filterwarnings("default")  # the kernel's own libraries warn
@pytest.mark.slow
def test_notebooks_run():
    """One after the other in one kernel, which forgets all names before each."""
    every = nbformat.v4.new_notebook()
    for notebook in NOTEBOOKS.values():
        every.cells += [nbformat.v4.new_code_cell("%reset -f"), *deepcopy(notebook.cells)]
    NotebookClient(every, timeout=60, kernel_name="python3").execute()
    # A cell that may raise where ipywidgets is missing must not do so here.
    assert not [out for cell in code(every) for out in cell.outputs if out.output_type == "error"]

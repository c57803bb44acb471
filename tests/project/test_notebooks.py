"""Every notebook is stored without outputs and runs from top to bottom."""

import json
from pathlib import Path

import pytest

NOTEBOOKS = {
    path.stem: path for path in sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
}


def code(name):
    cells = json.loads(NOTEBOOKS[name].read_text("utf-8"))["cells"]
    return [cell for cell in cells if cell["cell_type"] == "code"]


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebook_is_stored_without_outputs_and_asserts_something(name):
    cells = code(name)
    assert all(not cell["outputs"] and cell["execution_count"] is None for cell in cells)
    assert any("assert" in "".join(cell["source"]) for cell in cells)


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebook_imports_public_names_alone(name):
    for cell in code(name):
        source = "".join(cell["source"])
        assert "from gearwork" not in source, source
        assert "import gearwork." not in source, source


@pytest.mark.filterwarnings("default")  # the kernel's own libraries warn
@pytest.mark.slow
def test_notebooks_run():
    """One after the other in one kernel, which forgets all names before each."""
    import nbformat  # here: it takes seconds to load, in each process that collects tests
    from nbclient import NotebookClient

    every = nbformat.v4.new_notebook()
    for path in NOTEBOOKS.values():
        notebook = nbformat.read(path, as_version=4)
        every.cells += [nbformat.v4.new_code_cell("%reset -f"), *notebook.cells]
    NotebookClient(every, timeout=60, kernel_name="python3").execute()
    # A cell that may raise where ipywidgets is missing must not do so here.
    ran = [cell for cell in every.cells if cell.cell_type == "code"]
    assert not [out for cell in ran for out in cell.outputs if out.output_type == "error"]

import sys

import jinja2
import pytest

from gearwork.output.jobsheet import pages


@pytest.mark.parametrize(("silent", "folder", "kept"), [
    (False, ".", 1), (True, ".", 0), (False, "missing", 0),
])  # fmt: skip
def test_compiled_templates_are_kept_where_python_keeps_its_own(
    silent, folder, kept, tmp_path, monkeypatch
):
    monkeypatch.setattr(sys, "dont_write_bytecode", silent)
    cache = pages._Compiled()
    cache.directory = str(tmp_path / folder)

    def page():
        loader = jinja2.DictLoader({"page": "{{ teeth }} teeth"})
        environment = jinja2.Environment(loader=loader, bytecode_cache=cache)
        return environment.get_template("page").render(teeth=38)

    assert page() == page() == "38 teeth"
    assert len(list(tmp_path.iterdir())) == kept

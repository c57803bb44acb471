"""The house keeps its shape: imports run one way, heavy libraries stay where they belong."""

import ast
import subprocess
import sys
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import gearwork as gw

PACKAGE = Path(gw.__file__).parent
FLOORS = (
    "errors",
    "lazy",
    "numbers",
    "geometry",
    "stock",
    "fem",
    "checks",
    "machine",
    "choosing",
    "spec",
    "output",
    "verify",
    "plot",
    "cli",
)
HOMES = {
    "matplotlib": ("plot/",),
    "ezdxf": ("output/", "verify/"),
    "reportlab": ("output/pdf.py",),
}


@cache
def parsed(path):
    return ast.parse(path.read_text("utf-8"))


@cache
def imports(path):
    """Names imported anywhere in a module, late ones included."""
    return tuple(_imports(path))


def _imports(path):
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


MODULES = {
    "gearwork." + ".".join(path.relative_to(PACKAGE).with_suffix("").parts): path
    for path in sorted(PACKAGE.rglob("*.py"))
    if path.name not in ("__init__.py", "__main__.py")
}


def floor(module):
    return FLOORS.index(module.split(".")[1])


def test_imports_run_one_way():
    upward = [
        f"{module} imports {other}"
        for module, path in MODULES.items()
        for other in imports(path)
        if other in MODULES and floor(other) > floor(module)
    ]
    assert upward == []


def test_imports_make_no_cycle():
    graph = {
        module: {other for other in imports(path) if other in MODULES}
        for module, path in MODULES.items()
    }
    list(TopologicalSorter(graph).static_order())  # raises CycleError


SHOWN = ("title", "why", "remedy")
TEXT_METHODS = ("startswith", "endswith", "removeprefix", "removesuffix", "partition", "split")
SEARCHES = ("match", "search", "fullmatch", "findall", "find", "index", "count")
JUDGED = ("check", "report", "rim", "again", "fault.check")


def _reads_shown(node):
    """Whether an expression is the name, title or sentence of a check or report."""
    if not isinstance(node, ast.Attribute):
        return False
    owner = ast.unparse(node.value)
    return node.attr in SHOWN or (node.attr == "name" and owner.split(".")[-1] in JUDGED)


def decisions_on_text(tree):
    """Comparisons, and calls of methods that take text apart, of what is made for people."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            asked = [node.left, *node.comparators]
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", "") in TEXT_METHODS:
            asked = [node.func.value]
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", "") in SEARCHES:
            asked = [node.func.value, *node.args]
        elif isinstance(node, ast.Subscript):
            asked = [node.value]
        else:
            continue
        if any(map(_reads_shown, asked)):
            yield ast.unparse(node)


def test_decisions_on_text_are_seen():
    for wrong in (
        "if check.name.startswith('rod'): pass",
        "[c for check in report if 'wheel' in check.name]",
        "check.name == 'edge load'",
        "report.title.removeprefix('wheel with ')",
        "fault.check.name.split(',')[0]",
        "re.search(r'at least ([\\d.]+)', check.remedy)",
        "check.why.find('teeth')",
    ):
        assert list(decisions_on_text(ast.parse(wrong))), wrong
    assert not list(decisions_on_text(ast.parse("print(check.name, report.title)")))


def test_no_decision_reads_text_made_for_people():
    """But the lookup of a report by a check's name."""
    found = [
        f"{path.relative_to(PACKAGE)}: {text}"
        for path in PACKAGE.rglob("*.py")
        for text in decisions_on_text(parsed(path))
    ]
    assert found == ["checks/check.py: check.name == name"]


def test_only_a_written_file_is_told_what_no_key_can_say():
    """Advice is keys and values; a sentence in their place stands in verify/ alone."""
    told = {
        ast.unparse(keyword.value)
        for path in PACKAGE.rglob("*.py")
        if path.parent.name != "verify"
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("Check", "replace")
        for keyword in node.keywords
        if keyword.arg == "otherwise"
    }
    assert told == {"NO_WAY", "'' if check.ok else NO_WAY"}


def test_heavy_libraries_stay_in_their_modules():
    for library, homes in HOMES.items():
        users = {
            str(path.relative_to(PACKAGE))
            for path in PACKAGE.rglob("*.py")
            if any(name.split(".")[0] == library for name in imports(path))
        }
        strangers = {user for user in users if not user.startswith(homes)}
        assert strangers == set(), library


def test_importing_gearwork_loads_no_heavy_library():
    code = (
        "import sys, gearwork; heavy = 'numpy scipy matplotlib ezdxf reportlab skfem'.split(); "
        "print([m for m in heavy if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_public_name_is_there_and_explains_itself():
    for name in gw.__all__:
        thing = getattr(gw, name)
        assert thing.__doc__, name


TESTS = Path(__file__).parents[1]
BESIDE = ("validation", "wiring", "properties", "project", "support", "benchmarks")
WHOLE_ROOM = ("plot/test_plots.py",)


def test_tests_mirror_the_package():
    """`test_x.py` or `test_x_topic.py` stands where module x stands in the package."""
    strangers = []
    for path in TESTS.rglob("test_*.py"):
        place = path.relative_to(TESTS)
        if place.parts[0] in BESIDE or str(place) in WHOLE_ROOM:
            continue
        words = place.stem.split("_")[1:]
        names = ("_".join(words[:count]) for count in range(1, len(words) + 1))
        room = PACKAGE / place.parent
        if not any((room / f"{name}.py").exists() or (room / name).is_dir() for name in names):
            strangers.append(str(place))
    assert strangers == []


def test_every_file_of_published_figures_opens_with_its_source():
    for path in (TESTS / "validation").glob("*.py"):
        said = ast.get_docstring(ast.parse(path.read_text("utf-8")))
        assert said, path.name
        assert "Source" in said or "ISO" in said, path.name


@pytest.mark.slow
def test_the_command_loads_no_library_of_graphs(tmp_path):
    code = (
        "import sys; from gearwork.cli import main; "
        f"main(['apple-washer', '--into', {str(tmp_path / 'washer')!r}]); "
        "print([m for m in ('matplotlib', 'skfem', 'IPython') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"

"""The examples solved, once for all; how hard the property tests look.

Property tests: a few fixed examples, or many with `--hypothesis-profile thorough`.
"""

import gc
import os

# One test process for each core: threads of the linear algebra would only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from examples import example
from hypothesis import HealthCheck, settings

import gearwork as gw
from gearwork.output.write import write_folder
from gearwork.spec.spec import example_text, parse_brief

settings.register_profile(
    "quick",
    derandomize=True,
    deadline=None,
    database=None,
    max_examples=8,
    suppress_health_check=[HealthCheck.too_slow],  # a busy machine is no fault
)
settings.register_profile("slow", parent=settings.get_profile("quick"), max_examples=30)
settings.register_profile(
    "thorough",
    parent=settings.get_profile("quick"),
    derandomize=False,
    max_examples=2000,
    print_blob=True,
)
settings.load_profile("quick")
gc.set_threshold(20_000)  # what tests share is kept: looking through it again finds nothing


def pytest_configure(config):
    """Property tests are slow ones too, with more examples."""
    if config.option.markexpr == "slow" and not config.getoption("--hypothesis-profile"):
        settings.load_profile("slow")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    if config.option.markexpr == "slow":
        for item in items:
            if getattr(item.function, "is_hypothesis_test", False):
                item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="session")
def hauler():
    """The example whose stages are given."""
    return example("orchard-hauler")


@pytest.fixture(scope="session")
def cart():
    """The example of two stages that are searched."""
    return example("orchard-cart")


@pytest.fixture(scope="session")
def mill():
    """The example of one stage that is searched."""
    return example("cider-mill")


@pytest.fixture(scope="session")
def mill_choices():
    """Machines to choose from for it."""
    return gw.choices(gw.example_brief("cider-mill"), count=3)


@pytest.fixture(scope="session")
def carousel():
    """The example of three stages that are searched."""
    return example("drying-carousel")


@pytest.fixture(scope="session")
def gate():
    """The example that ends in a rack."""
    return example("orchard-gate")


@pytest.fixture(scope="session")
def hauler_files(hauler, tmp_path_factory):
    """Everything written for it; a test that changes a file takes a copy."""
    folder = tmp_path_factory.mktemp("hauler")
    write_folder(hauler, folder)
    return folder


@pytest.fixture(scope="session")
def washer():
    """Two gears without a machine, of two layers each, and with a profile shift."""
    text = example_text("apple-washer")
    for old, new in (
        ("pinion_teeth = 18", "pinion_teeth = 14\npinion_shift = 0.25"),
        ("wheel_teeth = 49", "wheel_teeth = 38\nlayers = 2"),
    ):
        assert old in text
        text = text.replace(old, new)
    return gw.solve(parse_brief(text, "apple-washer.toml"))


@pytest.fixture(scope="session")
def washer_files(washer, tmp_path_factory):
    """Everything written for it; a test that changes a file takes a copy."""
    folder = tmp_path_factory.mktemp("washer")
    write_folder(washer, folder)
    return folder

"""How hard the property tests look: a few fixed examples, or `--hypothesis-profile thorough`."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "quick",
    derandomize=True,
    deadline=None,
    database=None,
    max_examples=15,
    suppress_health_check=[HealthCheck.too_slow],  # a busy machine is no fault
)
settings.register_profile(
    "thorough",
    parent=settings.get_profile("quick"),
    derandomize=False,
    max_examples=2000,
    print_blob=True,
)
settings.load_profile("quick")

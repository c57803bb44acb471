"""A drive, a load, the ratio between them, and the train of gears that makes it.

Names that few need at hand stand here: ``gearwork.machine.Motor`` and the like.
"""

from importlib import import_module
from typing import Any

_HOMES = {
    "Motor": "drive",
    "HandCrank": "drive",
    "GivenDrive": "drive",
    "RopeDrum": "load",
    "GivenLoad": "load",
    "Vehicle": "vehicle",
    "check_duty": "duty",
    "Stage": "stage",
    "Frame": "frame",
    "ShaftParts": "frame",
    "GearTrain": "train",
    "check_train": "train_check",
    "Brief": "brief",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'gearwork.machine' has no attribute {name!r}")
    return getattr(import_module(f"gearwork.machine.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return __all__

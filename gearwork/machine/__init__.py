"""A drive, a load, the ratio between them, and the train of gears that makes it.

Names that few need at hand stand here: ``gearwork.machine.Motor`` and the like.
"""

from gearwork.lazy import lazy

__getattr__, __dir__, __all__ = lazy(
    __name__,
    {
        "Motor": "drive",
        "HandCrank": "drive",
        "GivenDrive": "drive",
        "RopeDrum": "load",
        "GivenLoad": "load",
        "Vehicle": "vehicle",
        "RackLoad": "slide",
        "check_duty": "duty",
        "Stage": "stage",
        "Frame": "frame",
        "ShaftParts": "frame",
        "GearTrain": "train",
        "check_train": "train",
        "Brief": "brief",
        "GearSet": "gear_set",
        "make_break_test": "break_test",
    },
)

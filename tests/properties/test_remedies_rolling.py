"""What the remedies tell of two cut outlines set at a wrong distance is enough."""

from hypothesis import assume, given
from remedies import told
from strategies import between, one_in, running_pairs

import gearwork as gw
from gearwork.verify.rolling import check_rolling


def setting(distance, text):
    """The distance that a remedy asks for."""
    apart, nearer = told(r"# mm farther apart", text), told(r"# mm nearer", text)
    if apart:
        return distance + apart[0]
    return distance - nearer[0] if nearer else None


@one_in(3)
@given(running_pairs(max_teeth=40), between(-0.1, 0.6))
def test_the_distance_told_is_enough(case, off):
    pair, bit = case
    assume(pair.contact_ratio > 1.1)
    pinion = gw.gear_outline(pair.pinion, bit, pair.wheel, pair.centre_distance)
    wheel = gw.gear_outline(pair.wheel, bit, pair.pinion, pair.centre_distance)
    teeth = int(pair.pinion.teeth), int(pair.wheel.teeth)
    distance = pair.centre_distance + off * pair.pinion.module

    def judged(at):
        found = check_rolling(pinion, wheel, at, teeth, tolerance=0.0)
        return {check.name.split(",")[0]: check for check in found}

    for name, check in judged(distance).items():
        again = None if check.ok else setting(distance, check.remedy)
        if again is not None:
            assert judged(again)[name].ok, f"{check}\n{judged(again)[name]}"

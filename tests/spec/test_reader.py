from gearwork.spec.reader import Reader


def test_a_key_of_an_earlier_version_is_answered_by_todays():
    def crank(max_power=1.0, cadence=2.0):
        return max_power, cadence

    reader = Reader()
    assert reader.make("drive", {"greatest_power": 1.0, "pace": 30.0}, crank) is None
    assert reader.faults == [
        "[drive] greatest_power is called max_power now",
        "[drive] pace is called cadence now",
    ]

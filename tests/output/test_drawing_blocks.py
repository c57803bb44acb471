import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Cut, Part, Placed
from gearwork.machine.parts import frame_places
from gearwork.output.drawing.blocks import FROM_DRIVE, FROM_LOAD, LYING, View, blocks_drawing

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
SQUARE = Outline([(0, 0), (10, 0), (10, 10), (0, 10)], [0, 0, 0, 0])


def test_a_cube_shows_three_faces_and_the_holes_of_those():
    """Two sides and the face that looks this way; a pocket is seen from its own side alone."""
    pocket = Cut(Outline.circle(4.0, (5.0, 5.0)), "pocket", 2.0)
    cube = Part("cube", SQUARE, 10.0, (pocket, Cut.drilled(2.0, (2.0, 2.0))))
    for rows, holes in ((FROM_LOAD, 2), (FROM_DRIVE, 1), (LYING, 2)):
        drawn = blocks_drawing("cube", View(rows), [Placed(cube, (0.0, 0.0, 0.0), X, Y)])
        assert len(drawn.shapes) == 3 + holes
        sides = [abs(shape.outline.area) for shape in drawn.shapes[:3]]
        # the silhouette of a cube: its three faces by the view's vector, each 10 x 10
        assert sorted(sides) == pytest.approx(sorted(abs(100.0 * View(rows).towards)), rel=1e-3)


def test_what_is_nearer_is_drawn_later():
    """From the load's side a plate at a larger z hides one at a smaller."""
    assert View(FROM_LOAD).towards[2] > 0 > View(FROM_DRIVE).towards[2]
    assert View(LYING).towards[2] > 0


@pytest.mark.parametrize("name", ["hauler", "cart", "mill"])
def test_tenons_stand_in_the_slots_of_their_plates(name, request):
    """Of every board but the lid's: each corner of a tenon is inside a slot, in space."""
    made = request.getfixturevalue(name)
    places = frame_places(made.train, made.parts)
    slots, plates = [], [one for one in places if "plate" in one.part.name]
    for plate in plates:
        cuts = [cut.outline for cut in plate.part.cuts if cut.operation == "inside edge"]
        rings = [plate.at(cut.points(0.05)) for cut in cuts]
        slots.append([Polygon(ring[:, :2]).buffer(1e-6) for ring in rings])
    tried = 0
    for board in places:
        if not board.part.name.startswith(("foot board", "end board")):
            continue
        corners = board.corners
        for plate, holes in zip(plates, slots, strict=True):
            level = sorted(plate.corners[:, 2])
            inside = [
                point
                for height in (0.0, 1.0)
                for point in board.at(board.part.outer.vertices, height)
                if level[0] - 1e-6 <= point[2] <= level[-1] + 1e-6
                and min(abs(point[2] - level[0]), abs(point[2] - level[-1])) < 1e-6
                and not np.isclose(point[2], _face(corners, plate))
            ]
            tried += len(inside)
            for x, y, _ in inside:
                assert any(hole.contains(Point(x, y)) for hole in holes), (board.part.name, x, y)
    assert tried >= 24


def _face(corners, plate):
    """The face of a plate that a board's shoulders stand on."""
    middle = corners[:, 2].mean()
    return min(plate.corners[:, 2], key=lambda z: abs(z - middle))

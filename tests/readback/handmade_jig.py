"""A jig drawn by hand for a bend of 90 degrees: the checks must pass it, and refuse it once something is moved."""

import dataclasses
import math

import cut_parts
import numpy
from bent_runs import Arc, Straight
from jig_model import Jig, Plate

THICK, FIT, HIGH = 6.0, 0.1, 25.0
SHOP = {"thickness": THICK, "slot_fit": FIT, "clearance": 0.5, "gate": 1.0, "lift": 20.0}
RADIUS = 5.0


def contour(*vertices):
    return numpy.array([(*vertex, 0.0)[:3] for vertex in vertices], dtype=float)


def cradle():
    """24 wide with a tab 12 wide; a round saddle open at the top."""
    a = RADIUS + SHOP["clearance"]
    foot = [(-12, 0), (-6, 0), (-6, -THICK), (6, -THICK), (6, 0), (12, 0)]
    arms = [(12, HIGH + 6), (a, HIGH + 6), (a, HIGH, -1), (-a, HIGH), (-a, HIGH + 6), (-12, HIGH + 6)]
    return contour(*foot, *arms)


def plain():
    """The same without a saddle."""
    return contour(*((x, y) for x, y, _ in cradle()[:6]), (12, HIGH + 6), (-12, HIGH + 6))


def pieces():
    x, y, z = numpy.eye(3)
    corner = numpy.array([60, 0, HIGH])
    return [
        Straight(numpy.array([0, 0, HIGH]), x, 60.0),
        Arc(corner + 30 * y, z, -30 * y, math.pi / 2),
        Straight(corner + 30 * (x + y), y, 60.0),
    ]


def jig():
    """The whole of it."""
    up, along, far = numpy.array([0, 0, 1.0]), numpy.array([1.0, 0, 0]), numpy.array([0, 1.0, 0])
    # Name, shape, role, station, middle of the lower face, direction.
    rows = [
        ("stop", plain(), "stop", 0.0, (-THICK - 0.02, 0, 0), along),
        ("c1", cradle(), "cradle", 13.0, (10, 0, 0), along),
        ("c2", cradle(), "cradle", 53.0, (50, 0, 0), along),
        ("c3", cradle(), "cradle", 60 + 15 * math.pi + 13, (90, 40, 0), far),
        ("c4", cradle(), "cradle", 60 + 15 * math.pi + 57, (90, 84, 0), far),
        ("gate", plain(), "gate", 60 + 15 * math.pi + 60, (90, 91, 0), far),
    ]
    line, plates, uprights, slots = pieces(), {}, [], []
    for name, outline, role, station, at, direction in rows:
        across = numpy.cross(up, direction)
        plates[name] = Plate(cut_parts.CutPart(outline, [], []), numpy.array(at, dtype=float), across, up, THICK)
        straight = line[0] if station <= 60 else line[2]
        on = straight.start + straight.along * (station if station <= 60 else station - 60 - 15 * math.pi)
        uprights.append({"part": name, "role": role, "station_mm": station, "at_mm": list(on), "direction": list(direction)})
        half, deep = across * (12 + FIT) / 2, direction * (THICK + FIT) / 2
        middle = numpy.array(at) + direction * THICK / 2
        slots.append(contour(*((middle + u * half + v * deep)[:2] for u, v in [(-1, -1), (1, -1), (1, 1), (-1, 1)])))
    board = cut_parts.CutPart(contour((-20, -25), (115, -25), (115, 110), (-20, 110)), slots, [])
    plates["base"] = Plate(board, numpy.array([0, 0, -THICK]), along, far, THICK)
    return Jig("hand", SHOP, plates, uprights, {1: 1.0}, line, RADIUS)


def with_plate(made, name, plate):
    """The jig with another plate in a place."""
    return dataclasses.replace(made, plates={**made.plates, name: plate})

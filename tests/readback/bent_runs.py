"""Centrelines worked out from a spec's YAML alone, and how far points are from a tube's true walls."""

import dataclasses
import math

import numpy
from closed_form import closed_forms, end_of, length

NO_STRAIGHT = 1e-6
"""Straights shorter than this are none, mm."""


@dataclasses.dataclass
class Straight:
    start: numpy.ndarray
    along: numpy.ndarray
    length: float

    def start_and_direction(self):
        """Where and which way the piece starts."""
        return self.start, self.along

    def end_and_direction(self):
        """Where and which way the piece ends."""
        return self.start + self.along * self.length, self.along

    def measure(self, points):
        """Distances of points from the piece's line, and whether they are beside the piece (to 1e-3 mm)."""
        offset = points - self.start
        at = offset @ self.along
        distance = numpy.linalg.norm(offset - at[:, None] * self.along, axis=1)
        return distance, (at > -1e-3) & (at < self.length + 1e-3)


@dataclasses.dataclass
class Arc:
    centre: numpy.ndarray
    axis: numpy.ndarray
    spoke: numpy.ndarray
    """From the centre to the start."""
    angle: float

    def start_and_direction(self):
        """Where and which way the piece starts."""
        return self.centre + self.spoke, _unit(numpy.cross(self.axis, self.spoke))

    def end_and_direction(self):
        """Where and which way the piece ends."""
        spoke = rotated(self.spoke, self.axis, self.angle)
        return self.centre + spoke, _unit(numpy.cross(self.axis, spoke))

    def measure(self, points):
        """Like `Straight.measure`, from the circle; the slack is in mm at the circle's radius."""
        radius = numpy.linalg.norm(self.spoke)
        offset = points - self.centre
        height = offset @ self.axis
        flat = offset - height[:, None] * self.axis
        reach = numpy.linalg.norm(flat, axis=1)
        across = numpy.cross(self.axis, self.spoke)
        at = numpy.arctan2(flat @ across, flat @ self.spoke)
        # Angles run from just before the start once round.
        slack = 1e-3 / numpy.maximum(reach, 1e-9)
        at = numpy.mod(at + slack, 2 * math.pi) - slack
        return numpy.hypot(reach - radius, height), at < self.angle + slack


def rotated(vector, axis, angle):
    """`vector` turned about a unit axis, right-handed."""
    return (
        vector * math.cos(angle)
        + numpy.cross(axis, vector) * math.sin(angle)
        + axis * numpy.dot(axis, vector) * (1 - math.cos(angle))
    )


def reference_normal(direction):
    """World +Z made square to the direction of travel, or world +X when travelling along it."""
    for axis in (numpy.array([0.0, 0.0, 1.0]), numpy.array([1.0, 0.0, 0.0])):
        square = axis - direction * numpy.dot(axis, direction)
        if numpy.linalg.norm(square) > 1e-9:
            return square / numpy.linalg.norm(square)
    raise AssertionError("no direction is along both axes")


def _unit(vector):
    return vector / numpy.linalg.norm(vector)


def _straight(pieces, at, along, run):
    """Adds a straight where there is one; the point it leads to."""
    if run > NO_STRAIGHT:
        pieces.append(Straight(at, along, run))
        return at + along * run
    return at


def _through_corners(points, radii):
    pieces, at = [], points[0]
    for before, corner, after, radius in zip(points, points[1:], points[2:], radii, strict=False):
        into, out = _unit(corner - before), _unit(after - corner)
        axis = numpy.cross(into, out)
        angle = math.atan2(numpy.linalg.norm(axis), into @ out)
        axis = _unit(axis)
        setback = radius * math.tan(angle / 2)
        start = _straight(pieces, at, into, (corner - before) @ into - setback - (at - before) @ into)
        spoke = -radius * numpy.cross(axis, into)
        pieces.append(Arc(start - spoke, axis, spoke, angle))
        at = corner + out * setback
    along = _unit(points[-1] - points[-2])
    _straight(pieces, at, along, (points[-1] - at) @ along)
    return pieces


def by_table(at, direction, rows, end_length):
    pieces, normal = [], reference_normal(direction)
    for straight, rotation, angle, radius in rows:
        at = _straight(pieces, at, direction, straight)
        axis = rotated(normal, direction, math.radians(rotation))
        spoke = -radius * numpy.cross(axis, direction)
        centre, angle = at - spoke, math.radians(angle)
        pieces.append(Arc(centre, axis, spoke, angle))
        at = centre + rotated(spoke, axis, angle)
        direction, normal = _unit(rotated(direction, axis, angle)), axis
    _straight(pieces, at, direction, end_length)
    return pieces


def _facing(spec, end):
    if isinstance(end, str):
        component, port = end.split(".")
        end = spec["components"][component]["ports"][port]
    return _unit(numpy.array(end["facing"], dtype=float))


def centrelines(spec):
    """The straights and arcs of every run of a spec, by name."""
    unit, found = spec.get("units", "mm"), {}
    radii = {name: run.radii for name, run in closed_forms(spec).items()}
    for name, run in spec["runs"].items():
        if "corners" in run:
            corners = [numpy.array([length(c, unit) for c in corner]) for corner in run["corners"]]
            points = [end_of(spec, run["from"], unit), *corners, end_of(spec, run["to"], unit)]
            found[name] = _through_corners(points, radii[name])
            continue
        at, direction = numpy.zeros(3), numpy.array([1.0, 0.0, 0.0])
        if "from" in run:
            at, direction = end_of(spec, run["from"], unit), _facing(spec, run["from"])
        rows = [
            (length(bend["length"], unit), bend["rotation"], bend["angle"], radius)
            for bend, radius in zip(run["bends"], radii[name], strict=True)
        ]
        found[name] = by_table(at, direction, rows, length(run["end_length"], unit))
    return found


def off_wall(pieces, radius, points):
    """How far each point is from the wall of this radius about the pieces it is beside, mm; inf beside none."""
    off = numpy.full(len(points), numpy.inf)
    for piece in pieces:
        distance, beside = piece.measure(points)
        off = numpy.where(beside, numpy.minimum(off, numpy.abs(distance - radius)), off)
    return off

"""What a spec's runs measure, worked out from its YAML alone: none of the program's own numbers.

Knows as much of the format as the demo specs use, and fails on anything else.
"""

import dataclasses
import fractions
import math
import re

import numpy

MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
# ASTM B88 Table 1: outside diameter and wall, inches.
ASTM_B88 = {("K", "1/2"): (0.625, 0.049)}


@dataclasses.dataclass
class Closed:
    """A run by the closed form, mm."""

    length: float
    outer: float
    inner: float
    radii: list
    """Centreline radii of the bends."""

    @property
    def volume(self):
        """Metal, mm3: section times length of the centreline (Pappus)."""
        return math.pi * (self.outer**2 - self.inner**2) * self.length

    @property
    def area(self):
        """Skin, bore and both ends, mm2."""
        ends = 2 * math.pi * (self.outer**2 - self.inner**2)
        return 2 * math.pi * (self.outer + self.inner) * self.length + ends


def length(value, unit):
    """`2-3/4`, `4 1/2 in`, `12.5 mm` in mm; bare numbers in the spec's unit."""
    if isinstance(value, (int, float)):
        return value * MM[unit]
    match = re.fullmatch(r"([-+]?[\d./ -]*\d)\s*(mm|cm|in|\")?", value.strip())
    assert match, value
    number, own = match.groups()
    sign = -1 if number.startswith("-") else 1
    parts = re.split(r"[ -]+", number.lstrip("+-"))
    return sign * float(sum(fractions.Fraction(part) for part in parts)) * MM["in" if own == '"' else own or unit]


def _tube(tube, unit):
    if "od" in tube:
        return length(tube["od"], unit), length(tube["wall"], unit)
    if tube["standard"] == "EN 1057":
        od, wall = tube["size"].split(" x ")
        return float(od), float(wall)
    assert tube["standard"] == "ASTM B88", tube
    return tuple(25.4 * inches for inches in ASTM_B88[tube["type"], str(tube["size"])])


def end_of(spec, end, unit):
    """Where the tube ends: a point, or as deep behind the face of a port as its fitting says, mm."""
    if isinstance(end, str):
        component, port = end.split(".")
        end = spec["components"][component]["ports"][port]
    elif isinstance(end, list):
        end = {"at": end}
    at = numpy.array([length(c, unit) for c in end["at"]])
    if "fitting" not in end:
        return at
    facing = numpy.array(end["facing"], dtype=float)
    insert = length(spec["fittings"][end["fitting"]]["insert"], unit)
    return at - facing / numpy.linalg.norm(facing) * insert


def _through_corners(points, radius):
    """Length of a polyline whose corners are rounded: each bend takes two setbacks and gives an arc."""
    legs = [b - a for a, b in zip(points, points[1:], strict=False)]
    total = sum(numpy.linalg.norm(leg) for leg in legs)
    for into, out in zip(legs, legs[1:], strict=False):
        turn = math.acos(into @ out / numpy.linalg.norm(into) / numpy.linalg.norm(out))
        total += radius * (turn - 2 * math.tan(turn / 2))
    return total


def closed_forms(spec):
    """The spec's runs by name."""
    unit = spec.get("units", "mm")
    found = {}
    for name, run in spec["runs"].items():
        od, wall = _tube(run.get("tube", spec.get("tube")), unit)
        clr = length(run.get("bender", spec.get("bender"))["clr"], unit)
        if "bends" in run:
            radii = [length(bend.get("clr", clr / MM[unit]), unit) for bend in run["bends"]]
            total = sum(length(bend["length"], unit) for bend in run["bends"]) + length(run["end_length"], unit)
            total += sum(r * math.radians(bend["angle"]) for r, bend in zip(radii, run["bends"], strict=True))
        else:
            corners = [numpy.array([length(c, unit) for c in corner]) for corner in run["corners"]]
            radii = [clr] * len(corners)
            total = _through_corners([end_of(spec, run["from"], unit), *corners, end_of(spec, run["to"], unit)], clr)
        found[name] = Closed(total, od / 2, od / 2 - wall, radii)
    return found


def volume_bound(chord, run):
    """Largest relative loss of a mesh's volume that the chord height allows, reckoned as the program does;
    `bent_runs.off_wall` measures the same meshes without it.

    A ring of n corners on the circle holds sinc(2 pi / n) of it, and a bend in steps of d holds sinc(d) of its
    volume; 1 - sinc(x) <= x^2 / 6. On a bend both sagittas share the chord height; a straight piece has one.
    """
    share = chord / 2 if run.radii else chord
    loss = lambda radius: (4 * math.asin(math.sqrt(min(share / (2 * radius), 1)))) ** 2 / 6
    return loss(run.outer) + (loss(min(run.radii) + run.outer) if run.radii else 0)

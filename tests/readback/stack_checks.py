"""What a bending form's stack of sheets must be like, judged on the layers of its DXF file by OpenCascade.

A layer's own axes are found from its rim alone: the rim's arc has the form's origin as centre and begins, going
clockwise, above it. Then each layer is extruded and put where plan.json says. The tube on the form is made here.
Each check gives complaints; none means passed.
"""

import dataclasses
import math
import re

import cut_parts
import numpy
import occ
from bent_runs import Arc, Straight
from occ_make import common, placed, rod

SHARED = 1e-6
"""Largest part of the rod that may lie within a stack: what rounding leaves."""
HAIR = 1e-3
"""By so much thinner than the groove a rod goes in, by so much thicker it does not, mm on the radius."""
LEG = 120.0
"""By so much the tube's legs are longer than the form's leads, mm."""
EXACT = 5e-6
"""What rounding in plan.json, lengths and angles to 1e-6, may shift a point by, mm."""
WALL = 1.5
"""Least wood between two holes, or a hole and an edge, mm."""


@dataclasses.dataclass
class Layer:
    """A layer in its own axes and where it lies."""

    cut: cut_parts.CutPart
    radius: float
    """Of its rim."""
    arc: float
    """Angle of its rim's arc, rad."""
    at: numpy.ndarray
    x: numpy.ndarray
    y: numpy.ndarray


@dataclasses.dataclass
class Stack:
    """A form's stack: its entry in plan.json, its depth (part of the OD), its layers by name, lowest first."""

    data: dict
    depth: float
    layers: dict

    @property
    def thickness(self):
        """Of the sheet, mm."""
        return self.data["sheet_thickness_mm"]

    @property
    def tube(self):
        """Radius of the tube, mm."""
        return self.data["od_mm"] / 2

    @property
    def groove(self):
        """Radius of the groove's section, mm."""
        return self.tube + self.data["clearance_mm"]

    @property
    def offset(self):
        """How far the section's centre lies outside the rim, mm."""
        return self.groove - self.depth * self.data["od_mm"]

    @property
    def edge(self):
        """Height of the groove's edge over its middle, mm."""
        return math.sqrt(self.groove**2 - max(self.offset, 0.0) ** 2)

    def way(self, arc, lead):
        """The tube's centreline on the form."""
        clr, x = self.data["clr_mm"], numpy.array([1.0, 0, 0])
        bend = Arc(numpy.zeros(3), numpy.array([0.0, 0, -1]), numpy.array([0.0, clr, 0]), arc)
        end, along = bend.end_and_direction()
        return [Straight(bend.spoke - lead * x, x, lead), bend, Straight(end, along, lead)]


def arcs(contour):
    """Centre, radius, signed sweep and start angle of each bulged edge."""
    found = []
    for (x, y, bulge), (nx, ny, _) in zip(contour, numpy.roll(contour, -1, axis=0), strict=True):
        if bulge:
            sweep, chord = 4 * math.atan(bulge), complex(nx - x, ny - y)
            centre = complex(x, y) + chord / 2 * complex(1, 1 / math.tan(sweep / 2))
            spoke = complex(x, y) - centre
            found.append((centre, abs(spoke), sweep, math.atan2(spoke.imag, spoke.real)))
    return found


def unnested(cut):
    """A layer in its own axes, its rim's radius and angle."""
    outline = cut.outline
    if cut_parts.area(cut_parts.chopped(outline)) < 0:
        raise AssertionError("an outline runs clockwise")
    every = arcs(outline)
    # Counter-clockwise round the layer, the rim's arc is walked from its far end to its start.
    longest = max(every, key=lambda arc: arc[1] * arc[2])
    rim = [arc for arc in every if abs(arc[0] - longest[0]) < EXACT and abs(arc[1] - longest[1]) < EXACT]
    centre, radius, _, _ = longest
    sweep = sum(arc[2] for arc in rim)
    # An arc of more than half a turn comes in two: its end is where no other goes on.
    ends = [start + turn for _, _, turn, start in rim]
    starts = [start for *_, start in rim]
    [end] = [e for e in ends if all(abs(complex(math.cos(e - s) - 1, math.sin(e - s))) > EXACT for s in starts)]
    quarters = round((end - math.pi / 2) / (math.pi / 2)) % 4
    off = abs(complex(math.cos(end), math.sin(end)) - 1j ** (quarters + 1))
    assert off < EXACT, f"a rim begins at {math.degrees(end)} degrees"
    assert quarters in (0, 1), "the nest turns by a quarter or not at all"
    turned = cut_parts.CutPart(outline, cut.openings, []).turned(0, (-centre.real, -centre.imag)).turned(-quarters)
    return turned, radius, sweep


def name_of(cut):
    """What a layer says it is: `L3` of how many."""
    said = {match.groups() for text, *_ in cut.words for match in [re.search(r"\bL(\d+)/(\d+)$", text)] if match}
    assert len(said) == 1, cut.words
    [(number, count)] = said
    return f"L{number}", int(count)


def read(folder, data, depth):
    """A form's stack as its DXF file has it."""
    cuts = {}
    for cut in cut_parts.read(folder / "forms" / data["name"] / "form.dxf"):
        name, count = name_of(cut)
        assert name not in cuts, f"two layers say they are {name}"
        assert count == len(data["layers"]), (data["name"], name, count)
        cuts[name] = cut
    layers = {}
    for entry in data["layers"]:
        at, x, y = (numpy.array(entry[key], dtype=float) for key in ("at_mm", "x", "y"))
        layers[entry["name"]] = Layer(*unnested(cuts.pop(entry["name"])), at, x, y)
    assert not cuts, sorted(cuts)
    return Stack(data, depth, layers)


def lies_one_on_the_other(stack):
    """No gap and no overlap between layers, the middle at half the height, lips as high as they should be."""
    wrong, thick = [], stack.thickness
    heights = [layer.at[2] for layer in stack.layers.values()]
    expected = (numpy.arange(len(heights)) - len(heights) / 2) * thick
    if not numpy.allclose(heights, expected, rtol=0, atol=EXACT):
        wrong.append(f"lower faces at {heights}")
    for name, layer in stack.layers.items():
        if not (numpy.allclose(layer.x, [1, 0, 0]) and numpy.allclose(layer.y, [0, 1, 0])):
            wrong.append(f"{name} is turned")
        if not numpy.allclose(layer.at[:2], 0, atol=EXACT):
            wrong.append(f"{name} is shifted")
    lip = len(heights) * thick / 2 - stack.groove
    if lip < max(3.0, stack.data["od_mm"] / 6) - EXACT:
        wrong.append(f"lips of {lip}")
    return wrong


def tube_clears_the_stack(stack):
    """The tube bent as far as the form serves, its legs longer than the leads, shares nothing with any layer; nor
    does a rod a hair thinner than the groove; one a hair thicker does."""
    wrong = []
    solids = {
        name: placed(layer.cut.solid(stack.thickness), layer.at, layer.x, layer.y) for name, layer in stack.layers.items()
    }
    arc, lead = math.radians(stack.data["arc_deg"]), stack.data["lead_mm"]
    pull = min(arc, math.radians(max(bend["pull_to_deg"] for bend in stack.data["bends"])))
    tasks = [
        (stack.way(pull, lead + LEG), stack.tube, False),
        (stack.way(arc, lead), stack.groove - HAIR, False),
        (stack.way(arc, lead), stack.groove + HAIR, True),
    ]
    for way, radius, meets in tasks:
        rods = rod(way, radius)
        whole = sum(occ.volume(solid) for solid in rods)
        shared = {name: sum(max(0.0, common(solid, each)) for each in rods) for name, solid in solids.items()}
        if meets and max(shared.values()) <= SHARED * HAIR * whole:
            wrong.append(f"a rod of radius {radius} goes in")
        if not meets and max(shared.values()) > SHARED * whole:
            wrong.append(f"a rod of radius {radius} shares {shared} mm3")
    return wrong


def steps_keep_their_bounds(stack):
    """Points all along each layer's rim: within the groove none is nearer to the tube than the clearance, each layer
    has some as near, and the furthest of all is at the hollow told. Above the groove the rim has the chosen depth."""
    wrong = []
    arc, lead, thick = math.radians(stack.data["arc_deg"]), stack.data["lead_mm"], stack.thickness
    way, rim = stack.way(arc, lead), stack.data["clr_mm"] - stack.offset
    furthest = 0.0
    for name, layer in stack.layers.items():
        low = layer.at[2]
        heights = numpy.array([z for z in numpy.linspace(low, low + thick, 41) if abs(z) <= stack.edge])
        near = 0.0 if low < 0 < low + thick else min(abs(low), abs(low + thick))
        if near >= stack.edge:
            if abs(layer.radius - rim) > EXACT:
                wrong.append(f"{name}: a rim of {layer.radius} beside the groove instead of {rim}")
            continue
        # The groove's very edge lies between two of the heights, and so may the middle.
        ends = [z for z in (-stack.edge, 0.0, stack.edge) if low <= z <= low + thick]
        gaps = distances(way, rim_points(layer, lead), [*heights, *ends]) - stack.tube
        furthest = max(furthest, gaps.max())
        if abs(gaps.min() - stack.data["clearance_mm"]) > EXACT:
            wrong.append(f"{name}: as near as {gaps.min()}")
    if abs(furthest - stack.data["hollow_mm"]) > EXACT:
        wrong.append(f"hollow of {furthest}")
    return wrong


def rim_points(layer, lead):
    """Points along a layer's rim as it is in the file; complains where lead-in or lead-out are not there."""
    far = layer.radius * complex(math.sin(layer.arc), math.cos(layer.arc))
    on = complex(math.cos(layer.arc), -math.sin(layer.arc))
    straights = [(1j * layer.radius, -lead + 1j * layer.radius), (far + lead * on, far)]
    outline = layer.cut.outline
    starts = outline[:, 0] + 1j * outline[:, 1]
    ends = numpy.roll(starts, -1)
    for start, end in straights:
        there = (abs(starts - start) < EXACT) & (abs(ends - end) < EXACT) & (outline[:, 2] == 0)
        assert there.any(), f"no straight from {start} to {end} in {outline}"
    angles = math.pi / 2 - numpy.linspace(0, layer.arc, 60)
    points = [layer.radius * numpy.exp(1j * angles)]
    points += [start + (end - start) * numpy.linspace(0, 1, 9) for start, end in straights]
    return numpy.concatenate(points)


def distances(way, points, heights):
    """Distances from the tube's centreline of points on a rim, at these heights."""
    every = numpy.array([(p.real, p.imag, z) for p in points for z in heights])
    far = numpy.full(len(every), math.inf)
    for piece in way:
        distance, within = piece.measure(every)
        far = numpy.where(within, numpy.minimum(far, distance), far)
    return far


def holes_line_up(stack):
    """Every hole is in all layers at the same place, and so is the outline but for its rim; wood is left round
    each hole."""
    wrong = []
    first, *_ = stack.layers.values()
    for name, layer in stack.layers.items():
        if len(layer.cut.openings) != len(first.cut.openings) or not all(
            any(same(hole, other) for other in first.cut.openings) for hole in layer.cut.openings
        ):
            wrong.append(f"{name}: other holes")
        if not same(back(layer), back(first)):
            wrong.append(f"{name}: another back")
    for name, layer in stack.layers.items():
        outline = cut_parts.chopped(layer.cut.outline, 200)
        holes = [cut_parts.chopped(opening, 48) for opening in layer.cut.openings]
        for index, hole in enumerate(holes):
            walls = [outline, *holes[index + 1 :]]
            least = min(apart(hole, wall) for wall in walls)
            if least < WALL or not cut_parts.inside(outline, *hole[0]):
                wrong.append(f"{name}: {least} mm of wood by a hole")
    return wrong


def same(one, other):
    """Whether two contours have the same corners, or are the same circle."""
    if len(one) == len(other) == 2:
        size = lambda circle: numpy.linalg.norm(circle[1, :2] - circle[0, :2])
        one, other = (numpy.array([*circle.mean(axis=0), size(circle)]) for circle in (one, other))
    return one.shape == other.shape and numpy.allclose(one, other, rtol=0, atol=EXACT)


def back(layer):
    """Corners of a layer's outline that are not on its rim, beginning with the leftmost."""
    corners = numpy.array([(x, y) for x, y, _ in layer.cut.outline if not on_rim(layer, x, y)])
    return numpy.roll(corners, -int(numpy.argmin(numpy.round(corners @ [1, 1e-3], 4))), axis=0)


def on_rim(layer, x, y):
    """Whether a corner lies on the rim's arc, or on the line of lead-in or lead-out."""
    out = (math.sin(layer.arc), math.cos(layer.arc))
    ways = (math.hypot(x, y), y, x * out[0] + y * out[1])
    return any(abs(way - layer.radius) < EXACT for way in ways)


def apart(one, other):
    """Least distance from the corners of two polygons to each other's sides."""
    least = math.inf
    for points, polygon in ((one, other), (other, one)):
        along = numpy.roll(polygon, -1, axis=0) - polygon
        square = numpy.maximum((along**2).sum(axis=1), 1e-18)
        share = numpy.clip(((points[:, None] - polygon) * along).sum(axis=2) / square, 0, 1)
        least = min(least, numpy.linalg.norm(points[:, None] - (polygon + share[..., None] * along), axis=2).min())
    return least

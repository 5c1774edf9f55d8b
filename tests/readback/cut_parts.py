"""Sheet parts as a DXF file has them: nominal contours, what is engraved on each, and their solids."""

import dataclasses
import math

import ezdxf
import numpy
import occ_make


@dataclasses.dataclass
class CutPart:
    """A part where it lies on its sheet."""

    outline: numpy.ndarray
    """Vertices of a closed contour: x, y, bulge of the edge that starts there; counter-clockwise or not."""
    openings: list
    """Contours of the same kind."""
    words: list
    """What is engraved on it: (text, x, y)."""

    def turned(self, quarters, by=(0.0, 0.0)):
        """The same part turned counter-clockwise and then shifted."""
        cos, sin = [(1, 0), (0, 1), (-1, 0), (0, -1)][quarters % 4]
        move = lambda points: numpy.column_stack(
            [cos * points[:, 0] - sin * points[:, 1] + by[0], sin * points[:, 0] + cos * points[:, 1] + by[1], points[:, 2]]
        )
        return CutPart(move(self.outline), [move(opening) for opening in self.openings], [])

    def solid(self, thickness):
        """The part as a solid, 0 <= z <= thickness, arcs exact."""
        return occ_make.prism(self.outline, self.openings, thickness)


def circle(x, y, radius):
    """A circle as two half turns."""
    return numpy.array([[x - radius, y, 1.0], [x + radius, y, 1.0]])


def chopped(contour, steps=24):
    """A contour as a polygon; arcs are chopped."""
    points = []
    for (x, y, bulge), (nx, ny, _) in zip(contour, numpy.roll(contour, -1, axis=0), strict=True):
        points.append((x, y))
        if bulge == 0.0:
            continue
        sweep = 4 * math.atan(bulge)
        chord = complex(nx - x, ny - y)
        centre = complex(x, y) + chord / 2 * complex(1, 1 / math.tan(sweep / 2))
        spoke = complex(x, y) - centre
        for step in range(1, steps):
            turned = centre + spoke * complex(math.cos(sweep * step / steps), math.sin(sweep * step / steps))
            points.append((turned.real, turned.imag))
    return numpy.array(points)


def area(polygon):
    """Signed area of a polygon, mm2: positive where it runs counter-clockwise."""
    x, y = polygon.T
    return float(numpy.sum(x * numpy.roll(y, -1) - numpy.roll(x, -1) * y)) / 2


def inside(polygon, x, y):
    """Whether a point is inside a polygon."""
    here, there = polygon, numpy.roll(polygon, -1, axis=0)
    crossing = (here[:, 1] > y) != (there[:, 1] > y)
    with numpy.errstate(divide="ignore", invalid="ignore"):
        at = here[:, 0] + (y - here[:, 1]) * (there[:, 0] - here[:, 0]) / (there[:, 1] - here[:, 1])
    return bool(numpy.count_nonzero(crossing & (x < at)) % 2)


def read(path, layer="CUT"):
    """Every part of a file by the contours of one layer, largest first."""
    space = ezdxf.readfile(path).modelspace()
    contours = []
    for entity in space.query(f'*[layer=="{layer}"]'):
        if entity.dxftype() == "CIRCLE":
            contours.append(circle(entity.dxf.center.x, entity.dxf.center.y, entity.dxf.radius))
        else:
            assert entity.dxftype() == "LWPOLYLINE" and entity.closed, entity
            contours.append(numpy.array(entity.get_points("xyb")))
    shapes = sorted(((contour, chopped(contour)) for contour in contours), key=lambda c: -abs(area(c[1])))
    words = [(text.dxf.text, *_middle(text)) for text in space.query('TEXT[layer=="ENGRAVE"]')]
    parts = []
    for contour, polygon in shapes:
        x, y = polygon[0]
        holder = next((part for part, outline in parts if inside(outline, x, y)), None)
        if holder is None:
            engraved = [word for word in words if inside(polygon, word[1], word[2])]
            parts.append((CutPart(contour, [], engraved), polygon))
        else:
            holder.openings.append(contour)
    return [part for part, _ in parts]


def _middle(text):
    _, at, _ = text.get_placement()
    return at.x, at.y

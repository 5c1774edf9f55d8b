"""A checking jig put together in OpenCascade as a shop would: parts extruded from the DXF file's contours, stood up
where `plan.json` says, and a tube made from the spec alone."""

import dataclasses
import functools
import re

import cut_parts
import numpy
import occ
import occ_make
from bent_runs import Arc, Straight, rotated

COLLISION = 1e-3
"""Volume from which on two solids collide, mm3: a cube of 0.1 mm."""
ROUNDED = 1e-5
"""How far points may be apart that were rounded on their way through the files, mm."""


@dataclasses.dataclass
class Plate:
    """A part standing in the jig."""

    cut: cut_parts.CutPart
    """In the part's own axes."""
    at: numpy.ndarray
    x: numpy.ndarray
    y: numpy.ndarray
    thickness: float

    def __post_init__(self):
        self.shape = occ_make.placed(self.cut.solid(self.thickness), self.at, self.x, self.y)
        self.box = occ_make.bounds(self.shape)
        corners = cut_parts.chopped(self.cut.outline)
        self.own_box = numpy.array([[*corners.min(axis=0), 0], [*corners.max(axis=0), self.thickness]])

    def in_jig(self, contour, z=0.0):
        """Vertices of a contour in the jig's axes, at a height above the part's lower face."""
        return self.at + numpy.outer(contour[:, 0], self.x) + numpy.outer(contour[:, 1], self.y) + z * self.normal

    @property
    def normal(self):
        """Out of the part's upper face."""
        return numpy.cross(self.x, self.y)

    def moved(self, by):
        """The same part standing elsewhere."""
        return dataclasses.replace(self, at=self.at + by)


class Rod:
    """A full rod along a straight or an arc, maybe shifted."""

    def __init__(self, piece, radius, by=(0.0, 0.0, 0.0)):
        self.piece, self.radius, self.by = piece, radius, numpy.array(by, dtype=float)

    @functools.cached_property
    def points(self):
        """Points of its centreline, a millimetre apart at most."""
        piece = self.piece
        if isinstance(piece, Straight):
            parts = numpy.linspace(0, piece.length, int(piece.length) + 2)
            return piece.start + numpy.outer(parts, piece.along) + self.by
        size = piece.angle * numpy.linalg.norm(piece.spoke)
        turns = numpy.linspace(0, piece.angle, int(size) + 2)
        across = numpy.cross(piece.axis, piece.spoke)
        return piece.centre + numpy.outer(numpy.cos(turns), piece.spoke) + numpy.outer(numpy.sin(turns), across) + self.by

    @functools.cached_property
    def shape(self):
        """Its solid."""
        (shape,) = occ_make.rod([self.piece], self.radius)
        return occ_make.shifted(shape, self.by) if self.by.any() else shape

    def near(self, plate, margin=0.0):
        """Whether it may come this near to a part: by boxes square to the part."""
        offset = self.points - plate.at
        own = numpy.column_stack([offset @ plate.x, offset @ plate.y, offset @ plate.normal])
        reach = self.radius + margin + 0.5
        return not occ_make.apart([own.min(axis=0) - reach, own.max(axis=0) + reach], plate.own_box)

    def shifted(self, by):
        """The same elsewhere."""
        return Rod(self.piece, self.radius, by)


@dataclasses.dataclass
class Jig:
    """A jig with its tube."""

    run: str
    shop: dict
    """What the spec's workshop says: thickness, slot_fit, clearance, lift, gate."""
    plates: dict
    uprights: list
    """As in plan.json."""
    senses: dict
    """Smallest error felt of each bend, degrees, by its number."""
    pieces: list
    """The true tube's centreline in the jig's axes."""
    radius: float

    @functools.cached_property
    def rods(self):
        """The true tube."""
        return [Rod(piece, self.radius) for piece in self.pieces]

    def role(self, role):
        """Names of the uprights with this role."""
        return [upright["part"] for upright in self.uprights if upright["role"] == role]


@dataclasses.dataclass
class StepTwin:
    """What the STEP file says of the same jig."""

    faults: list
    parts: dict


def axes(entry, *keys):
    """An origin and two axes square to each other."""
    at, x, y = (numpy.array(entry[key], dtype=float) for key in keys)
    assert max(abs(x @ y), abs(x @ x - 1), abs(y @ y - 1)) < 1e-11, entry
    return at, x, y


def in_jig(pieces, entry):
    """A run's centreline where the plan puts it in the jig."""
    at, x, y = axes(entry, "tube_at_mm", "tube_x", "tube_y")
    turn = numpy.column_stack([x, y, numpy.cross(x, y)])
    point = lambda p: at + turn @ p
    return [
        Straight(point(p.start), turn @ p.along, p.length)
        if isinstance(p, Straight)
        else Arc(point(p.centre), turn @ p.axis, turn @ p.spoke, p.angle)
        for p in pieces
    ]


def _after(pieces, index, move, turn):
    kept = list(pieces[: index + 1])
    for piece in pieces[index + 1 :]:
        if isinstance(piece, Straight):
            kept.append(Straight(move(piece.start), turn(piece.along), piece.length))
        else:
            kept.append(Arc(move(piece.centre), turn(piece.axis), turn(piece.spoke), piece.angle))
    return kept


def lengthened(pieces, index, extra):
    """The centreline with one straight longer, held at its start."""
    straight = pieces[index]
    moved = _after(pieces, index, lambda p: p + straight.along * extra, lambda v: v)
    moved[index] = Straight(straight.start, straight.along, straight.length + extra)
    return moved


def rebent(pieces, index, by):
    """The centreline with one bend pulled further by so many rad, held at its start."""
    arc = pieces[index]
    turn = lambda v: rotated(v, arc.axis, by)
    moved = _after(pieces, index, lambda p: arc.centre + turn(p - arc.centre), turn)
    moved[index] = Arc(arc.centre, arc.axis, arc.spoke, arc.angle + by)
    return moved


def collides(jig, pieces, first=0):
    """The first plate found that a tube along these pieces cuts into, from its far end back to piece `first`."""
    for piece in reversed(pieces[first:]):
        rod = Rod(piece, jig.radius)
        for name, plate in jig.plates.items():
            if rod.near(plate) and occ_make.common(plate.shape, rod.shape) > COLLISION:
                return name
    return None


def words(part):
    """Every word engraved on a part, in capitals."""
    return {word for text, _, _ in part.words for word in re.split(r"[^A-Za-z0-9.-]+", text.upper())}


def named(cuts, names):
    """Which part is which, by what is engraved on it: the base has the names of all uprights, they have their own."""
    found, wanted = {}, {name.upper(): name for name in names}
    for cut in cuts:
        own = [wanted[word] for word in sorted(words(cut)) if word in wanted]
        name = "base" if "base" in own or len(own) > 1 else own[0] if own else None
        assert name is not None, f"nothing says which part this is: {cut.words}"
        assert name not in found, f"two parts say they are {name}"
        found[name] = cut
    assert found.keys() == set(names), f"{sorted(found)} instead of {sorted(names)}"
    return found


def read(folder, entry, pieces, radius, shop):
    """A jig and what its STEP file says of it. A DXF file tells a part's shape but not its origin: that is where the
    STEP file's part, taken back from its pose, has the same centre of mass. They must be the same shape."""
    run, names = entry["run"], [part["name"] for part in entry["parts"]]
    assert abs(entry["sheet_thickness_mm"] - shop["thickness"]) < 1e-6, run
    cuts = named(cut_parts.read(folder / "jigs" / f"{run}.dxf"), names)
    file = occ.read(folder / "jigs" / f"{run}.step")
    twin = StepTwin([f"reader: {message}" for message in file.messages], file.parts)
    plates = {}
    for part in entry["parts"]:
        name = part["name"]
        at, x, y = axes(part, "at_mm", "x", "y")
        model = occ_make.unplaced(file.parts[name].shape, at, x, y)
        cut = _like(cuts[name], model, shop["thickness"])
        if cut is None:
            twin.faults.append(f"{name} of the STEP file is not what the DXF file cuts")
            cut = cuts[name]
        plates[name] = Plate(cut, at, x, y, shop["thickness"])
    senses = {bend["number"]: bend["least_error_deg"] for bend in entry["bends"]}
    return Jig(run, shop, plates, entry["uprights"], senses, in_jig(pieces, entry), radius), twin


def _like(cut, model, thickness):
    """The part turned and shifted to lie as the model does; none if it is another shape."""
    volume, centre, moments = occ.volume(model), occ_make.centre(model), occ_make.moments(model)
    if abs(centre[2] - thickness / 2) > ROUNDED:
        return None
    # The nest turns by a quarter or not at all.
    for quarters in (0, 3):
        turned = cut.turned(quarters)
        solid = turned.solid(thickness)
        by = (centre - occ_make.centre(solid))[:2]
        same = (
            abs(occ.volume(solid) / volume - 1) < 1e-6
            and numpy.allclose(occ_make.moments(solid), moments, rtol=1e-6, atol=1e-6 * moments.max())
            and numpy.allclose(occ_make.bounds(model), occ_make.bounds(occ_make.shifted(solid, [*by, 0])), atol=1e-4)
        )
        if same:
            return cut.turned(quarters, by)
    return None

"""What a bending form must be like, judged on its written files by OpenCascade and trimesh.

The tube on the form is made here, from the form's numbers in plan.json: a straight along y = clr up to (0, clr), an
arc about the origin, clockwise, and a straight on from its end. Each check gives complaints; none means passed.
"""

import dataclasses
import math

import numpy
import occ
import trimesh
from bent_runs import Arc, Straight
from OCP.BOPAlgo import BOPAlgo_ArgumentAnalyzer
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from occ_make import common, rod

CHORD = 0.05
"""Chord height of the meshes, mm."""
SHARED = 1e-6
"""Largest part of the rod that may lie within a form: what rounding leaves."""
HAIR = 1e-4
"""By so much thinner than the groove a rod goes in, by so much thicker it does not, mm on the radius."""
LEG = 120.0
"""By so much the tube's legs are longer than the form's leads, mm."""
ROUNDED = 1e-6
"""Step that plan.json rounds to, mm and degrees."""
EXACT = 2 * ROUNDED
"""How exactly groove faces keep their distance from the tube's centreline, as far as plan.json tells it, mm."""


@dataclasses.dataclass
class Made:
    """A form's numbers and its written shapes."""

    data: dict
    """Its entry in plan.json."""
    options: dict
    """What the spec asked for: depth (part of the OD), over_bend (degrees), bed (mm)."""
    shapes: dict
    """Shapes from the STEP file, by name."""
    meshes: dict
    """Meshes from the STL files, by name."""
    messages: list
    """What the STEP reader complained of."""

    @property
    def pieces(self):
        """The form's pieces without the follower."""
        return {name: self.shapes[name] for name in self.data["blocks"]}

    @property
    def groove(self):
        """Radius of the groove's section, mm."""
        return self.data["od_mm"] / 2 + self.data["clearance_mm"]

    @property
    def half(self):
        """Half the angle of the section's arc, rad."""
        offset = self.groove - self.options["depth"] * self.data["od_mm"]
        return math.acos(max(offset, 0.0) / self.groove)


def read(folder, data, options):
    """The files of one form."""
    home = folder / "forms" / data["name"]
    file = occ.read(home / "form.step")
    names = [*data["blocks"], "follower"]
    assert sorted(file.parts) == sorted(names), (data["name"], list(file.parts))
    shapes = {name: file.parts[name].shape for name in names}
    meshes = {name: trimesh.load_mesh(home / f"{name}.stl") for name in names}
    return Made(data, options, shapes, meshes, file.messages)


def surfaces(shape):
    """All faces as surfaces with their parameter ranges."""
    found = []
    explorer = TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_FACE)
    while explorer.More():
        found.append(BRepAdaptor_Surface(TopoDS.Face(explorer.Current())))
        explorer.Next()
    return found


def _spans(surface):
    return (
        (surface.FirstUParameter(), surface.LastUParameter()),
        (surface.FirstVParameter(), surface.LastVParameter()),
    )


def _points(surface, count=7):
    (u0, u1), (v0, v1) = _spans(surface)
    shares = numpy.linspace(0, 1, count)
    at = [surface.Value(u0 + s * (u1 - u0), v0 + t * (v1 - v0)) for s in shares for t in shares]
    return numpy.array([[p.X(), p.Y(), p.Z()] for p in at])


def on_form(made, arc, lead):
    """The tube's centreline on the form."""
    clr = made.data["clr_mm"]
    bend = Arc(numpy.zeros(3), numpy.array([0.0, 0, -1]), numpy.array([0.0, clr, 0]), arc)
    end, along = bend.end_and_direction()
    x = numpy.array([1.0, 0, 0])
    return [Straight(-lead * x + bend.spoke, x, lead), bend, Straight(end, along, lead)]


def groove_faces(made, shape, pieces):
    """Faces of the groove: cylinders and tori of its radius that lie along the centreline."""
    found = []
    for surface in surfaces(shape):
        kind = surface.GetType()
        if kind == GeomAbs_SurfaceType.GeomAbs_Torus:
            found.append(surface)
        elif kind == GeomAbs_SurfaceType.GeomAbs_Cylinder:
            cylinder = surface.Cylinder()
            if abs(cylinder.Radius() - made.groove) > 1e-9:
                continue
            axis, at = cylinder.Axis().Direction(), cylinder.Axis().Location()
            along = numpy.array([axis.X(), axis.Y(), axis.Z()])
            start = numpy.array([at.X(), at.Y(), at.Z()])
            straights = [piece for piece in pieces if isinstance(piece, Straight)]
            on = [
                numpy.linalg.norm(numpy.cross(along, piece.along)) < ROUNDED / 10
                and numpy.linalg.norm(numpy.cross(start - piece.start, piece.along)) < 10 * ROUNDED
                for piece in straights
            ]
            if any(on):
                found.append(surface)
    return found


def solids_are_sound(made):
    """Valid single solids of planes, cylinders and tori that do not cross themselves."""
    wrong = list(made.messages)
    for name, shape in made.shapes.items():
        if occ.solids(shape) != 1 or not occ.valid(shape) or occ.tolerance(shape) > 1.0001e-7:
            wrong.append(f"{name}: no valid solid")
        if not occ.surface_kinds(shape) <= {"Plane", "Cylinder", "Torus"}:
            wrong.append(f"{name}: {occ.surface_kinds(shape)}")
        if not occ.curve_kinds(shape) <= {"Line", "Circle"}:
            wrong.append(f"{name}: {occ.curve_kinds(shape)}")
        analyzer = BOPAlgo_ArgumentAnalyzer()
        analyzer.SetShape1(shape)
        # Names of this class's switches are properties by reference.
        analyzer.SelfInterMode = True
        analyzer.Perform()
        if analyzer.HasFaulty():
            wrong.append(f"{name}: crosses itself")
    return wrong


def volumes_add_up(made):
    """Each volume against bottom face x height less groove (Pappus), marks and side holes."""
    wrong = []
    area, moment = _section(made)
    for name, shape in made.shapes.items():
        (_, _, low), (_, _, high) = occ.box(shape)
        pieces = on_form(made, math.radians(made.data["arc_deg"]), 1.0) if name != "follower" else _beside(made, shape)
        grooves = groove_faces(made, shape, pieces)
        inside = sum(_groove_volume(made, surface, area, moment) for surface in grooves)
        bottom = marks = holes = 0.0
        for surface in surfaces(shape):
            if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Plane:
                plane = surface.Plane().Axis().Direction()
                z = surface.Plane().Location().Z()
                if abs(abs(plane.Z()) - 1) < 1e-12 and abs(z - low) < 1e-9:
                    bottom += occ.area(surface.Face())
                elif abs(abs(plane.Z()) - 1) < 1e-12 and high - 2.0 < z < high - 1e-6:
                    marks += occ.area(surface.Face()) * (high - z)
            elif surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cylinder:
                axis = surface.Cylinder().Axis().Direction()
                is_groove = any(surface is groove for groove in grooves) or _same(surface, grooves)
                if abs(axis.Z()) < 1e-9 and not is_groove:
                    (u0, u1), (v0, v1) = _spans(surface)
                    holes += surface.Cylinder().Radius() ** 2 * (u1 - u0) / 2 * (v1 - v0)
        expected = bottom * (high - low) - inside - marks - holes
        if abs(occ.volume(shape) / expected - 1) > 1e-6:
            wrong.append(f"{name}: {occ.volume(shape)} mm3, added up {expected}")
    return wrong


def _same(surface, others):
    at = surface.Value(*[sum(span) / 2 for span in _spans(surface)])
    return any(at.Distance(o.Value(*[sum(span) / 2 for span in _spans(o)])) < 1e-9 for o in others)


def _section(made, depth=None):
    """Area of the groove's section and its first moment about the rim."""
    radius, half = made.groove, made.half
    depth = made.options["depth"] * made.data["od_mm"] if depth is None else depth
    offset = radius - depth
    half = math.acos(max(offset, 0.0) / radius)
    segment = radius**2 * (half - math.sin(half) * math.cos(half))
    walls = max(-offset, 0.0)
    moment = 2 / 3 * (radius * math.sin(half)) ** 3 - offset * segment + radius * walls**2
    return segment + 2 * radius * walls, moment


def _groove_volume(made, surface, area, moment):
    (u0, u1), (v0, v1) = _spans(surface)
    if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Torus:
        rim = surface.Torus().MajorRadius() - made.groove + made.options["depth"] * made.data["od_mm"]
        return (u1 - u0) * (area * rim - moment)
    # The follower's groove may be of another depth than the form's: of its own section.
    if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cylinder and getattr(made, "follower_depth", None):
        area, _ = _section(made, made.follower_depth)
    return area * (v1 - v0)


def _beside(made, follower):
    """The tube's centreline along a follower, from its groove's own axis; it must run along x at half height."""
    (x0, y0, _), (x1, y1, _) = occ.box(follower)
    for surface in surfaces(follower):
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Cylinder:
            continue
        cylinder = surface.Cylinder()
        axis, at = cylinder.Axis().Direction(), cylinder.Axis().Location()
        if abs(abs(axis.X()) - 1) < 1e-12 and abs(cylinder.Radius() - made.groove) < 1e-9 and abs(at.Z()) < 1e-9:
            made.follower_depth = made.groove - at.Y()
            return [Straight(numpy.array([x0, at.Y(), 0.0]), numpy.array([1.0, 0, 0]), x1 - x0)]
    raise AssertionError(f"{made.data['name']}: the follower has no groove; {x0, y0, x1, y1}")


def tube_lies_in_the_groove(made):
    """A tube bent as far as the form serves, its legs longer than the form's leads, shares nothing with the form;
    nor does a rod a hair thinner than the groove; one a hair thicker does. The follower likewise."""
    wrong = []
    pull = math.radians(max(bend["pull_to_deg"] for bend in made.data["bends"]))
    pull = min(pull, math.radians(made.data["arc_deg"]))
    form, follower = list(made.pieces.values()), made.shapes["follower"]
    tube, lead = made.data["od_mm"] / 2, made.data["lead_mm"]
    beside = _beside(made, follower)
    tasks = [("form", form, on_form(made, pull, lead + LEG), tube, False)]
    for name, shapes, way in [("form", form, on_form(made, pull, lead)), ("follower", [follower], beside)]:
        tasks += [(name, shapes, way, made.groove - HAIR, False), (name, shapes, way, made.groove + HAIR, True)]
    tasks.append(("follower", [follower], beside, tube, False))
    for name, shapes, way, radius, meets in tasks:
        rods = rod(way, radius)
        whole = sum(occ.volume(solid) for solid in rods)
        shared = sum(max(0.0, common(shape, solid)) for shape in shapes for solid in rods)
        # Wherever the groove is, a hair's breadth of it.
        least = HAIR * 2 * made.half * radius * sum(_length(piece) for piece in way) / 4
        if (shared < least) if meets else (shared > SHARED * whole):
            wrong.append(f"{name}: a rod of radius {radius} shares {shared} mm3 of {whole}")
    return wrong


def _length(piece):
    return piece.length if isinstance(piece, Straight) else numpy.linalg.norm(piece.spoke) * piece.angle


def groove_keeps_its_clearance(made):
    """Points all over the groove lie at OD/2 + clearance from the centreline; the groove is as long and as deep
    as it should be."""
    wrong = []
    arc, lead = math.radians(made.data["arc_deg"]), made.data["lead_mm"]
    way = on_form(made, arc, lead)
    grooves = [s for shape in made.pieces.values() for s in groove_faces(made, shape, way)]
    beside = _beside(made, made.shapes["follower"])
    for faces, centreline in [(grooves, way), (groove_faces(made, made.shapes["follower"], beside), beside)]:
        for surface in faces:
            points = _points(surface)
            far = numpy.full(len(points), math.inf)
            for piece in centreline:
                distance, within = piece.measure(points)
                far = numpy.where(within, numpy.minimum(far, distance), far)
            if not numpy.all(numpy.abs(far - made.groove) < EXACT):
                wrong.append(f"groove off by {numpy.max(numpy.abs(far - made.groove))} mm")
    area = sum(occ.area(surface.Face()) for surface in grooves)
    # Straights: 2 half r; the arc by Pappus for the section's curve.
    r, half, clr = made.groove, made.half, made.data["clr_mm"]
    expected = 2 * half * r * 2 * lead + arc * r * (2 * half * clr - 2 * r * math.sin(half))
    if abs(area / expected - 1) > 1e-6:
        wrong.append(f"groove of {area} mm2 where {expected} are wanted")
    return wrong


def warned(made, told, code):
    """Whether a warning of the plan, told as (code, words), speaks of this form."""
    return any(said == code and made.data["name"] in words for said, words in told)


def arc_covers_the_bends(made, told):
    """The torus goes round as far as the largest pull and its over-bend, unless a warning says how far it goes."""
    wrong = []
    tori = [s for shape in made.pieces.values() for s in surfaces(shape)
            if s.GetType() == GeomAbs_SurfaceType.GeomAbs_Torus]
    spans = [_spans(torus) for torus in tori]
    # OpenCascade may count either angle first; both pieces of the sum go round the bend's axis.
    round_axis = sum(u1 - u0 for (u0, u1), _ in spans)
    if abs(math.degrees(round_axis) - made.data["arc_deg"]) > 1e-6:
        wrong.append(f"arc of {math.degrees(round_axis)}, told {made.data['arc_deg']}")
    pull = max(bend["pull_to_deg"] for bend in made.data["bends"])
    if made.data["arc_deg"] < pull + made.options["over_bend"] - 1e-6 and not warned(made, told, "form-arc"):
        wrong.append(f"arc of {made.data['arc_deg']} for a pull to {pull}")
    return wrong


def meshes_are_printable(made, told):
    """Watertight, one body, as near the solid as the chord height says, on the bed unless a warning says not."""
    wrong = []
    assert sorted(made.meshes) == sorted(made.shapes)
    for name, mesh in made.meshes.items():
        shape = made.shapes[name]
        if not (mesh.is_watertight and mesh.is_winding_consistent and mesh.is_volume and mesh.body_count == 1):
            wrong.append(f"{name}: not one watertight body")
        curved = sum(
            occ.area(s.Face()) for s in surfaces(shape) if s.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane
        )
        # 32-bit coordinates: a few 1e-6 of the whole.
        bound = CHORD * curved + 1e-5 * occ.volume(shape)
        if abs(mesh.volume - occ.volume(shape)) > bound:
            wrong.append(f"{name}: mesh of {mesh.volume} mm3 for {occ.volume(shape)}, bound {bound}")
        if not fits(mesh.vertices, made.options["bed"]) and not warned(made, told, "printer-bed"):
            wrong.append(f"{name}: does not fit the bed, {mesh.extents}")
    # The mesh lies within its chord height of the block.
    roomy = [side - 2 * CHORD for side in made.options["bed"]]
    if warned(made, told, "printer-bed") and all(fits(mesh.vertices, roomy) for mesh in made.meshes.values()):
        wrong.append("all pieces fit the bed, but a warning says otherwise")
    return wrong


def fits(vertices, bed):
    """Whether a block lies on the bed, turned by any whole degree."""
    if numpy.ptp(vertices[:, 2]) > bed[2] + 1e-3:
        return False
    for turn in numpy.radians(numpy.arange(0, 180)):
        x = numpy.ptp(vertices[:, 0] * math.cos(turn) - vertices[:, 1] * math.sin(turn))
        y = numpy.ptp(vertices[:, 0] * math.sin(turn) + vertices[:, 1] * math.cos(turn))
        if x <= bed[0] + 1e-3 and y <= bed[1] + 1e-3:
            return True
    return False

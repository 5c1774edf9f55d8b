"""Solids made in OpenCascade from straights and arcs, and how they meet."""

import math

import numpy
from bent_runs import Arc, Straight
from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Transform,
)
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism, BRepPrimAPI_MakeTorus
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS


def _wire(contour, ccw):
    """A closed contour at z = 0; vertices are x, y and the bulge of the edge that starts there."""
    edges = []
    for (x, y, bulge), (nx, ny, _) in zip(contour, numpy.roll(contour, -1, axis=0), strict=True):
        start, end = gp_Pnt(x, y, 0), gp_Pnt(nx, ny, 0)
        if bulge == 0.0:
            edges.append(BRepBuilderAPI_MakeEdge(start, end).Edge())
            continue
        # Bulge = tan(sweep / 4) = height of the arc over half its chord; the arc bulges to the right.
        middle = gp_Pnt((x + nx) / 2 + bulge * (ny - y) / 2, (y + ny) / 2 - bulge * (nx - x) / 2, 0)
        edges.append(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(start, middle, end).Value()).Edge())
    wire = BRepBuilderAPI_MakeWire()
    for edge in edges:
        wire.Add(edge)
    assert wire.IsDone(), contour
    made = wire.Wire()
    return made if ccw else made.Reversed()


def _runs_ccw(contour):
    x, y, bulge = contour.T
    nx, ny = numpy.roll(x, -1), numpy.roll(y, -1)
    sweep, chord = 4 * numpy.arctan(bulge), numpy.hypot(nx - x, ny - y)
    # Half the shoelace, and between each arc and its chord a segment of the circle.
    radius = numpy.divide(chord, 2 * numpy.sin(sweep / 2), out=numpy.zeros_like(chord), where=sweep != 0)
    return numpy.sum(x * ny - nx * y) / 2 + numpy.sum(radius**2 * (sweep - numpy.sin(sweep))) / 2 > 0


def prism(outline, openings, height):
    """A flat part as a solid, 0 <= z <= height."""
    face = BRepBuilderAPI_MakeFace(TopoDS.Wire(_wire(outline, _runs_ccw(outline))), True)
    for opening in openings:
        face.Add(TopoDS.Wire(_wire(opening, not _runs_ccw(opening))))
    assert face.IsDone()
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, height)).Shape()


def _axes(at, axis, x):
    return gp_Ax2(gp_Pnt(*map(float, at)), gp_Dir(*map(float, axis)), gp_Dir(*map(float, x)))


def rod(pieces, radius):
    """Full rods along straights and arcs, one solid each."""
    solids = []
    for piece in pieces:
        if isinstance(piece, Straight):
            across = numpy.cross(piece.along, [1.0, 0, 0] if abs(piece.along[0]) < 0.9 else [0, 1.0, 0])
            axes = _axes(piece.start, piece.along, across)
            solids.append(BRepPrimAPI_MakeCylinder(axes, radius, float(piece.length)).Shape())
        else:
            assert isinstance(piece, Arc)
            axes = _axes(piece.centre, piece.axis, piece.spoke)
            bend = float(numpy.linalg.norm(piece.spoke))
            solids.append(BRepPrimAPI_MakeTorus(axes, bend, radius, float(piece.angle)).Shape())
    return solids


def placed(shape, at, x, y):
    """The shape moved so that its own axes lie along x, y and x cross y from `at`."""
    z = numpy.cross(x, y)
    move = gp_Trsf()
    rows = [value for i in range(3) for value in (x[i], y[i], z[i], at[i])]
    move.SetValues(*map(float, rows))
    return BRepBuilderAPI_Transform(shape, move, True).Shape()


def unplaced(shape, at, x, y):
    """What `placed` undoes."""
    turn = numpy.array([x, y, numpy.cross(x, y)])
    back = -turn @ numpy.array(at)
    return placed(shape, back, turn[:, 0], turn[:, 1])


def shifted(shape, by):
    """The shape moved by a vector."""
    move = gp_Trsf()
    move.SetTranslation(gp_Vec(*map(float, by)))
    return BRepBuilderAPI_Transform(shape, move, True).Shape()


def bounds(shape):
    """A box round the shape, as tight as it comes cheaply."""
    box = Bnd_Box()
    BRepBndLib.Add_s(shape, box, False)
    low, high = box.CornerMin(), box.CornerMax()
    return numpy.array([[low.X(), low.Y(), low.Z()], [high.X(), high.Y(), high.Z()]])


def apart(a, b, by=0.0):
    """Whether two boxes are further apart than `by`."""
    return bool(numpy.any(a[0] > b[1] + by) or numpy.any(b[0] > a[1] + by))


def common(a, b):
    """Volume that two solids share, mm3."""
    shared = BRepAlgoAPI_Common(a, b)
    assert shared.IsDone()
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shared.Shape(), props)
    return props.Mass()


def distance(a, b):
    """Least distance of two solids, mm; 0 where they meet."""
    extrema = BRepExtrema_DistShapeShape(a, b)
    assert extrema.IsDone()
    return 0.0 if extrema.InnerSolution() else extrema.Value()


def centre(shape):
    """Centre of mass."""
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    at = props.CentreOfMass()
    return numpy.array([at.X(), at.Y(), at.Z()])


def moments(shape):
    """Second moments about the centre of mass, mm5: a matrix that tells a shape from its turned or other self."""
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    inertia = props.MatrixOfInertia()
    return numpy.array([[inertia.Value(i, j) for j in (1, 2, 3)] for i in (1, 2, 3)])



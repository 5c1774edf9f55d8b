"""Reads STEP files with OpenCascade: shapes, names, colours, and everything its reader complains of."""

import dataclasses

from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.Bnd import Bnd_Box
from OCP.collections import Sequence_TDF_Label
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Message import Message
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS
from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool

# The reader prints to the console as well; what it says is collected below instead.
Message.DefaultMessenger_s().ChangePrinters().Clear()


@dataclasses.dataclass
class Part:
    """A product with a shape."""

    product: str
    shape: object
    colour: tuple
    """sRGB, 0 to 255, or None."""


@dataclasses.dataclass
class File:
    """What a STEP file holds."""

    messages: list
    """Warnings and fails of reading and of transfer."""
    root: str
    """Name of the one free shape."""
    assembly: bool
    parts: dict
    """By occurrence name; for a single part by the product's name."""
    placements: list
    """Transformations of all occurrences, 12 numbers each."""


def _collect(checks):
    found = []
    checks.Start()
    while checks.More():
        check = checks.Value()
        found += [f"fail: {check.CFail(i)}" for i in range(1, check.NbFails() + 1)]
        found += [f"warning: {check.CWarning(i)}" for i in range(1, check.NbWarnings() + 1)]
        checks.Next()
    return found


def _name(label):
    name = TDataStd_Name()
    return name.Get().ToExtString() if label.FindAttribute(TDataStd_Name.GetID_s(), name) else None


def _part(shapes, colours, label):
    shape = shapes.GetShape_s(label)
    # A part of several solids has the colour that all of them have.
    found = {_colour(colours, each) for each in ([shape] if solids(shape) < 2 else _each(shape, TopAbs_ShapeEnum.TopAbs_SOLID))}
    return Part(_name(label), shape, found.pop() if len(found) == 1 else None)


def _colour(colours, shape):
    colour = Quantity_Color()
    for kind in (XCAFDoc_ColorType.XCAFDoc_ColorSurf, XCAFDoc_ColorType.XCAFDoc_ColorGen):
        if colours.GetColor(shape, kind, colour):
            # OpenCascade keeps colours linear.
            return tuple(round(255 * c, 2) for c in colour.Values(Quantity_TypeOfColor.Quantity_TOC_sRGB))
    return None


def read(path):
    """Reads a STEP file that holds one part or one assembly."""
    document = TDocStd_Document(TCollection_ExtendedString("read back"))
    reader = STEPCAFControl_Reader()
    reader.SetColorMode(True)
    reader.SetNameMode(True)
    assert reader.ReadFile(str(path)) == IFSelect_ReturnStatus.IFSelect_RetDone, path
    assert reader.Transfer(document), path
    session = reader.Reader().WS()
    messages = _collect(session.ModelCheckList(False)) + _collect(session.TransferReader().LastCheckList())
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    free = Sequence_TDF_Label()
    shapes.GetFreeShapes(free)
    assert free.Length() == 1, f"{path}: {free.Length()} free shapes"
    root = free.Value(1)
    file = File(messages, _name(root), shapes.IsAssembly_s(root), {}, [])
    if not file.assembly:
        part = _part(shapes, colours, root)
        file.parts[part.product] = part
        return file
    components = Sequence_TDF_Label()
    shapes.GetComponents_s(root, components)
    for index in range(1, components.Length() + 1):
        component, referred = components.Value(index), TDF_Label()
        assert shapes.GetReferredShape_s(component, referred)
        name = _name(component)
        assert name not in file.parts, f"{path}: two occurrences called {name}"
        place = shapes.GetLocation_s(component)
        part = _part(shapes, colours, referred)
        file.parts[name] = dataclasses.replace(part, shape=part.shape.Located(place))
        motion = place.Transformation()
        file.placements.append([motion.Value(row, column) for row in (1, 2, 3) for column in (1, 2, 3, 4)])
    return file


def _each(shape, kind):
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def solids(shape):
    """How many solids a shape holds."""
    return sum(1 for _ in _each(shape, TopAbs_ShapeEnum.TopAbs_SOLID))


def valid(shape):
    """OpenCascade's own check of geometry and topology."""
    return BRepCheck_Analyzer(shape).IsValid()


def surface_kinds(shape):
    """Kinds of the faces' surfaces: Plane, Cylinder, Torus."""
    faces = _each(shape, TopAbs_ShapeEnum.TopAbs_FACE)
    return {BRepAdaptor_Surface(TopoDS.Face(f)).GetType().name.removeprefix("GeomAbs_") for f in faces}


def curve_kinds(shape):
    """Kinds of the edges' curves: Line, Circle."""
    edges = _each(shape, TopAbs_ShapeEnum.TopAbs_EDGE)
    return {BRepAdaptor_Curve(TopoDS.Edge(e)).GetType().name.removeprefix("GeomAbs_") for e in edges}


def tolerance(shape):
    """Largest tolerance of an edge, mm: what the reader had to bridge."""
    return max(BRep_Tool.Tolerance_s(TopoDS.Edge(e)) for e in _each(shape, TopAbs_ShapeEnum.TopAbs_EDGE))


def volume(shape):
    """mm3; negative for a solid inside out."""
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    return props.Mass()


def area(shape):
    """mm2."""
    props = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, props)
    return props.Mass()


def box(shape):
    """Bounding box from the exact geometry: ((x, y, z) low, (x, y, z) high), mm."""
    bounds = Bnd_Box()
    bounds.SetGap(0.0)
    # Of a shape that is placed, OpenCascade would turn the box and box it again: its geometry is moved instead.
    moved = BRepBuilderAPI_Transform(shape.Located(TopLoc_Location()), shape.Location().Transformation(), True)
    BRepBndLib.AddOptimal_s(moved.Shape(), bounds, False, False)
    low, high = bounds.CornerMin(), bounds.CornerMax()
    return (low.X(), low.Y(), low.Z()), (high.X(), high.Y(), high.Z())

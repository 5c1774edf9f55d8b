"""The clearance of three hundred pairs (tubes, boxes, cylinders, turned ones and meshes; apart, touching, crossing, one on
the other), each alone in its part of space, against OpenCascade's distance of solids made from the same numbers.

Solids that cross have no distance. There it is the program's to say that they do, by a number below zero: the depth of
the centreline, where that is deepest away from a tube's flat ends, is worked out again from the shapes' own formulas.
"""

import math
import random

import numpy as np
import occ_make
import pytest
import trimesh
import yaml
from bent_runs import by_table, rotated
from conftest import build, read_plan
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakePolygon, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.TopoDS import TopoDS

PAIRS = 300
EXACT = 1e-3
"""The largest difference, mm."""


def unit(vector):
    vector = np.array(vector, float)
    return vector / np.linalg.norm(vector)


def turn_of(entry):
    """The rotation of a component's entry: a function of points."""
    turn = entry.get("rotate")
    if not turn:
        return lambda points: np.asarray(points, float)
    axis, angle, about = unit(turn["axis"]), math.radians(turn["degrees"]), np.array(turn.get("about", [0, 0, 0]), float)
    matrix = np.array([rotated(row, axis, angle) for row in np.eye(3)])
    return lambda points: about + (np.asarray(points, float) - about) @ matrix


class Tube:
    """A tube by a bend table, and its full rods."""

    def __init__(self, at, facing, rows, end_length, od):
        self.at, self.facing, self.rows, self.end_length, self.od = np.array(at, float), unit(facing), rows, end_length, od

    def entry(self):
        rows = [{"length": s, "rotation": t, "angle": a, "clr": r} for s, t, a, r in self.rows]
        return {
            "from": {"at": self.at.tolist(), "facing": self.facing.tolist()},
            "bends": rows,
            "end_length": self.end_length,
            "tube": {"od": self.od, "wall": 1, "material": "copper", "temper": "soft"},
        }

    def pieces(self):
        return by_table(self.at, self.facing, self.rows, self.end_length)

    def solids(self):
        return occ_make.rod(self.pieces(), self.od / 2)

    def points(self, step):
        """Points of the centreline about `step` mm apart, in order."""
        found = []
        for piece in self.pieces():
            if hasattr(piece, "along"):
                count = max(2, int(piece.length / step) + 1)
                found += [piece.start + piece.along * s for s in np.linspace(0, piece.length, count)]
            else:
                count = max(2, int(piece.angle * np.linalg.norm(piece.spoke) / step) + 1)
                found += [piece.centre + rotated(piece.spoke, piece.axis, a) for a in np.linspace(0, piece.angle, count)]
        return np.array(found)

    def ends(self):
        points = self.points(1.0)
        return points[0], points[-1]


class Box:
    def __init__(self, low, high, rotate=None):
        self.low, self.high, self.rotate = np.array(low, float), np.array(high, float), rotate

    def entry(self):
        entry = {"box": {"from": self.low.tolist(), "to": self.high.tolist()}}
        return entry | ({"rotate": self.rotate} if self.rotate else {})

    def solids(self):
        turn = turn_of(self.entry())
        origin = turn(self.low)
        x, z = turn(self.low + [1, 0, 0]) - origin, turn(self.low + [0, 0, 1]) - origin
        axes = gp_Ax2(gp_Pnt(*origin), gp_Dir(*z), gp_Dir(*x))
        return [BRepPrimAPI_MakeBox(axes, *(self.high - self.low)).Solid()]

    def distance(self, points):
        """Signed distance of points."""
        turn, middle, half = turn_of(self.entry()), (self.low + self.high) / 2, (self.high - self.low) / 2
        axes = np.array([turn(middle + axis) - turn(middle) for axis in np.eye(3)])
        beyond = np.abs((points - turn(middle)) @ axes.T) - half
        return np.linalg.norm(np.maximum(beyond, 0), axis=1) + np.minimum(beyond.max(axis=1), 0)


class Bar:
    def __init__(self, low, high, diameter, rotate=None):
        self.low, self.high, self.diameter, self.rotate = np.array(low, float), np.array(high, float), diameter, rotate

    def entry(self):
        entry = {"cylinder": {"from": self.low.tolist(), "to": self.high.tolist(), "diameter": float(self.diameter)}}
        return entry | ({"rotate": self.rotate} if self.rotate else {})

    def placed(self):
        turn = turn_of(self.entry())
        low, high = turn(self.low), turn(self.high)
        return low, unit(high - low), np.linalg.norm(high - low)

    def solids(self):
        low, axis, length = self.placed()
        return [BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*low), gp_Dir(*axis)), self.diameter / 2, length).Solid()]

    def distance(self, points):
        low, axis, length = self.placed()
        up = (points - low) @ axis
        out = np.linalg.norm(points - low - up[:, None] * axis, axis=1)
        beyond = np.stack([out - self.diameter / 2, np.abs(up - length / 2) - length / 2], axis=1)
        return np.linalg.norm(np.maximum(beyond, 0), axis=1) + np.minimum(beyond.max(axis=1), 0)


class Mesh:
    """A surface of triangles, its corners those that an STL file can hold."""

    def __init__(self, name, mesh, at, rotate=None):
        self.name, self.at, self.rotate = name, np.array(at, float), rotate
        self.mesh = trimesh.Trimesh(mesh.vertices.astype(np.float32).astype(float), mesh.faces)

    def write(self, folder):
        (folder / f"{self.name}.stl").write_bytes(trimesh.exchange.stl.export_stl(self.mesh))

    def entry(self):
        entry = {"mesh": f"{self.name}.stl", "at": self.at.tolist()}
        return entry | ({"rotate": self.rotate} if self.rotate else {})

    def placed(self):
        return trimesh.Trimesh(turn_of(self.entry())(self.mesh.vertices + self.at), self.mesh.faces)

    def solids(self):
        sewing = BRepBuilderAPI_Sewing(1e-6)
        mesh = self.placed()
        for face in mesh.faces:
            polygon = BRepBuilderAPI_MakePolygon(*(gp_Pnt(*mesh.vertices[corner]) for corner in face), True)
            sewing.Add(BRepBuilderAPI_MakeFace(polygon.Wire(), True).Face())
        sewing.Perform()
        return [BRepBuilderAPI_MakeSolid(TopoDS.Shell(sewing.SewedShape())).Solid()]

    def distance(self, points):
        """Signed distance of points: inside, the triangles' solid angles add up to a whole turn."""
        mesh = self.placed()
        away = np.array([trimesh.proximity.closest_point_naive(mesh, [point])[1][0] for point in points])
        spokes = mesh.triangles[None] - points[:, None, None]
        lengths = np.linalg.norm(spokes, axis=3)
        a, b, c = spokes[:, :, 0], spokes[:, :, 1], spokes[:, :, 2]
        la, lb, lc = lengths[:, :, 0], lengths[:, :, 1], lengths[:, :, 2]
        over = (a * np.cross(b, c)).sum(axis=2)
        under = la * lb * lc + (a * b).sum(axis=2) * lc + (b * c).sum(axis=2) * la + (c * a).sum(axis=2) * lb
        turns = 2 * np.arctan2(over, under).sum(axis=1) / (4 * math.pi)
        return np.where(np.abs(turns) > 0.5, -away, away)


def any_tube(rng, at, bends=2, od=None):
    rows = [
        (rng.uniform(20, 120), rng.uniform(-179, 180), rng.uniform(10, 100), rng.uniform(30, 80))
        for _ in range(rng.randint(0, bends))
    ]
    facing = [rng.gauss(0, 1) for _ in range(3)]
    return Tube(at, facing, rows, rng.uniform(40, 150), od or rng.choice([6, 10, 12, 15, 22]))


def any_turn(rng, about):
    return {"axis": [rng.gauss(0, 1) for _ in range(3)], "degrees": rng.uniform(-170, 170), "about": [float(a) for a in about]}


def any_solid(rng, number, at, kind):
    rotate = any_turn(rng, at) if kind.startswith("turned") else None
    size = np.array([rng.uniform(20, 150) for _ in range(3)])
    if kind.endswith("box"):
        return Box(at - size / 2, at + size / 2, rotate)
    if kind.endswith("bar"):
        axis = unit([rng.gauss(0, 1) for _ in range(3)]) * size[0] / 2
        return Bar(at - axis, at + axis, size[1], rotate)
    mesh = rng.choice(
        [
            trimesh.creation.icosphere(subdivisions=1, radius=size[0] / 2),
            trimesh.creation.annulus(r_min=size[0] / 4, r_max=size[0] / 2, height=size[1], sections=10),
            trimesh.creation.box(size),
            trimesh.creation.cone(radius=size[0] / 2, height=size[1], sections=9),
        ]
    )
    return Mesh(f"m{number}", mesh, at, rotate)


def touching(rng, number, at):
    """Pairs that touch, by how they are made."""
    od, other = rng.choice([6, 10, 15, 22]), rng.choice([6, 10, 15, 22])
    apart = (od + other) / 2
    way, side, up = (np.array(axis, float) for axis in rng.sample([(1, 0, 0), (0, 1, 0), (0, 0, 1)], 3))
    line = Tube(at, way, [], 200.0, od)
    which = number % 8
    if which == 0:  # side by side
        return line, Tube(at + side * apart + way * rng.uniform(-100, 100), way, [], 150.0, other)
    if which == 1:  # one over the other
        return line, Tube(at + way * 90 + up * apart - side * 80, side, [], 170.0, other)
    if which == 2:  # on a box
        low = at + way * 40 - side * 30 - up * (od / 2 + 50)
        return line, Box(low, low + way * 100 + side * 60 + up * 50)
    if which == 3:  # on a round bar
        middle = at + way * 100 + up * (od / 2 + 20)
        return line, Bar(middle - side * 40, middle + side * 40, 40)
    if which == 4:  # the rim of an end on the edge of a face: its centre is beside the box
        low = at + way * 200 + side * (od / 2 - 2)
        return line, Box(low - up * 20, low + way * 30 + side * 40 + up * 20)
    if which == 5:  # two arcs about one centre
        bend = rng.uniform(50, 80)
        a = Tube(at, way, [(50.0, 0.0, 90.0, bend)], 50.0, od)
        normal = a.pieces()[1].axis
        inside = np.cross(normal, a.facing)
        return a, Tube(at - inside * apart, way, [(50.0, 0.0, 90.0, bend + apart)], 50.0, other)
    if which == 6:  # on a mesh
        block = trimesh.creation.box((60, 60, 60))
        return line, Mesh(f"m{number}", block, at + way * 100 - up * (od / 2 + 30))
    # an end against the side of the other
    return line, Tube(at + way * (200 + other / 2) - side * 70, side, [], 140.0, other)


def one_on_the_other(rng, number, at):
    tube = any_tube(rng, at)
    which = number % 3
    if which == 0:
        return tube, Tube(tube.at, tube.facing, tube.rows, tube.end_length, rng.choice([tube.od, 8]))
    straight = Tube(at, tube.facing, [], 200.0, tube.od)
    if which == 1:
        return straight, Tube(at + straight.facing * 50, straight.facing, [], 100.0, tube.od)
    return straight, Bar(at + straight.facing * 50, at + straight.facing * 150, tube.od)


KINDS = ["tube", "box", "bar", "turned box", "turned bar", "mesh", "turned mesh"]


def pairs():
    rng = random.Random(300)
    made = []
    while len(made) < PAIRS:
        number = len(made)
        at = np.array([number % 20 * 4000.0, number // 20 * 4000.0, 0.0])
        if number % 10 == 8:
            a, b = touching(rng, number // 10, at)
        elif number % 10 == 9:
            a, b = one_on_the_other(rng, number // 10, at)
        else:
            a = any_tube(rng, at)
            points = a.points(1.0)
            place = points[rng.randrange(len(points))]
            off = unit([rng.gauss(0, 1) for _ in range(3)]) * rng.choice([0.0, rng.uniform(0, 60), rng.uniform(50, 300)])
            kind = KINDS[number % len(KINDS)]
            if kind == "tube":
                b = any_tube(rng, place + off)
                b.at = b.at - b.facing * rng.uniform(0, 100)
            else:
                b = any_solid(rng, number, place + off, kind)
        # A tube that ends in a component belongs to it: there is no clearance to tell.
        if not isinstance(b, Tube) and b.distance(np.array(a.ends())).min() < 0.1 and number % 10 != 8:
            continue
        made.append((a, b))
    return made


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """The pairs with what the program says of the first of each."""
    folder, made = tmp_path_factory.mktemp("pairs"), pairs()
    runs, components = {}, {}
    for number, (a, b) in enumerate(made):
        runs[f"a{number}"] = a.entry()
        if isinstance(b, Tube):
            runs[f"b{number}"] = b.entry()
            continue
        components[f"b{number}"] = b.entry()
        if isinstance(b, Mesh):
            b.write(folder)
    spec = {"format": 1, "bender": {"clr": 40}, "components": components, "runs": runs}
    path = folder / "pairs.yaml"
    path.write_text(yaml.safe_dump(spec, sort_keys=False))
    told = {run["name"]: run for run in read_plan(build(path, folder / "out", "--only", "json"))["runs"]}
    return [(a, b, told[f"a{number}"]) for number, (a, b) in enumerate(made)]


def by_opencascade(a, b):
    """Distance of two sets of solids, and the volume they share where that is nothing."""
    apart = min(occ_make.distance(one, other) for one in a for other in b)
    shared = 0.0 if apart > EXACT else sum(occ_make.common(one, other) for one in a for other in b)
    return apart, shared


def depth(a, b):
    """How deep two are in each other, mm, and whether that is away from all flat ends; by sampling."""
    step = 0.25
    points = a.points(step)
    if isinstance(b, Tube):
        others = b.points(step)
        away = np.array([np.linalg.norm(others - point, axis=1).min() for point in points])
        at = int(away.argmin())
        other = int(np.linalg.norm(others - points[at], axis=1).argmin())
        margin = int((a.od + b.od) / step)
        inner = margin < at < len(points) - margin and margin < other < len(others) - margin
        return away[at] - (a.od + b.od) / 2, inner, step
    away = b.distance(points)
    at, margin = int(away.argmin()), int(a.od / step)
    return away[at] - a.od / 2, margin < at < len(points) - margin, step


def test_the_clearance_of_every_pair_is_opencascade_s(measured):
    apart, touch, cross, deep, worst, wrong = 0, 0, 0, 0, 0.0, []
    for number, (a, b, told) in enumerate(measured):
        partner = ("run " if isinstance(b, Tube) else "component ") + f"b{number}"
        ours, to = told["min_clearance_mm"], told["nearest"]["to"]
        gap, shared = by_opencascade(a.solids(), b.solids())
        about = (number, type(b).__name__, to, ours, gap, shared)
        if to != partner:
            wrong.append(("partner", about))
        elif gap > EXACT:
            apart += 1
            worst = max(worst, abs(ours - gap))
            if abs(ours - gap) > EXACT:
                wrong.append(("apart", about))
        elif shared > 1e-3:
            cross += 1
            if not ours < 0:
                wrong.append(("cross", about))
            by, inner, step = depth(a, b)
            if inner:
                deep += 1
                # Between two samples the depth changes by less than half a step's second order and half a step's slope.
                if not by - step <= ours <= by + EXACT:
                    wrong.append(("depth", (*about, by)))
        else:
            touch += 1
            if abs(ours) > EXACT:
                wrong.append(("touch", about))
    print(f"{apart} apart (largest difference {worst:.6f} mm), {touch} touching, {cross} crossing ({deep} depths)")
    assert not wrong, "\n".join(map(str, wrong))
    assert apart >= 100 and touch >= 20 and cross >= 60 and deep >= 30

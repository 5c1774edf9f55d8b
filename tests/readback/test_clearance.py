"""Clearances of plan.json, measured between the written solids by OpenCascade."""

import math
import random

import numpy as np
import occ
import pytest
import yaml
from bent_runs import reference_normal, rotated
from conftest import DEMOS, build, read_plan
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPControl import STEPControl_Reader


@pytest.fixture(scope="session")
def crowd(tmp_path_factory):
    """A dozen runs thrown into a box with four components, so that some touch and most do not."""
    rng = random.Random(20)
    runs = {}
    for number in range(12):
        at = [rng.uniform(60, 420) for _ in range(3)]
        facing = [rng.gauss(0, 1) for _ in range(3)]
        size = math.hypot(*facing)
        rows = [
            {"length": rng.uniform(15, 160), "rotation": rng.uniform(-179, 180), "angle": rng.uniform(5, 175),
             "clr": rng.uniform(30, 70)}
            for _ in range(rng.randint(1, 4))
        ]
        runs[f"r{number}"] = {
            "from": {"at": at, "facing": [f / size for f in facing]},
            "bends": rows,
            "end_length": rng.uniform(20, 120),
        }
    spec = {
        "format": 1,
        "units": "mm",
        "tube": {"od": 12, "wall": 1, "material": "copper", "temper": "soft"},
        "bender": {"name": "form", "clr": 40},
        "components": {
            "box": {"box": {"from": [150, 200, 100], "to": [260, 250, 190]}},
            "far": {"box": {"from": [2000, 200, 100], "to": [2200, 250, 190]}},
            "bar": {"cylinder": {"from": [400, 100, 50], "to": [460, 300, 350], "diameter": 44}},
            "disc": {"cylinder": {"from": [100, 420, 300], "to": [100, 440, 300], "diameter": 150}},
        },
        "runs": runs,
    }
    folder = tmp_path_factory.mktemp("crowd")
    path = folder / "crowd.yaml"
    path.write_text(yaml.safe_dump(spec, sort_keys=False))
    return path, build(path, folder / "out", "--only", "step,json")


def tube_of(folder, run):
    """The written solid of a run."""
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(folder / "runs" / run / "tube.step")) == IFSelect_ReturnStatus.IFSelect_RetDone
    assert reader.TransferRoots() == 1
    return reader.OneShape()


def component_of(written):
    """OpenCascade's own solid of a component of the spec, and the distance of points from it."""
    if "box" in written:
        low, high = (np.array(written["box"][k], float) for k in ("from", "to"))
        solid = BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Solid()
        middle, half = (low + high) / 2, (high - low) / 2

        def distance(points):
            beyond = np.abs(points - middle) - half
            return np.linalg.norm(np.maximum(beyond, 0), axis=1) + np.minimum(beyond.max(axis=1), 0)

    else:
        bar = written["cylinder"]
        low, high = (np.array(bar[k], float) for k in ("from", "to"))
        radius, length = bar["diameter"] / 2, np.linalg.norm(high - low)
        axis = (high - low) / length
        place = gp_Ax2(gp_Pnt(*low), gp_Dir(*axis))
        solid = BRepPrimAPI_MakeCylinder(place, radius, length).Solid()

        def distance(points):
            up = (points - low) @ axis
            out = np.linalg.norm(points - low - up[:, None] * axis, axis=1)
            beyond = np.stack([out - radius, np.abs(up - length / 2) - length / 2], axis=1)
            return np.linalg.norm(np.maximum(beyond, 0), axis=1) + np.minimum(beyond.max(axis=1), 0)

    return solid, distance


def distance_between(a, b):
    """Distance of two solids, by OpenCascade."""
    search = BRepExtrema_DistShapeShape(a, b)
    assert search.IsDone()
    return search.Value()


def centreline(run, step):
    """Points of a run's centreline every `step` mm, from its table, with their stations."""
    at = np.array(run["ends"][0]["at_mm"])
    direction = np.array(run["ends"][0]["facing"])
    normal = reference_normal(direction)
    points, stations, done = [], [], 0.0
    for bend, straight in zip([*run["bends"], None], run["straights_mm"], strict=True):
        for s in np.arange(0, straight, step):
            points.append(at + direction * s)
            stations.append(done + s)
        at, done = at + direction * straight, done + straight
        if bend is None:
            break
        angle = math.radians(bend["angle_deg"])
        axis = rotated(normal, direction, math.radians(bend["rotation_deg"]))
        centre = at + np.cross(axis, direction) * bend["clr_mm"]
        for a in np.arange(0, angle, step / bend["clr_mm"]):
            points.append(centre + rotated(at - centre, axis, a))
            stations.append(done + a * bend["clr_mm"])
        at, direction = centre + rotated(at - centre, axis, angle), rotated(direction, axis, angle)
        done, normal = done + bend["clr_mm"] * angle, axis
    return np.array([*points, at]), np.array([*stations, done])


def beyond_end(distances, stations, skipped, radius):
    """Where a tube that leaves its own component first stops moving away from it."""
    first = int(np.searchsorted(stations, skipped))
    if first >= len(stations) or distances[first] <= radius:
        return first
    while first + 1 < len(stations) and distances[first + 1] > distances[first]:
        first += 1
    return first


def own_clearance(run, distance, ends, fitting_lengths):
    """Clearance of a run from the component its ends are in, where it comes back to it; or infinity."""
    od = run["tube"]["od_mm"]
    points, stations = centreline(run, 0.05)
    distances = distance(points)
    first, last = 0, len(points)
    if ends[0]:
        first = beyond_end(distances, stations, fitting_lengths[0] + od, od / 2)
    if ends[1]:
        backwards = stations[-1] - stations[::-1]
        last -= beyond_end(distances[::-1], backwards, fitting_lengths[1] + od, od / 2)
    counted = distances[first:last]
    # A stretch that only ever moves away leaves a sample or two.
    return counted.min() - od / 2 if len(counted) > 2 else math.inf


def check_clearances(spec, folder):
    """Every run's clearance against OpenCascade's distances between the solids."""
    written = yaml.safe_load(spec.read_text())
    runs = {run["name"]: run for run in read_plan(folder)["runs"]}
    tubes = {name: tube_of(folder, name) for name in runs}
    solids = {name: component_of(c) for name, c in written.get("components", {}).items()}
    fittings = written.get("fittings", {})

    found = {name: [] for name in runs}
    names = list(runs)
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            apart = distance_between(tubes[a], tubes[b])
            found[a].append(apart)
            found[b].append(apart)
    for name, run in runs.items():
        asked = written["runs"][name]
        own, lengths = [None, None], [0.0, 0.0]
        for index, key in enumerate(("from", "to")):
            end = asked.get(key)
            if isinstance(end, str):
                component, port = end.rsplit(".", 1)
                fitting = fittings[written["components"][component]["ports"][port]["fitting"]]
                own[index], lengths[index] = component, fitting["insert"] + fitting["straight"]
            elif isinstance(end, dict):
                point = np.array([end["at"]], float)
                touching = [c for c, (_, distance) in solids.items() if distance(point)[0] <= 0.01]
                own[index] = touching[0] if touching else None
        for component, (solid, distance) in solids.items():
            ends = [component == o for o in own]
            if any(ends):
                found[name].append(own_clearance(run, distance, ends, lengths))
            else:
                found[name].append(distance_between(tubes[name], solid))

    compared, overlapping = 0, set()
    for name, run in runs.items():
        wanted = min(found[name], default=math.inf)
        clearance = run["min_clearance_mm"]
        if wanted == math.inf:
            assert clearance is None, name
        elif wanted < 0.01:
            # Solids that overlap have no distance; the plan says by how much.
            assert clearance < 0.02, name
            overlapping.add(name)
        else:
            assert clearance == pytest.approx(wanted, abs=0.02), name
            compared += 1
    return compared, overlapping


def test_clearances_of_the_demos_agree_with_opencascade(demos):
    led = [spec for spec in DEMOS if spec.stem != "shelf-server"]
    compared = sum(check_clearances(spec, demos[spec.stem])[0] for spec in led)
    assert compared >= 8


def test_found_runs_keep_their_distance_by_opencascade(demos):
    """The shelf server: runs that are found, parts, a mesh, and bodies of fittings, all from the file of the assembly."""
    spec = next(spec for spec in DEMOS if spec.stem == "shelf-server")
    written, out = yaml.safe_load(spec.read_text()), demos[spec.stem]
    parts = occ.read(out / "assembly.step").parts
    least = {}
    for name, run in written["runs"].items():
        own = {run[end].rsplit(".", 1)[0] for end in ("from", "to")}
        others = (set(written["components"]) | set(written["runs"])) - own - {name}
        least[name] = min(distance_between(parts[name].shape, parts[other].shape) for other in others)
    assert len(least) == 6
    for run in read_plan(out)["runs"]:
        # Its own components, which stand at its ends, may be nearer.
        assert written["clearance"] - 0.02 < run["min_clearance_mm"] < least[run["name"]] + 0.02, run["name"]
    assert min(least.values()) > written["clearance"] - 0.02


def test_clearances_in_a_crowd_agree_with_opencascade(crowd):
    spec, folder = crowd
    compared, overlapping = check_clearances(spec, folder)
    assert compared >= 4
    assert len(overlapping) >= 3, "the crowd should be tight enough for some to touch"
    plan = read_plan(folder)
    assert {run["name"] for run in plan["runs"] if run["min_clearance_mm"] < 0} == overlapping
    clashes = [w for w in plan["warnings"] if w["code"] == "clash"]
    assert {name for w in clashes for name in (w["run"], w["with"]) if name} == overlapping
    pairs = [frozenset((w["run"], w["with"])) for w in clashes if w["with"]]
    assert len(pairs) == len(set(pairs)) > 0, "each pair is told once"
    for clash in clashes:
        check_deepest(folder, plan, clash)


def check_deepest(folder, plan, clash):
    """The place told of a clash is within both tubes by half of the overlap and more."""
    depth = float(clash["message"].split(" by ")[1].split(" mm")[0])
    point = BRepBuilderAPI_MakeVertex(gp_Pnt(*clash["at_mm"])).Vertex()
    radius = {run["name"]: run["tube"]["od_mm"] / 2 for run in plan["runs"]}
    wall = {run["name"]: run["tube"]["wall_mm"] for run in plan["runs"]}
    for name in filter(None, (clash["run"], clash["with"])):
        # The tubes are hollow: a place in the bore is up to the bore's radius away from the metal.
        away = BRepExtrema_DistShapeShape(point, tube_of(folder, name)).Value()
        assert away <= max(0.02, radius[name] - wall[name] + 0.02), (clash, name, away)
    if clash["with"]:
        assert 0 < depth <= radius[clash["run"]] + radius[clash["with"]] + 0.02, clash

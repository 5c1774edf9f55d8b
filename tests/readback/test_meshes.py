"""Components with a mesh, and turned boxes: the files are written by trimesh, the assembly is read by OpenCascade,
and clearances are measured between the solids read from it."""

import math
import random

import numpy as np
import occ
import pytest
import trimesh
import yaml
from conftest import build, read_plan, run_program
from OCP.BRepExtrema import BRepExtrema_DistShapeShape

TURN = trimesh.transformations.rotation_matrix
MOVE = trimesh.transformations.translation_matrix


def u_shape():
    """A U of 100 x 80 x 50 mm, 20 mm thick, open towards +y."""
    outline = [(0, 0), (100, 0), (100, 80), (80, 80), (80, 20), (20, 20), (20, 80), (0, 80)]
    flat = [(0, 5, 6), (0, 6, 7), (0, 1, 4), (0, 4, 5), (1, 2, 3), (1, 3, 4)]
    corners = [(x, y, z) for z in (0, 50) for x, y in outline]
    sides = [t for a in range(8) for b in [(a + 1) % 8] for t in [(a, b, b + 8), (a, b + 8, a + 8)]]
    faces = [(c, b, a) for a, b, c in flat] + [(a + 8, b + 8, c + 8) for a, b, c in flat] + sides
    return trimesh.Trimesh(corners, faces)


def shapes():
    """By name: the mesh in its own coordinates, and the spec's entry for it apart from the file."""
    two = trimesh.util.concatenate(
        [trimesh.creation.box((20, 30, 40)), trimesh.creation.box((20, 20, 20), transform=MOVE([50, 0, 0]))]
    )
    return {
        "u": (u_shape(), {"rotate": {"axis": [1, 0, 0], "degrees": 90}, "at": [100, 0, -60]}),
        "ring": (
            trimesh.creation.annulus(r_min=20, r_max=35, height=30, sections=12),
            {"rotate": {"axis": [1, 2, -1], "degrees": 110, "about": [250, 35, 60]}, "at": [250, 35, 60]},
        ),
        "ball": (trimesh.creation.icosphere(subdivisions=1, radius=1.5), {"units": "in", "at": [400, 0, 40]}),
        "two": (two, {"at": [300, 220, 0]}),
    }


def placed(mesh, entry):
    """The mesh where the spec puts it."""
    mesh = mesh.copy()
    mesh.apply_scale({"in": 25.4, "mm": 1.0}[entry.get("units", "mm")])
    mesh.apply_translation(entry.get("at", [0, 0, 0]))
    if turn := entry.get("rotate"):
        mesh.apply_transform(TURN(math.radians(turn["degrees"]), turn["axis"], turn.get("about", [0, 0, 0])))
    return mesh


@pytest.fixture(scope="session")
def scene(tmp_path_factory):
    """The folder of a build with meshes among runs thrown about them, and the placed meshes by name."""
    folder, rng = tmp_path_factory.mktemp("meshes"), random.Random(7)
    parts, meshes = {}, {}
    for number, (name, (mesh, entry)) in enumerate(shapes().items()):
        text = trimesh.exchange.stl.export_stl_ascii(mesh)
        data = text.encode() if number % 2 else trimesh.exchange.stl.export_stl(mesh)
        (folder / f"{name}.stl").write_bytes(data)
        parts[name] = {"mesh": f"{name}.stl", **entry}
        meshes[name] = placed(mesh, entry)
    # Two parts, one turned in itself, then both.
    low, high = [0, 150, 0], [100, 230, 60]
    own, both = {"axis": [0, 0, 1], "degrees": 30, "about": [50, 190, 0]}, {"axis": [1, 0, 0.2], "degrees": -25}
    second = {"cylinder": {"from": [120, 150, 10], "to": [120, 150, 90], "diameter": 30}}
    parts["crate"] = {"parts": [{"box": {"from": low, "to": high}, "rotate": own}, second], "rotate": both}
    crate = placed(trimesh.creation.box(bounds=[low, high]), {"rotate": own})
    bar = trimesh.creation.cylinder(radius=15, height=80, sections=2000, transform=MOVE([120, 150, 50]))
    meshes["crate"] = placed(trimesh.util.concatenate([crate, bar]), {"rotate": both})
    runs = {}
    for number in range(16):
        at = [rng.uniform(-50, 450), rng.uniform(-100, 300), rng.uniform(-60, 150)]
        facing = [rng.gauss(0, 1) for _ in range(3)]
        rows = [
            {"length": rng.uniform(20, 120), "rotation": rng.uniform(-179, 180), "angle": rng.uniform(20, 150)}
            for _ in range(rng.randint(1, 3))
        ]
        runs[f"r{number}"] = {"from": {"at": at, "facing": facing}, "bends": rows, "end_length": rng.uniform(20, 90)}
    spec = {
        "format": 1,
        "tube": {"od": 12, "wall": 1, "material": "copper", "temper": "soft"},
        "bender": {"name": "form", "clr": 40},
        "components": parts,
        "runs": runs,
    }
    path = folder / "meshes.yaml"
    path.write_text(yaml.safe_dump(spec, sort_keys=False))
    return build(path, folder / "out", "--only", "step,json"), meshes


def test_every_mesh_and_turned_box_is_a_sound_solid_where_the_spec_puts_it(scene):
    folder, meshes = scene
    file = occ.read(folder / "assembly.step")
    assert not file.messages
    for name, mesh in meshes.items():
        shape = file.parts[name].shape
        assert occ.valid(shape), name
        assert occ.solids(shape) == len(mesh.split()), name
        assert occ.volume(shape) == pytest.approx(mesh.volume, rel=5e-6), name
        assert np.allclose(np.reshape(occ.box(shape), (2, 3)), mesh.bounds, atol=1e-3), name


def test_clearances_to_meshes_agree_with_the_written_solids(scene):
    folder, meshes = scene
    file = occ.read(folder / "assembly.step")
    plan = read_plan(folder)

    def gap(one, other):
        measured = BRepExtrema_DistShapeShape(file.parts[one].shape, file.parts[other].shape)
        assert measured.IsDone()
        return measured.Value()

    nearest_to = []
    for run in plan["runs"]:
        name, told = run["name"], max(0.0, run["min_clearance_mm"])
        gaps = {part: gap(name, part) for part in meshes}
        nearest = min(gaps, key=gaps.get)
        if told > gaps[nearest] - 0.02:
            assert told == pytest.approx(gaps[nearest], abs=0.02), (name, gaps)
            if told > 0.02:
                nearest_to.append(nearest)
        else:
            # Another tube is nearer than every component.
            others = [gap(name, other["name"]) for other in plan["runs"] if other is not run]
            assert told == pytest.approx(min(others), abs=0.02), (name, others)
    assert len(nearest_to) >= 5 and {"u", "crate"} <= set(nearest_to), nearest_to


def test_odd_meshes_are_told(tmp_path):
    box = trimesh.creation.box((30, 30, 30))
    inward, lid = box.copy(), box.copy()
    inward.invert()
    large = trimesh.creation.icosphere(subdivisions=2, radius=6000)
    lid.update_faces(np.arange(len(lid.faces)) > 1)
    for name, mesh in {"inward": inward, "open": lid, "large": large}.items():
        mesh.export(tmp_path / f"{name}.stl")
    spec = tmp_path / "odd.yaml"
    spec.write_text(
        "format: 1\ntube: {od: 12, wall: 1, material: copper, temper: soft}\nbender: {clr: 40}\ncomponents:\n"
        "  a: {mesh: inward.stl, at: [0, 200, 0]}\n  b: {mesh: open.stl}\n"
        "  d: {mesh: large.stl, at: [0, -9000, 0]}\n"
        "runs: {r: {from: [-200, 0, 0], corners: [], to: [200, 0, 0]}}\n"
    )
    told = run_program("check", spec).stderr
    for code in ("mesh-inside-out", "mesh-open", "not-in-assembly", "mesh-size", "clash"):
        assert told.count(f"[{code}]") == 1, told

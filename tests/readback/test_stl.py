"""trimesh reads every STL file: watertight, right-handed, one hollow body, as near as the chord height says."""

import pathlib
import struct

import numpy
import occ
import pytest
import trimesh
from closed_form import closed_forms, volume_bound
from conftest import DEMOS
from solid_specs import CHORD, built, built_extremes, source, u_bend

# What 32-bit coordinates of metre-long runs round away, mm.
SINGLE = 2e-4


def load(path):
    raw = pathlib.Path(path).read_bytes()
    assert not raw.startswith(b"solid") and b"mm" in raw[:80]
    assert len(raw) == 84 + 50 * struct.unpack_from("<I", raw, 80)[0]
    mesh = trimesh.load_mesh(path)
    assert len(mesh.faces) == struct.unpack_from("<I", raw, 80)[0], "facets lost in reading"
    return mesh


def assert_tube(mesh, run, chord):
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.is_volume
    assert mesh.body_count == 1
    # A tube is one ring: bore and skin are one surface.
    assert mesh.euler_number == 0
    bound = volume_bound(chord, run)
    loss = 1 - mesh.volume / run.volume
    assert -1e-5 < loss < bound + 1e-5, (loss, bound)


@pytest.mark.parametrize("make", [built, built_extremes])
def test_random_runs_are_watertight(make):
    runs, out = make()
    for name, run in runs.items():
        assert_tube(load(out / "runs" / name / "tube.stl"), run, CHORD)


@pytest.mark.parametrize("demo", [d.stem for d in DEMOS])
def test_demo_meshes(demos, demo):
    out = demos[demo]
    for name, run in closed_forms(source(demo)).items():
        mesh = load(out / "runs" / name / "tube.stl")
        assert_tube(mesh, run, 0.05)
        shape = occ.read(out / "runs" / name / "tube.step").parts[name].shape
        assert_in_box(mesh, occ.box(shape), 0.05)


def assert_in_box(mesh, box, chord):
    """The mesh lies in the exact solid's box and fills it but for the chord height."""
    low, high = mesh.bounds
    assert numpy.all(low > numpy.array(box[0]) - SINGLE) and numpy.all(low < numpy.array(box[0]) + chord + SINGLE)
    assert numpy.all(high < numpy.array(box[1]) + SINGLE) and numpy.all(high > numpy.array(box[1]) - chord - SINGLE)


def test_worked_u_bend_box():
    mesh = load(u_bend() / "runs" / "u" / "tube.stl")
    assert_in_box(mesh, ((0, -7.9375, -7.9375), (107.9375, 127.9375, 7.9375)), 0.05)


def test_facet_normals_are_those_of_the_corners():
    raw = (u_bend() / "runs" / "u" / "tube.stl").read_bytes()
    kind = numpy.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    facets = numpy.frombuffer(raw, dtype=kind, offset=84)
    corners = facets["corners"].astype(float)
    right_hand = numpy.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    right_hand /= numpy.linalg.norm(right_hand, axis=1, keepdims=True)
    assert numpy.abs(right_hand - facets["normal"]).max() < 1e-3
    assert not facets["attribute"].any()

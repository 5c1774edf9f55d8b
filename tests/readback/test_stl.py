"""trimesh reads every STL file: watertight, right-handed, one hollow body, as near as the chord height says."""

import pathlib
import struct

import numpy
import occ
import pytest
import trimesh
import yaml
from bent_runs import centrelines, off_wall
from closed_form import closed_forms, volume_bound
from conftest import DEMOS
from solid_specs import (
    CHORD,
    U_BEND,
    built,
    built_extremes,
    built_fine,
    extreme_runs,
    fine_runs,
    random_runs,
    source,
    spec,
    u_bend,
)

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


# Where in a facet its distance from the wall is taken: middle, edges, and near each corner.
INSIDE = numpy.array(
    [[1, 1, 1], [1.5, 1.5, 0], [0, 1.5, 1.5], [1.5, 0, 1.5], [2, 0.5, 0.5], [0.5, 2, 0.5], [0.5, 0.5, 2]]
) / 3
MOST_FACETS = 4000
"""Of larger meshes this many facets are taken at random."""


def assert_on_walls(mesh, pieces, run, chord):
    """Corners lie on the true walls but for 32-bit rounding, facets within the chord height of them."""
    rounding = float(numpy.spacing(numpy.float32(numpy.abs(mesh.vertices).max()))) + 1e-6
    assert rounding < 1e-3
    facets = numpy.asarray(mesh.triangles)
    if len(facets) > MOST_FACETS:
        facets = facets[numpy.random.default_rng(3).choice(len(facets), MOST_FACETS, replace=False)]
    corners = facets.reshape(-1, 3)
    on = {r: (off_wall(pieces, r, corners) < rounding).reshape(-1, 3) for r in (run.outer, run.inner)}
    assert (on[run.outer] | on[run.inner]).all(), "a corner is off the walls"
    # The ends join both walls; every other facet has its three corners on one.
    on_wall = {r: corner.all(axis=1) for r, corner in on.items()}
    assert_on_ends(facets[~(on_wall[run.outer] | on_wall[run.inner])], pieces, rounding)
    for radius, chosen in on_wall.items():
        assert chosen.any()
        points = numpy.einsum("ki,fij->fkj", INSIDE, facets[chosen]).reshape(-1, 3)
        off = off_wall(pieces, radius, points).max()
        assert off < chord + rounding, f"facets are up to {off} from the wall of radius {radius}"


def assert_on_ends(facets, pieces, rounding):
    """Facets lie in the planes of the two ends."""
    first, last = pieces[0], pieces[-1]
    start, along = first.start_and_direction()
    end, out = last.end_and_direction()
    off = numpy.minimum(
        numpy.abs((facets - start) @ along).max(axis=1, initial=0), numpy.abs((facets - end) @ out).max(axis=1, initial=0)
    )
    assert (off < rounding).all(), "a facet that is on no wall and no end"


def check_walls(out, written, chord):
    """Every mesh of a folder against the centrelines of the spec it was built from; how many there are."""
    runs = closed_forms(written)
    for name, pieces in centrelines(written).items():
        assert_on_walls(load(out / "runs" / name / "tube.stl"), pieces, runs[name], chord)
    return len(runs)


def test_coarse_random_meshes_follow_the_walls():
    assert check_walls(built()[1], yaml.safe_load(spec(random_runs())), CHORD) == 300


def test_extreme_meshes_follow_the_walls():
    assert check_walls(built_extremes()[1], yaml.safe_load(spec(extreme_runs())), CHORD) == 60


def test_random_meshes_of_the_default_chord_follow_the_walls():
    assert check_walls(built_fine(), yaml.safe_load(spec(fine_runs())), 0.05) == 12


@pytest.mark.parametrize("demo", [d.stem for d in DEMOS])
def test_demo_meshes_follow_the_walls(demos, demo):
    assert check_walls(demos[demo], source(demo), 0.05) == len(source(demo)["runs"])


def test_the_wall_check_does_complain():
    """A mesh off by a hundredth, one off its ends and one of coarser chords are all seen."""
    written = yaml.safe_load(U_BEND)
    (pieces,), (run,) = centrelines(written).values(), closed_forms(written).values()
    mesh = load(u_bend() / "runs" / "u" / "tube.stl")
    assert_on_walls(mesh, pieces, run, 0.05)
    with pytest.raises(AssertionError, match="facets are up to 0.049"):
        assert_on_walls(mesh, pieces, run, 0.04)
    shifted = mesh.copy()
    shifted.apply_translation([0, 0, 0.01])
    with pytest.raises(AssertionError, match="off the walls"):
        assert_on_walls(shifted, pieces, run, 0.05)
    # Along the straights the walls stay where they are; only the ends tell.
    longer = mesh.copy()
    longer.vertices[longer.vertices[:, 0] < 1e-3] -= [0.5, 0, 0]
    with pytest.raises(AssertionError, match="off the walls"):
        assert_on_walls(longer, pieces, run, 0.05)


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

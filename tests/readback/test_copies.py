"""trimesh judges mirrored runs, and tiny tubes far from the origin, by their written meshes."""

import re

import pytest
import trimesh
from conftest import build

MIRRORED = """
format: 1
tube: {od: 12, wall: 1, material: copper, temper: half-hard}
bender: {clr: 40}
runs:
  table:
    from: {at: [30, 20, 10], facing: [1, 2, -0.5]}
    bends:
      - {length: 60, rotation: 25, angle: 70}
      - {length: 50, rotation: -100, angle: 120}
      - {length: 45, rotation: 35, angle: 40}
    end_length: 55
  corners: {from: [0, 0, 200], to: [250, 160, 320], corners: [[150, 0, 200], [150, 160, 240]]}
  table-x: {mirror: {run: table, plane: x, at: -120}}
  table-y: {mirror: {run: table, plane: y, at: 330.5}}
  table-z: {mirror: {run: table, plane: z, at: -7 in}}
  corners-x: {mirror: {run: corners, plane: x, at: -120}}
  corners-y: {mirror: {run: corners, plane: y, at: 330.5}}
  corners-z: {mirror: {run: corners, plane: z, at: -7 in}}
"""

AT = {"x": -120.0, "y": 330.5, "z": -177.8}


@pytest.fixture(scope="module")
def mirrored(tmp_path_factory):
    home = tmp_path_factory.mktemp("mirrored")
    (home / "pairs.yaml").write_text(MIRRORED, encoding="utf-8")
    return build(home / "pairs.yaml", home / "out", "--only", "stl", "--chord", "0.01")


@pytest.mark.parametrize("run", ["table", "corners"])
@pytest.mark.parametrize("plane", ["x", "y", "z"])
def test_the_mirrored_solid_is_the_mirror_image(mirrored, run, plane):
    one, other = (trimesh.load_mesh(mirrored / "runs" / name / "tube.stl") for name in (run, f"{run}-{plane}"))
    assert other.is_volume
    assert abs(other.volume / one.volume - 1) < 1e-5
    axis = "xyz".index(plane)
    wanted = one.center_mass.copy()
    wanted[axis] = 2 * AT[plane] - wanted[axis]
    assert abs(other.center_mass - wanted).max() < 1e-3
    # Not only its middle: every corner of the image lies on the other mesh, within what facets cut.
    corners = one.vertices[:: max(1, len(one.vertices) // 300)].copy()
    corners[:, axis] = 2 * AT[plane] - corners[:, axis]
    _, distance, _ = trimesh.proximity.closest_point_naive(other, corners)
    assert distance.max() < 0.02


FAR = """
format: 1
tube: {{od: 0.3 mm, wall: 0.05 mm, material: copper, temper: soft}}
bender: {{clr: 2}}
runs:
  tiny: {{from: {{at: [{x}, {y}, 0], facing: [0, 1, 0]}}, bends: [{{length: 5, angle: 90}}], end_length: 4}}
"""


def test_a_tiny_tube_far_from_the_origin_keeps_its_volume(tmp_path):
    meshes = []
    for name, x, y in [("near", 0, 0), ("far", 999000, -999000)]:
        (tmp_path / f"{name}.yaml").write_text(FAR.format(x=x, y=y), encoding="utf-8")
        out = build(tmp_path / f"{name}.yaml", tmp_path / name, "--only", "stl")
        path = out / "runs" / "tiny" / "tube.stl"
        meshes.append((trimesh.load_mesh(path), path.read_bytes()[:80].decode()))
    (near, plain), (far, moved) = meshes
    assert "moved" not in plain
    assert far.is_volume
    assert len(far.faces) == len(near.faces)
    assert abs(far.volume / near.volume - 1) < 1e-3
    # The header says by how much, and moved back the mesh is where the spec has it.
    by = [float(part) for part in re.search(r"moved by (\S+),", moved)[1].split(",")]
    assert abs((far.center_mass - by) - (near.center_mass + [999000, -999000, 0])).max() < 1e-3

"""plan.json and bends.csv: their keys, and every number recomputed from coordinates."""

import csv
import json
import math

import numpy as np
import pytest
import yaml
from bent_runs import reference_normal, rotated
from conftest import DEMOS, build, read_plan

PLAN_KEYS = ["format", "title", "spec", "runs", "cut_plan", "warnings"]
RUN_KEYS = [
    "name", "tube", "developed_length_mm", "cut_length_mm", "straights_mm", "mass_g", "bore_volume_ml",
    "outer_area_mm2", "metal_volume_mm3", "corners_mm", "ends", "bends", "min_clearance_mm",
]
TUBE_KEYS = ["od_mm", "wall_mm", "material", "temper"]
END_KEYS = ["at_mm", "facing"]
BEND_KEYS = [
    "number", "angle_deg", "included_angle_deg", "rotation_deg", "clr_mm", "straight_before_mm", "start_mm",
    "middle_mm", "end_mm", "mark_mm", "from_last_end_mm", "pull_to_deg", "springback_deg", "springback_source",
    "outer_strain", "outer_wall_mm",
]
WARNING_KEYS = ["code", "run", "bend", "message", "line"]

EXACT = 2e-6
"""Numbers are rounded to 1e-6."""
COPPER = 8940.0

# Marks at the middle of the bend, a datum, allowances at both ends, a radius of its own.
MARKS = """
format: 1
units: mm
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {name: form, clr: 40, grip: 30, lead_out: 30, mark: middle, datum: 6.5}
runs:
  zed:
    from: [10, -20, 30]
    to: [260, 150, 130]
    corners: [[120, -20, 30], {at: [120, 150, 30], clr: 30}]
    allowance: {start: 12, end: 4}
"""


# Every warning about straights, ports and clearance.
TROUBLE = """
format: 1
units: mm
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {name: form, clr: 40, grip: 30, lead_out: 30}
fittings:
  collar: {tube_od: 12, insert: 10, straight: 8, max_angle: 1, max_side: 0.5}
  wide: {tube_od: 12.5, insert: 10, straight: 8, max_angle: 1, max_side: 0.5}
components:
  tank:
    box: {from: [-100, -50, -50], to: [0, 50, 50]}
    ports:
      out: {at: [0, 0, 0], facing: [1, 0, 0], fitting: collar}
      side: {at: [0, 30, 0], facing: [1, 0, 0], fitting: wide}
runs:
  short:              # grip and lead-out
    from: [0, 300, 0]
    to: [60, 360, 0]
    corners: [[60, 300, 0]]
  askew:              # leaves its port at an angle, and crosses `near`
    from: tank.out
    to: [300, 200, 0]
    corners: [[200, 20, 0]]
  near:               # a fitting for another tube, 45 - 40 mm of straight
    from: tank.side
    to: [45, -150, 0]
    corners: [[45, 30, 0]]
  off:                # ends beside its goal, turned by 210 instead of 90 degrees
    from: {at: [0, 0, 400], facing: [1, 0, 0]}
    to: {at: [100, 90, 400], facing: [0, -1, 0]}
    bends:
      - {length: 60, rotation: 0, angle: 90}
      - {length: 60, rotation: 0, angle: 120}
    end_length: 60
"""


def turn_between(a, b):
    """Difference of two angles on the circle, degrees."""
    return abs((a - b + 180.0) % 360.0 - 180.0)


def from_corners(run):
    """Angles, rotations and straights of a run, from its corners and radii alone."""
    points = np.array(run["corners_mm"])
    legs = np.diff(points, axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    along = legs / lengths[:, None]
    normal = reference_normal(along[0])
    angles, rotations, setbacks = [], [], [0.0]
    for before, after, bend in zip(along[:-1], along[1:], run["bends"], strict=True):
        axis = np.cross(before, after)
        angles.append(math.atan2(np.linalg.norm(axis), np.dot(before, after)))
        axis /= np.linalg.norm(axis)
        rotations.append(math.atan2(np.dot(np.cross(normal, axis), before), np.dot(normal, axis)))
        setbacks.append(bend["clr_mm"] * math.tan(angles[-1] / 2))
        normal = axis
    setbacks.append(0.0)
    straights = [length - a - b for length, a, b in zip(lengths, setbacks[:-1], setbacks[1:], strict=True)]
    return np.degrees(angles), np.degrees(rotations), straights


def check_by_corners(run):
    """A run without a 180° bend agrees with its own corners."""
    angles, rotations, straights = from_corners(run)
    # A corner is rounded to 1e-6; over a leg of 20 mm that is 6e-6 degrees.
    for bend, angle, rotation in zip(run["bends"], angles, rotations, strict=True):
        assert bend["angle_deg"] == pytest.approx(angle, abs=2e-5)
        assert turn_between(bend["rotation_deg"], rotation) < 1e-4
    assert run["straights_mm"] == pytest.approx(straights, abs=1e-5)


def check_by_table(run):
    """Laying the bend table out from the datum end gives the corners and the other end."""
    at = np.array(run["ends"][0]["at_mm"])
    direction = np.array(run["ends"][0]["facing"])
    normal = reference_normal(direction)
    corners = [at]
    for bend in run["bends"]:
        at = at + direction * bend["straight_before_mm"]
        angle = math.radians(bend["angle_deg"])
        axis = rotated(normal, direction, math.radians(bend["rotation_deg"]))
        if bend["angle_deg"] < 179.9:
            corners.append(at + direction * bend["clr_mm"] * math.tan(angle / 2))
        centre = at + np.cross(axis, direction) * bend["clr_mm"]
        at = centre + rotated(at - centre, axis, angle)
        direction = rotated(direction, axis, angle)
        normal = axis
    at = at + direction * run["straights_mm"][-1]
    corners.append(at)
    assert np.array(run["corners_mm"]) == pytest.approx(np.array(corners), abs=1e-4)
    assert np.array(run["ends"][1]["at_mm"]) == pytest.approx(at, abs=1e-4)
    assert np.array(run["ends"][1]["facing"]) == pytest.approx(-direction, abs=1e-6)


def check_lengths(run):
    """Lengths, volumes, mass, strain and wall follow from the table and the section."""
    od, wall = run["tube"]["od_mm"], run["tube"]["wall_mm"]
    arcs = [b["clr_mm"] * math.radians(b["angle_deg"]) for b in run["bends"]]
    length = math.fsum(run["straights_mm"]) + math.fsum(arcs)
    assert run["developed_length_mm"] == pytest.approx(length, abs=1e-5)
    bore = od - 2 * wall
    metal = math.pi / 4 * (od**2 - bore**2) * length
    assert run["metal_volume_mm3"] == pytest.approx(metal, rel=1e-8)
    assert run["bore_volume_ml"] == pytest.approx(math.pi / 4 * bore**2 * length / 1000, rel=1e-7)
    assert run["outer_area_mm2"] == pytest.approx(math.pi * od * length, rel=1e-8)
    if run["tube"]["material"] == "copper":
        assert run["mass_g"] == pytest.approx(metal * COPPER * 1e-6, rel=1e-7)
    for bend, straight in zip(run["bends"], run["straights_mm"], strict=False):
        assert bend["straight_before_mm"] == straight
        assert bend["outer_strain"] == pytest.approx(od / (2 * bend["clr_mm"]), abs=EXACT)
        thinned = wall * bend["clr_mm"] / (bend["clr_mm"] + od / 2)
        assert bend["outer_wall_mm"] == pytest.approx(thinned, abs=EXACT)


def check_marks(run, allowance, mark, datum):
    """Stations of each bend on the cut tube, and the mark for the tool."""
    start, end = allowance
    assert run["cut_length_mm"] == pytest.approx(run["developed_length_mm"] + start + end, abs=EXACT)
    station = last_end = start
    for number, bend in enumerate(run["bends"], 1):
        arc = bend["clr_mm"] * math.radians(bend["angle_deg"])
        station += bend["straight_before_mm"]
        points = {"start": station, "middle": station + arc / 2, "end": station + arc}
        assert bend["number"] == number
        for point, at in points.items():
            assert bend[f"{point}_mm"] == pytest.approx(at, abs=1e-5)
        assert bend["mark_mm"] == pytest.approx(points[mark] - datum, abs=1e-5)
        before = 0.0 if number == 1 else last_end
        assert bend["from_last_end_mm"] == pytest.approx(bend["mark_mm"] - before, abs=1e-5)
        assert bend["included_angle_deg"] == pytest.approx(180 - bend["angle_deg"], abs=EXACT)
        assert bend["pull_to_deg"] == bend["angle_deg"]
        assert (bend["springback_deg"], bend["springback_source"]) == (0, "none")
        station = last_end = points["end"]


def check_run(run, allowance, mark, datum):
    """Everything about one run."""
    if all(bend["angle_deg"] < 179.9 for bend in run["bends"]):
        check_by_corners(run)
    check_by_table(run)
    check_lengths(run)
    check_marks(run, allowance, mark, datum)


def test_every_demo_has_the_keys_of_the_contract(demos):
    for name, folder in demos.items():
        plan = read_plan(folder)
        assert list(plan) == PLAN_KEYS, name
        assert (plan["format"], plan["cut_plan"]) == (1, {})
        assert plan["spec"] == f"{name}.yaml"
        for run in plan["runs"]:
            assert list(run) == RUN_KEYS
            assert list(run["tube"]) == TUBE_KEYS
            assert [list(end) for end in run["ends"]] == [END_KEYS, END_KEYS]
            assert all(list(bend) == BEND_KEYS for bend in run["bends"])
            assert len(run["straights_mm"]) == len(run["bends"]) + 1


def test_every_demo_number_recomputes(demos):
    for spec in DEMOS:
        written = yaml.safe_load(spec.read_text())
        for run in read_plan(demos[spec.stem])["runs"]:
            asked = written["runs"][run["name"]]
            allowance = asked.get("allowance", {})
            bender = {**written["bender"], **asked.get("bender", {})}
            ends = (allowance.get("start", 0), allowance.get("end", 0))
            check_run(run, ends, bender.get("mark", "start"), bender.get("datum", 0))


def test_numbers_are_plain(demos):
    for folder in demos.values():
        text = (folder / "plan.json").read_text()
        assert text.endswith("}\n")

        def plain(number):
            assert not number.startswith("-0") or float(number) != 0
            assert "e" not in number.lower()
            assert len(number.partition(".")[2]) <= 6
            return float(number)

        def nothing_else(constant):
            raise AssertionError(constant)

        json.loads(text, parse_float=plain, parse_constant=nothing_else)


def test_csv_says_what_the_plan_says(demos):
    for folder in demos.values():
        raw = (folder / "bends.csv").read_bytes()
        assert raw.count(b"\n") == raw.count(b"\r\n")
        rows = list(csv.DictReader(raw.decode("ascii").splitlines()))
        bends = [(run["name"], bend) for run in read_plan(folder)["runs"] for bend in run["bends"]]
        assert list(rows[0]) == ["run", "bend", *BEND_KEYS[1:]]
        for row, (name, bend) in zip(rows, bends, strict=True):
            assert (row["run"], row["bend"]) == (name, str(bend["number"]))
            for key in BEND_KEYS[1:]:
                if key == "springback_source":
                    assert row[key] == bend[key]
                else:
                    assert float(row[key]) == pytest.approx(bend[key], abs=5.01e-4)
                    assert len(row[key].partition(".")[2]) == 3


def test_marks_with_a_tool_of_its_own(tmp_path):
    spec = tmp_path / "marks.yaml"
    spec.write_text(MARKS)
    plan = read_plan(build(spec, tmp_path / "out", "--only", "json"))
    (run,) = plan["runs"]
    check_run(run, (12, 4), "middle", 6.5)
    assert [bend["clr_mm"] for bend in run["bends"]] == [40, 30]
    assert all(list(warning) == WARNING_KEYS for warning in plan["warnings"])


def test_every_warning_of_fit_and_plan_reaches_the_plan(tmp_path):
    spec = tmp_path / "trouble.yaml"
    spec.write_text(TROUBLE)
    warnings = read_plan(build(spec, tmp_path / "out", "--only", "json"))["warnings"]
    found = {(w["code"], w["run"], w["bend"]) for w in warnings}
    assert found == {
        ("short-grip", "short", 1),
        ("short-lead-out", "short", 1),
        ("port-angle", "askew", None),
        ("short-grip", "near", 1),
        ("fitting-od", "near", None),
        ("port-straight", "near", None),
        ("clash", "near", None),
        ("clash", "askew", None),
        ("port-angle", "off", None),
        ("port-side", "off", None),
    }
    lines = TROUBLE.splitlines()
    starts = {"port-angle": ("from: tank.out", "to: {at"), "fitting-od": "from: tank.side"}
    starts |= {"port-straight": "from: tank.side", "port-side": "to: {at"}
    starts |= {"short-grip": "corners:", "short-lead-out": "corners:"}
    for warning in warnings:
        line = lines[warning["line"] - 1].strip()
        assert line.startswith(starts.get(warning["code"], warning["run"] + ":")), (warning, line)
    assert all(w["message"].startswith(f"run {w['run']}: ") or w["code"] == "clash" for w in warnings)

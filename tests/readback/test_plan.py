"""plan.json and bends.csv: their keys, and every number recomputed from coordinates."""

import csv
import itertools
import json
import math

import numpy as np
import pytest
import yaml
from bent_runs import reference_normal, rotated
from conftest import DEMOS, build, read_plan

PLAN_KEYS = ["mark", "format", "title", "spec", "carries", "runs", "cut_plan", "assembly", "forms", "jigs", "warnings"]
FORM_KEYS = [
    "name", "od_mm", "finished_clr_mm", "clr_mm", "springback_source", "bends", "arc_deg", "lead_mm", "clearance_mm",
    "sheet_thickness_mm", "hollow_mm", "blocks", "layers",
]
JIG_KEYS = ["run", "sheet_thickness_mm", "tube_at_mm", "tube_x", "tube_y", "parts", "uprights", "bends"]
PART_KEYS = ["name", "at_mm", "x", "y"]
UPRIGHT_KEYS = ["part", "role", "station_mm", "at_mm", "direction"]
RUN_KEYS = [
    "name", "tube", "bender", "developed_length_mm", "cut_length_mm", "allowance_start_mm", "allowance_end_mm",
    "straights_mm", "mass_g", "bore_volume_ml", "outer_area_mm2", "metal_volume_mm3", "corners_mm", "ends", "bends",
    "from_other_end", "order", "quality", "anneal_heat_kj", "allowed_pressure", "do_not_cut", "min_clearance_mm", "nearest", "far_end",
]
TUBE_KEYS = ["od_mm", "wall_mm", "material", "temper"]
BENDER_KEYS = [
    "name", "clr_mm", "formed_clr_mm", "formed_if_tool_clr_mm", "mark", "datum_mm", "grip_mm", "lead_out_mm",
    "calibrated", "stretch", "springback_fixed_deg", "springback_rate", "lever_mm",
]
END_KEYS = [
    "at_mm", "facing", "port", "fitting", "form", "insert_mm", "torch_comes_near", "squeeze_loss_mm",
]
MARK_KEYS = [
    "rotation_deg", "straight_before_mm", "start_mm", "middle_mm", "end_mm", "mark_mm", "from_last_end_mm",
]
BEND_KEYS = [
    "number", "angle_deg", "included_angle_deg", "clr_mm", *MARK_KEYS, "inside_clock_deg", "pull_to_deg",
    "springback_deg", "springback_source", "clr_under_load_mm", "anneal_from_mm", "anneal_to_mm", "outer_strain",
    "outer_wall_mm", "inner_wall_mm", "end_to_centre_mm", "end_to_back_mm", "end_to_inside_mm", "back_to_back_mm",
    "springback_band_deg", "bending_moment_nm", "lever_force_n", "ovality_estimate", "smallest_diameter_estimate_mm",
    "verdict_estimate", "outer_wall_estimate_mm", "inner_wall_estimate_mm", "bent", "empty_limit_od_per_wall",
    "wall_before_bending_factor",
]
OTHER_END_KEYS = ["number", *MARK_KEYS, "inside_clock_deg"]
ORDER_KEYS = ["better", "reason", "datum_end", "other_end"]
FIT_KEYS = ["possible", "spare_mm", "tightest_bend"]
WARNING_KEYS = ["code", "run", "with", "bend", "at_mm", "message", "line"]

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

# Test bends of a tool of 41 mm that stretches arcs by 3 % and springs back 0.5 degrees and 4 % of the pull; legs of
# 80 and 90 mm of straight, to the centre. The last bend has a radius of its own and is not made on it.
TOOL = {"clr": 41.0, "stretch": 0.03, "fixed": 0.5, "rate": 0.04}
CALIBRATED = """
format: 1
units: mm
tube: {od: 12, wall: 1, material: testium, temper: soft}
bender:
  {name: form, clr: 40, grip: 25, lead_out: 20, mark: end, datum: -3.5, test_bends: [%s]}
runs:
  spiral:
    from: {at: [5, 6, 7], facing: [0, 1, 0]}
    bends:
      - {length: 55, rotation: 20, angle: 90}
      - {length: 40, rotation: -130, angle: 35}
      - {length: 31, rotation: 75, angle: 120}
      - {length: 60, rotation: 180, angle: 60, clr: 30}
    end_length: 33
    allowance: {start: 3, end: 8}
"""

# Every warning about straights, ports and clearance.
TROUBLE = """
format: 1
units: mm
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {name: form, clr: 40, grip: 30, lead_out: 30}
fittings:
  collar: {tube_od: 12, insert: 10, straight: 8, max_angle: 1, max_side: 0.5}
  wide: {tube_od: 12.2, insert: 10, straight: 8, max_angle: 1, max_side: 0.5}
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


def stations(run, other_end, mark, datum, stretch):
    """Stations and marks of the bends from one end, in order of bending: straights and arcs added up."""
    bends, straights = list(run["bends"]), list(run["straights_mm"])
    last_end = 0.0
    at = run["allowance_start_mm"]
    if other_end:
        bends, straights, at = bends[::-1], straights[::-1], run["allowance_end_mm"]
    for bend, straight in zip(bends, straights, strict=False):
        used = bend["clr_mm"] * math.radians(bend["angle_deg"]) * (1 - stretch[bend["number"] - 1])
        start = at + straight
        points = {"start": start, "middle": start + used / 2, "end": start + used}
        put = points[mark] - datum
        yield bend["number"], straight, points, put, put - last_end
        at = last_end = start + used


def clocks(points):
    """Where the inside of each bend lies on the straight tube, clockwise from that of the first, seen along it.

    A line along the tube keeps its place in a bend but for the bend itself, which turns it about its axis.
    """
    legs = [leg / np.linalg.norm(leg) for leg in np.diff(np.array(points), axis=0)]
    zero = None
    for before, after in itertools.pairwise(legs):
        inside = after - before * np.dot(before, after)
        inside /= np.linalg.norm(inside)
        zero = inside if zero is None else zero
        yield math.degrees(math.atan2(np.dot(np.cross(zero, inside), before), np.dot(zero, inside)))
        axis = np.cross(before, after)
        turn = math.atan2(np.linalg.norm(axis), np.dot(before, after))
        zero = rotated(zero, axis / np.linalg.norm(axis), turn)


def check_clocks(run, rows, other_end):
    """The clock of every bend follows from the corners, or from the turns where a bend of 180 degrees has none."""
    if all(bend["angle_deg"] < 179.9 for bend in run["bends"]):
        wanted = list(clocks(run["corners_mm"][::-1] if other_end else run["corners_mm"]))
    else:
        wanted = np.cumsum([0.0, *(row["rotation_deg"] for row in rows[1:])])
    for index, (row, clock) in enumerate(zip(rows, wanted, strict=True)):
        assert turn_between(row["inside_clock_deg"], clock) < 1e-3
        assert 0 <= row["inside_clock_deg"] < 360
        if index:
            turned = row["inside_clock_deg"] - rows[index - 1]["inside_clock_deg"]
            assert turn_between(row["rotation_deg"], turned) < 1e-5


def check_marks(run, mark, datum, stretch):
    """Stations of each bend on the cut tube and the mark for the tool, from both ends."""
    arcs = [bend["clr_mm"] * math.radians(bend["angle_deg"]) for bend in run["bends"]]
    shorter = math.fsum(arc * s for arc, s in zip(arcs, stretch, strict=True))
    extra = run["allowance_start_mm"] + run["allowance_end_mm"]
    assert run["cut_length_mm"] == pytest.approx(run["developed_length_mm"] - shorter + extra, abs=1e-5)
    for other_end, rows in [(False, run["bends"]), (True, run["from_other_end"])]:
        check_clocks(run, rows, other_end)
        for row, wanted in zip(rows, stations(run, other_end, mark, datum, stretch), strict=True):
            number, straight, points, put, from_last_end = wanted
            assert row["number"] == number
            assert row["straight_before_mm"] == pytest.approx(straight, abs=EXACT)
            for point, at in points.items():
                assert row[f"{point}_mm"] == pytest.approx(at, abs=1e-5)
            assert row["mark_mm"] == pytest.approx(put, abs=1e-5)
            assert row["from_last_end_mm"] == pytest.approx(from_last_end, abs=1e-5)
    # The bend that comes first from there has none to turn from.
    assert all(row["rotation_deg"] == 0 for row in run["from_other_end"][:1])
    # Both ways of measuring name the same place of the tube.
    twins = {row["number"]: row for row in run["from_other_end"]}
    for bend in run["bends"]:
        assert bend["start_mm"] + twins[bend["number"]]["end_mm"] == pytest.approx(run["cut_length_mm"], abs=1e-5)
        assert bend["included_angle_deg"] == pytest.approx(180 - bend["angle_deg"], abs=EXACT)
    check_legs(run)


def check_legs(run):
    """What a rule reads on the legs of a 90 degree bend, from the tube's end or the end of the last bend."""
    for bend in run["bends"]:
        legs = [bend[f"end_to_{where}_mm"] for where in ("inside", "centre", "back")]
        if abs(bend["angle_deg"] - 90) > 0.05:
            assert legs == [None, None, None]
            continue
        before = run["allowance_start_mm"] if bend["number"] == 1 else 0
        centre = before + bend["straight_before_mm"] + bend["clr_mm"]
        radius = run["tube"]["od_mm"] / 2
        assert legs == pytest.approx([centre - radius, centre, centre + radius], abs=EXACT)
    for before, bend in zip(run["bends"], run["bends"][1:]):
        square = all(abs(each["angle_deg"] - 90) < 0.05 for each in (before, bend))
        over = before["clr_mm"] + bend["straight_before_mm"] + bend["clr_mm"] + run["tube"]["od_mm"]
        assert bend["back_to_back_mm"] == (pytest.approx(over, abs=EXACT) if square else None)
    assert run["bends"][:1] == [] or run["bends"][0]["back_to_back_mm"] is None


def check_order(run):
    """Which end to bend from follows from the straights, the grip and the lead-out."""
    order, bender = run["order"], run["bender"]
    if not run["bends"]:
        assert order["better"] == "either"
        return
    grip, lead_out = bender["grip_mm"], bender["lead_out_mm"]
    start = run["straights_mm"][0] + run["allowance_start_mm"]
    end = run["straights_mm"][-1] + run["allowance_end_mm"]
    between = [straight - grip for straight in run["straights_mm"][1:-1]]
    datum, other = min(start - grip, end - lead_out, *between), min(end - grip, start - lead_out, *between)
    for found, wanted in [(order["datum_end"], datum), (order["other_end"], other)]:
        assert found["spare_mm"] == pytest.approx(wanted, abs=1e-5)
        assert found["possible"] == (wanted > -1e-6)
        assert 1 <= found["tightest_bend"] <= len(run["bends"])
    if min(datum, other) < 0 or max(grip, lead_out) == 0:
        kinds = {(True, True): "either", (True, False): "datum end", (False, True): "other end"}
        wanted = kinds.get((datum >= 0, other >= 0), "neither")
    else:
        # The other end is used where it leaves at least 10 mm more, and the datum end less than 10.
        wanted = "other end" if datum < 10 - 1e-6 and other - datum >= 10 - 1e-6 else "datum end"
    assert order["better"] == wanted
    assert order["reason"]


def check_run(run, mark, datum, stretch=None):
    """Everything about one run but what its metal says."""
    if all(bend["angle_deg"] < 179.9 for bend in run["bends"]):
        check_by_corners(run)
    check_by_table(run)
    check_lengths(run)
    check_marks(run, mark, datum, stretch or [0.0] * len(run["bends"]))
    check_order(run)
    for bend in run["bends"]:
        assert bend["springback_deg"] == pytest.approx(bend["pull_to_deg"] - bend["angle_deg"], abs=EXACT)
        # What is pulled keeps its length when it is let go.
        held = bend["clr_under_load_mm"] * bend["pull_to_deg"]
        assert held == pytest.approx(bend["clr_mm"] * bend["angle_deg"], rel=1e-6)


def test_every_demo_has_the_keys_of_the_contract(demos):
    for name, folder in demos.items():
        plan = read_plan(folder)
        assert list(plan) == PLAN_KEYS, name
        assert plan["format"] == 1
        assert list(plan["cut_plan"]) == ["stocks"]
        assert plan["spec"] == f"{name}.yaml"
        for run in plan["runs"]:
            assert list(run) == RUN_KEYS
            assert list(run["tube"]) == TUBE_KEYS
            assert list(run["bender"]) == BENDER_KEYS
            assert [list(end) for end in run["ends"]] == [END_KEYS, END_KEYS]
            assert all(list(bend) == BEND_KEYS for bend in run["bends"])
            assert all(list(bend) == OTHER_END_KEYS for bend in run["from_other_end"])
            assert list(run["order"]) == ORDER_KEYS
            assert list(run["order"]["datum_end"]) == list(run["order"]["other_end"]) == FIT_KEYS
            assert len(run["straights_mm"]) == len(run["bends"]) + 1 == len(run["from_other_end"]) + 1
        for form in plan["forms"]:
            assert list(form) == FORM_KEYS
            assert all(list(layer) == PART_KEYS for layer in form["layers"])
            assert all(list(bend) == ["angle_deg", "pull_to_deg"] for bend in form["bends"])
        assert [jig["run"] for jig in plan["jigs"]] == [run["name"] for run in plan["runs"]]
        for jig in plan["jigs"]:
            assert list(jig) == JIG_KEYS
            assert all(list(part) == PART_KEYS for part in jig["parts"])
            assert all(list(upright) == UPRIGHT_KEYS for upright in jig["uprights"])
            assert all(list(bend) == ["number", "least_error_deg"] for bend in jig["bends"])


def test_forms_hold_what_their_bends_are_pulled_at(demos):
    """Every bend of a run has a form of its tube and radius, that holds it at the radius under load the plan has, as
    far round as it is pulled."""
    for folder in demos.values():
        plan = read_plan(folder)
        for run in plan["runs"]:
            for bend in run["bends"]:
                forms = [
                    form
                    for form in plan["forms"]
                    if abs(form["od_mm"] - run["tube"]["od_mm"]) < 1e-6
                    and abs(form["clr_mm"] - bend["clr_under_load_mm"]) < 1e-3
                    and any(abs(made["angle_deg"] - bend["angle_deg"]) < 0.06 for made in form["bends"])
                ]
                assert len(forms) == 1, (run["name"], bend["number"])
                assert forms[0]["arc_deg"] >= bend["pull_to_deg"]


def test_every_demo_number_recomputes(demos):
    for spec in DEMOS:
        written = yaml.safe_load(spec.read_text())
        for run in read_plan(demos[spec.stem])["runs"]:
            asked = written["runs"][run["name"]]
            allowance = asked.get("allowance", {})
            bender = {**written["bender"], **asked.get("bender", {})}
            assert (run["allowance_start_mm"], run["allowance_end_mm"]) == (
                allowance.get("start", 0),
                allowance.get("end", 0),
            )
            check_run(run, bender.get("mark", "start"), bender.get("datum", 0))


def test_numbers_are_plain(demos):
    for folder in demos.values():
        text = (folder / "plan.json").read_text()
        assert text.endswith("}\n")

        def plain(number):
            assert not number.startswith("-0") or float(number) != 0
            assert "e" not in number.lower()
            # Parts of unit vectors are written finer than lengths and angles.
            assert len(number.partition(".")[2]) <= (12 if abs(float(number)) <= 1 else 6)
            return float(number)

        def nothing_else(constant):
            raise AssertionError(constant)

        json.loads(text, parse_float=plain, parse_constant=nothing_else)


def check_cell(text, value):
    """A cell of the CSV against the plan's value."""
    if value is None or isinstance(value, str):
        assert text == (value or "")
        return
    assert float(text) == pytest.approx(value, abs=5.01e-4)
    assert len(text.partition(".")[2]) == 3


def test_csv_says_what_the_plan_says(demos):
    for folder in demos.values():
        raw = (folder / "bends.csv").read_bytes()
        assert raw.count(b"\n") == raw.count(b"\r\n")
        rows = list(csv.DictReader(raw.decode("ascii").splitlines()))
        bends = [(run, bend) for run in read_plan(folder)["runs"] for bend in run["bends"]]
        other_end = {f"other_end_{key}": key for key in OTHER_END_KEYS[1:]}
        assert list(rows[0]) == ["run", "bend", *BEND_KEYS[1:], *other_end, "plan_mark"]
        for row, (run, bend) in zip(rows, bends, strict=True):
            assert (row["run"], row["bend"]) == (run["name"], str(bend["number"]))
            for key in BEND_KEYS[1:]:
                check_cell(row[key], bend[key])
            (twin,) = (twin for twin in run["from_other_end"] if twin["number"] == bend["number"])
            for column, key in other_end.items():
                check_cell(row[column], twin[key])


def test_marks_with_a_tool_of_its_own(tmp_path):
    spec = tmp_path / "marks.yaml"
    spec.write_text(MARKS)
    plan = read_plan(build(spec, tmp_path / "out", "--only", "json"))
    (run,) = plan["runs"]
    assert (run["allowance_start_mm"], run["allowance_end_mm"]) == (12, 4)
    check_run(run, "middle", 6.5)
    assert [bend["clr_mm"] for bend in run["bends"]] == [40, 30]
    assert all(list(warning) == WARNING_KEYS for warning in plan["warnings"])


def trial_piece(pulled):
    """A trial piece of TOOL, as a spec writes it."""
    got = pulled - TOOL["fixed"] - TOOL["rate"] * pulled
    setback = TOOL["clr"] * math.tan(math.radians(got) / 2)
    cut = 170 + TOOL["clr"] * math.radians(got) * (1 - TOOL["stretch"])
    legs = f"leg_a: {80 + setback}, leg_b: {90 + setback}, measured: centre"
    return f"{{pulled: {pulled}, got: {got}, cut: {cut}, {legs}}}"


def test_marks_of_a_calibrated_tool(tmp_path):
    spec = tmp_path / "calibrated.yaml"
    spec.write_text(CALIBRATED % ", ".join(trial_piece(pulled) for pulled in (45, 90, 130)))
    (run,) = read_plan(build(spec, tmp_path / "out", "--only", "json"))["runs"]
    bender = run["bender"]
    assert bender["calibrated"]
    assert [bender["clr_mm"], bender["formed_clr_mm"]] == pytest.approx([40, TOOL["clr"]], abs=EXACT)
    found = [bender["stretch"], bender["springback_fixed_deg"], bender["springback_rate"]]
    assert found == pytest.approx([TOOL["stretch"], TOOL["fixed"], TOOL["rate"]], abs=EXACT)
    assert [bend["clr_mm"] for bend in run["bends"]] == pytest.approx([41, 41, 41, 30], abs=EXACT)
    check_run(run, "end", -3.5, [TOOL["stretch"]] * 3 + [0.0])
    for bend in run["bends"][:3]:
        assert bend["pull_to_deg"] == pytest.approx((bend["angle_deg"] + TOOL["fixed"]) / (1 - TOOL["rate"]), abs=1e-5)
    sources = ["test bends"] * 3 + ["unknown"]
    assert [bend["springback_source"] for bend in run["bends"]] == sources
    assert run["bends"][3]["pull_to_deg"] == 60


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
        ("seal-squeeze", "near", None),
        ("port-straight", "near", None),
        ("clash", "askew", None),
        ("port-angle", "off", None),
        ("port-side", "off", None),
        *(("tight-radius", run, 1) for run in ("short", "askew", "near", "off")),
        ("tight-radius", "off", 2),
    }
    lines = TROUBLE.splitlines()
    starts = {"port-angle": ("from: tank.out", "to: {at"), "seal-squeeze": "from: tank.side"}
    starts |= {"port-straight": "from: tank.side", "port-side": "to: {at"}
    starts |= {"short-grip": "corners:", "short-lead-out": "corners:"}
    starts |= {"tight-radius": ("corners:", "- {length: 60, rotation: 0, angle: ")}
    for warning in warnings:
        line = lines[warning["line"] - 1].strip()
        assert line.startswith(starts.get(warning["code"], warning["run"] + ":")), (warning, line)
    assert all(w["message"].startswith(f"run {w['run']}: ") or w["code"] == "clash" for w in warnings)

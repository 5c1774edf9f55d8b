"""OpenCascade reads every STEP file: valid, exact, named, coloured, without complaint."""

import json
import math
import re

import occ
import pytest
from closed_form import closed_forms
from conftest import DEMOS, ROOT
from solid_specs import built, built_extremes, source, u_bend

RELATIVE = 1e-9
SURFACES = {"Plane", "Cylinder", "Torus"}
CURVES = {"Line", "Circle"}


def palette():
    """Run colours and the components' colour as the program's table has them."""
    text = (ROOT / "src" / "palette.rs").read_text(encoding="utf-8")
    component = re.search(r"COMPONENT: Rgb = Rgb\((\d+), (\d+), (\d+)\)", text)
    table = text[text.index("const RUNS") :]
    runs = re.findall(r"Rgb\((\d+), (\d+), (\d+)\)", table[: table.index("];")])
    assert component and len(runs) == 8
    return [tuple(map(int, rgb)) for rgb in runs], tuple(map(int, component.groups()))


def assert_tube(shape, run):
    assert occ.solids(shape) == 1
    assert occ.valid(shape)
    assert occ.surface_kinds(shape) <= SURFACES
    assert occ.curve_kinds(shape) <= CURVES
    assert occ.tolerance(shape) <= 1.0001e-7
    assert occ.volume(shape) == pytest.approx(run.volume, rel=RELATIVE)
    assert occ.area(shape) == pytest.approx(run.area, rel=RELATIVE)


def test_random_runs_span_what_they_should():
    runs, _ = built()
    assert len(runs) == 300
    assert {len(run.radii) for run in runs.values()} == set(range(1, 9))
    tightness = [radius / run.outer / 2 for run in runs.values() for radius in run.radii]
    assert 1.19 < min(tightness) < 1.3 and 9.5 < max(tightness) < 10.1


@pytest.mark.parametrize("make", [built, built_extremes])
def test_random_runs_are_exact_named_and_coloured_solids(make):
    runs, out = make()
    colours, _ = palette()
    for index, (name, run) in enumerate(runs.items()):
        file = occ.read(out / "runs" / name / "tube.step")
        assert file.messages == [], name
        assert not file.assembly
        assert list(file.parts) == [name]
        assert file.parts[name].colour == colours[index % len(colours)], name
        assert_tube(file.parts[name].shape, run)


def test_random_assembly_holds_every_run():
    runs, out = built()
    file = occ.read(out / "assembly.step")
    assert file.messages == []
    assert file.assembly and file.root == "Random runs"
    assert list(file.parts) == list(runs)
    colours, _ = palette()
    for index, (name, run) in enumerate(runs.items()):
        assert file.parts[name].colour == colours[index % len(colours)], name
        assert occ.volume(file.parts[name].shape) == pytest.approx(run.volume, rel=RELATIVE), name
    for name in list(runs)[::25]:
        assert_tube(file.parts[name].shape, runs[name])


@pytest.mark.parametrize("demo", [d.stem for d in DEMOS])
def test_demo_tubes_are_exact_named_and_coloured(demos, demo):
    out = demos[demo]
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    planned = {run["name"]: run["metal_volume_mm3"] for run in plan["runs"]}
    colours, _ = palette()
    for index, (name, run) in enumerate(closed_forms(source(demo)).items()):
        file = occ.read(out / "runs" / name / "tube.step")
        assert file.messages == [], name
        part = file.parts[name]
        assert part.colour == colours[index % len(colours)]
        assert_tube(part.shape, run)
        # The plan rounds.
        assert planned[name] == pytest.approx(run.volume, abs=0.01)


@pytest.mark.parametrize("demo", [d.stem for d in DEMOS])
def test_demo_assembly_has_runs_and_components_in_place(demos, demo):
    out = demos[demo]
    spec = source(demo)
    shapes = {"box", "cylinder", "parts", "mesh"}
    shaped = [n for n, c in (spec.get("components") or {}).items() if shapes & set(c)]
    file = occ.read(out / "assembly.step")
    assert file.messages == []
    assert file.assembly and file.root == spec["title"]
    assert sorted(file.parts) == sorted([*spec["runs"], *shaped])
    identity = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0]
    assert all(placement == pytest.approx(identity, abs=1e-12) for placement in file.placements)
    _, grey = palette()
    for name in shaped:
        part = file.parts[name]
        assert part.product == name
        assert part.colour == grey
        bodies = [
            port
            for port in spec["components"][name].get("ports", {}).values()
            if "body" in spec["fittings"].get(port.get("fitting"), {})
        ]
        parts = len(spec["components"][name].get("parts", [0]))
        assert occ.solids(part.shape) == parts + len(bodies) and occ.valid(part.shape)
    for name in spec["runs"]:
        alone = occ.read(out / "runs" / name / "tube.step").parts[name].shape
        together = file.parts[name].shape
        assert occ.volume(together) == pytest.approx(occ.volume(alone), rel=RELATIVE)
        for mine, theirs in zip(occ.box(together), occ.box(alone), strict=True):
            assert mine == pytest.approx(theirs, abs=1e-6)


def test_worked_u_bend():
    out = u_bend()
    """A planar U worked by hand: metal 16 439.6 mm3, skin 14 328.2 mm2, and its box."""
    shape = occ.read(out / "runs" / "u" / "tube.step").parts["u"].shape
    assert occ.volume(shape) == pytest.approx(16439.6, abs=0.05)
    outer, inner = 15.875 / 2, 15.875 / 2 - 1.245
    length = 287.295
    others = 2 * math.pi * inner * length + 2 * math.pi * (outer**2 - inner**2)
    assert occ.area(shape) - others == pytest.approx(14328.2, abs=0.1)
    low, high = occ.box(shape)
    assert low == pytest.approx((0, -7.9375, -7.9375), abs=1e-3)
    assert high == pytest.approx((107.9375, 127.9375, 7.9375), abs=1e-3)


def test_titles_and_components_arrive():
    out = u_bend()
    file = occ.read(out / "assembly.step")
    assert file.messages == []
    assert file.root == "Builder's \\ Ø 水 U"
    assert sorted(file.parts) == ["block", "post", "u"]
    assert occ.volume(file.parts["block"].shape) == pytest.approx(40 * 30 * 20, rel=1e-12)
    assert occ.volume(file.parts["post"].shape) == pytest.approx(math.pi * 31**2 * 70, rel=1e-12)


def test_the_reader_does_complain(tmp_path):
    out = u_bend()
    """The checks above can fail: a dangling reference and a wrong radius are both reported."""
    text = (out / "runs" / "u" / "tube.step").read_text(encoding="ascii")
    broken = tmp_path / "broken.step"
    broken.write_text(re.sub(r"(=CYLINDRICAL_SURFACE\('',)#\d+", r"\1#99999", text, count=1), encoding="ascii")
    assert any("unresolved" in message for message in occ.read(broken).messages)
    broken.write_text(re.sub(r"(=CYLINDRICAL_SURFACE\('',#\d+),7\.9375", r"\1,7.9", text, count=1), encoding="ascii")
    shape = next(iter(occ.read(broken).parts.values())).shape
    assert not occ.valid(shape) or abs(occ.volume(shape) / 16439.6 - 1) > RELATIVE

"""OpenCascade and trimesh judge every bending form: exact, clear of the tube by its clearance, printable."""

import copy
import functools
import random
import tempfile

import form_checks
import occ
import pytest
from bent_runs import rotated
from closed_form import length
from conftest import DEMOS, built, read_plan
from occ_make import shifted
from OCP.BRep import BRep_Builder
from OCP.TopoDS import TopoDS_Compound

SPECS = 6
RUNS = 6
DEFAULTS = {"depth": 0.5, "over_bend": 3.0, "bed": [220.0, 220.0, 250.0]}


def options_of(spec):
    """What the spec asks of its forms; the README's defaults where it is silent."""
    unit = spec.get("units", "mm")
    shop = spec.get("workshop") or {}
    form, printer = shop.get("form") or {}, shop.get("printer") or {}
    options = copy.deepcopy(DEFAULTS)
    options |= {key: float(form[key]) for key in ("depth", "over_bend") if key in form}
    if "bed" in printer:
        options["bed"] = [length(side, unit) for side in printer["bed"]]
    return options


def random_spec(seed):
    """Runs each on a tube and bender of its own, on one workshop; the same every time."""
    source = random.Random(seed)
    workshop = {
        "printer": {"bed": [source.choice([140, 180, 220, 300])] * 3},
        "form": {
            "clearance": round(source.uniform(0.05, 0.4), 3),
            "depth": round(source.choice([0.5, source.uniform(0.35, 0.65)]), 3),
            "over_bend": round(source.uniform(0, 8), 2),
        },
    }
    if source.random() < 0.5:
        workshop["form"]["strap"] = "none"
    runs = {}
    for index in range(RUNS):
        od = round(source.uniform(4, 42), 2)
        clr = round(od * source.uniform(1.6, 5), 2)
        bends = [
            {"length": round(clr * 2 + source.uniform(0, 90), 2), "rotation": source.choice([0, 90, -60]),
             "angle": round(source.uniform(5, source.choice([90, 150, 180])), 2)}
            for _ in range(source.randint(1, 3))
        ]
        runs[f"run-{index}"] = {
            "tube": {"od": od, "wall": round(od * source.uniform(0.04, 0.12), 2), "material": "copper",
                     "temper": source.choice(["soft", "half-hard"])},
            "bender": {"name": f"form {index}", "clr": clr},
            "bends": bends,
            "end_length": round(2 * clr + 60, 2),
        }
    return {"format": 1, "title": f"Random forms {seed}", "units": "mm", "workshop": workshop, "runs": runs}


@functools.cache
def _folder():
    """Where the specs are built; removed when the tests end."""
    return tempfile.TemporaryDirectory(prefix="forms-")


@functools.cache
def made(which):
    """All forms of a demo, by name, or of a random spec, by number; the plan's warnings, code and words; the plan."""
    spec, out = built(which, _folder().name, random_spec, "step,stl,json")
    plan = read_plan(out)
    forms = [form_checks.read(out, data, options_of(spec)) for data in plan["forms"]]
    return forms, [(warning["code"], warning["message"]) for warning in plan["warnings"]], plan


ALL = [*(demo.stem for demo in DEMOS), *range(SPECS)]


@pytest.mark.parametrize("which", ALL)
@pytest.mark.parametrize(
    "check",
    [
        form_checks.solids_are_sound,
        form_checks.volumes_add_up,
        form_checks.tube_lies_in_the_groove,
        form_checks.groove_keeps_its_clearance,
    ],
)
def test_forms_pass(which, check):
    forms, _, _ = made(which)
    assert [f"{form.data['name']}: {wrong}" for form in forms for wrong in check(form)] == []


@pytest.mark.parametrize("which", ALL)
@pytest.mark.parametrize("check", [form_checks.arc_covers_the_bends, form_checks.meshes_are_printable])
def test_forms_reach_and_print(which, check):
    forms, told, _ = made(which)
    assert [f"{form.data['name']}: {wrong}" for form in forms for wrong in check(form, told)] == []


def test_every_bend_has_its_form():
    """Each bend of the plan is on a form of its tube's diameter and its radius, and pulled no further there."""
    for which in ALL:
        forms, told, plan = made(which)
        for run in plan["runs"]:
            for bend in run["bends"]:
                fitting = [
                    form
                    for form in forms
                    if abs(form.data["od_mm"] - run["tube"]["od_mm"]) < 1e-6
                    and abs(form.data["finished_clr_mm"] - bend["clr_mm"]) < 1e-3
                    and any(abs(b["pull_to_deg"] - bend["pull_to_deg"]) < 0.11 for b in form.data["bends"])
                ]
                assert fitting or any(code == "form-rim" for code, _ in told), (which, run["name"], bend["number"])


def test_random_forms_span_what_they_should():
    forms = [form for which in range(SPECS) for form in made(which)[0]]
    assert len(forms) >= 20
    assert {len(form.data["blocks"]) for form in forms} == {1, 2}, "whole ones and split ones"
    depths = [form.options["depth"] for form in forms]
    assert min(depths) < 0.5 < max(depths)
    arcs = [form.data["arc_deg"] for form in forms]
    assert min(arcs) < 60 and max(arcs) > 150


def test_names_arrive():
    for which in ALL:
        for form in made(which)[0]:
            assert all(occ.solids(shape) == 1 for shape in form.shapes.values())
            assert set(form.data["blocks"]) in ({"form"}, {"form-a", "form-b"})


@functools.cache
def lamp():
    """The form of a demo with a single one."""
    return made("lamp-arm")[0][0]


def changed(**data):
    """The lamp's form with other numbers than it was made from."""
    form = lamp()
    return form_checks.Made({**form.data, **data}, form.options, form.shapes, form.meshes, [])


def test_a_tube_of_another_radius_or_size_is_seen():
    """The checks above can fail."""
    data = lamp().data
    tighter = changed(clr_mm=data["clr_mm"] - 0.2)
    assert any("shares" in wrong for wrong in form_checks.tube_lies_in_the_groove(tighter))
    assert form_checks.groove_keeps_its_clearance(tighter)
    thicker = changed(od_mm=data["od_mm"] + 0.002, clearance_mm=data["clearance_mm"] - 0.0008)
    with pytest.raises(AssertionError, match="no groove"):
        form_checks.tube_lies_in_the_groove(thicker)
    longer = changed(arc_deg=data["arc_deg"] + 0.001)
    assert form_checks.arc_covers_the_bends(longer, [])
    further = changed(bends=[*data["bends"], {"angle_deg": 179, "pull_to_deg": data["arc_deg"]}])
    assert form_checks.arc_covers_the_bends(further, [])
    assert not form_checks.arc_covers_the_bends(further, [("form-arc", f"form {data['name']} ends there")])


def test_a_form_out_of_place_or_off_the_bed_is_seen():
    form = lamp()
    moved = {name: shifted(shape, (0, 0.1, 0)) if name != "follower" else shape for name, shape in form.shapes.items()}
    off = form_checks.Made(form.data, form.options, moved, form.meshes, [])
    assert form_checks.tube_lies_in_the_groove(off) and form_checks.groove_keeps_its_clearance(off)
    small = form_checks.Made(form.data, {**form.options, "bed": [60, 60, 60]}, form.shapes, form.meshes, [])
    told = lambda code: [(code, f"form {form.data['name']} is too large")]
    assert form_checks.meshes_are_printable(small, []) and form_checks.meshes_are_printable(small, told("form-arc"))
    assert not form_checks.meshes_are_printable(small, told("printer-bed"))
    assert form_checks.meshes_are_printable(form, told("printer-bed")), "a warning without a reason"
    torn = {name: mesh.copy() for name, mesh in form.meshes.items()}
    torn["follower"].update_faces([True] * (len(torn["follower"].faces) - 1) + [False])
    assert form_checks.meshes_are_printable(form_checks.Made(form.data, form.options, form.shapes, torn, []), [])


def test_what_crosses_itself_is_seen():
    form = lamp()
    shape = next(iter(form.pieces.values()))
    both, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(both)
    for one in (shape, shifted(shape, (1, 2, 3))):
        builder.Add(both, one)
    crossing = form_checks.Made(form.data, form.options, {**form.shapes, form.data["blocks"][0]: both}, {}, [])
    assert any("crosses itself" in wrong for wrong in form_checks.solids_are_sound(crossing))


def test_a_block_of_another_volume_is_seen():
    form = lamp()
    deeper = form_checks.Made(form.data, {**form.options, "depth": form.options["depth"] + 0.001}, form.shapes, {}, [])
    assert form_checks.volumes_add_up(deeper)


def test_the_tube_is_wound_clockwise_from_the_left():
    form = lamp()
    start, bend, end = form_checks.on_form(form, 1.0, 10.0)
    clr = form.data["clr_mm"]
    assert start.start == pytest.approx([-10, clr, 0]) and start.along == pytest.approx([1, 0, 0])
    assert bend.start_and_direction()[0] == pytest.approx(start.end_and_direction()[0])
    assert end.along == pytest.approx(rotated(start.along, bend.axis, 1.0)) and end.along[1] < 0

"""Checking jigs, judged by OpenCascade: parts extruded from the DXF file and stood up as `plan.json` says, against
tubes made from the spec alone. A right tube drops in, a wrong one does not."""

import concurrent.futures
import dataclasses
import functools
import math
import os
import pathlib
import random
import tempfile

import handmade_jig
import jig_checks
import jig_model
import numpy
import pytest
import yaml
from bent_runs import Straight, centrelines
from closed_form import closed_forms, length
from conftest import DEMOS, ROOT, build, read_plan, read_spec

# The program's defaults, as the README has them.
USUAL = {"thickness": 6.0, "slot_fit": 0.1, "clearance": 0.5, "gate": 1.0, "lift": 20.0}
RUNS = 50
OTHER_SHOP = {
    "sheet": {"thickness": 4.1, "size": [800, 450], "kerf": 0.15, "slot_fit": -0.05},
    "jig": {"clearance": 0.3, "lift": 12, "gate": 0.6},
}
SENSED = 2.0
"""Errors of a bend that a jig should show, degrees."""


def shop_of(spec):
    """The numbers of a spec's workshop that jigs go by, mm."""
    unit, given = spec.get("units", "mm"), spec.get("workshop") or {}
    keys = {**(given.get("sheet") or {}), **(given.get("jig") or {})}
    return {key: length(keys[key], unit) if key in keys else usual for key, usual in USUAL.items()}


@dataclasses.dataclass
class Looked:
    """What was seen of one run's jig."""

    run: str
    bends: int
    faults: dict
    """By the check's name."""
    gaps: dict
    roles: dict
    least: dict
    """Smallest error shown of each bend, degrees, as the plan has it."""
    blind_bends: list
    """Bends of which an error of 2 degrees goes unnoticed."""
    blind_straights: list
    warned: bool
    """Whether the program says so."""


def look(task):
    """Everything about one jig; a task is a folder, the spec and the run's name."""
    folder, spec, name = task
    plan = read_plan(folder)
    entry = next(jig for jig in plan["jigs"] if jig["run"] == name)
    closed, pieces = closed_forms(spec)[name], centrelines(spec)[name]
    jig, twin = jig_model.read(folder, entry, pieces, closed.outer, shop_of(spec))
    gaps = jig_checks.gaps(jig)
    faults = {
        "poses": jig_checks.poses(jig),
        "fit": jig_checks.fit(jig, gaps),
        "held": jig_checks.held(jig),
        "meeting": jig_checks.meeting(jig),
        "tabs and slots": jig_checks.tabs_and_slots(jig),
        "dropping in": jig_checks.dropping_in(jig),
        "step file": jig_checks.step_file(jig, twin, closed.outer - closed.inner),
    }
    blind_bends, blind_straights = jig_checks.wrong_unfelt(jig), jig_checks.too_long_unfelt(jig)
    faults["sense"] = [
        f"bend {number}: {jig.senses[number]} is said, but 2 degrees are not felt"
        for number in blind_bends
        if jig.senses[number] is not None and jig.senses[number] < SENSED
    ]
    warned = any(w["code"] == "jig-blind" and w.get("run") == name for w in plan["warnings"])
    if (blind_bends or blind_straights) and not warned:
        faults["sense"].append(f"{blind_bends} and {blind_straights} are not felt, and nothing is said")
    roles = {upright["part"]: upright["role"] for upright in jig.uprights}
    bends = sum(not isinstance(piece, Straight) for piece in pieces)
    return Looked(name, bends, faults, gaps, roles, jig.senses, blind_bends, blind_straights, warned)


def look_at(folder, text):
    """Every jig of a built spec, and the names of the runs that the program says have none."""
    plan, spec = read_plan(folder), yaml.safe_load(text)
    tasks = [(folder, spec, jig["run"]) for jig in plan["jigs"]]
    with concurrent.futures.ProcessPoolExecutor(os.cpu_count()) as pool:
        looked = list(pool.map(look, tasks, chunksize=1))
    without = {warning["run"] for warning in plan["warnings"] if warning["code"] == "no-jig"}
    assert without.isdisjoint(task[2] for task in tasks)
    assert without | {task[2] for task in tasks} == set(spec["runs"])
    return looked, without


def clear_of_itself(pieces, od):
    """Whether a tube keeps a diameter away from itself."""
    points, stations, at = [], [], 0.0
    for piece in pieces:
        straight = isinstance(piece, Straight)
        size = piece.length if straight else piece.angle * numpy.linalg.norm(piece.spoke)
        for part in numpy.linspace(0, 1, max(2, int(size / 4)), endpoint=False):
            if straight:
                points.append(piece.start + piece.along * size * part)
            else:
                points.append(piece.centre + jig_model.rotated(piece.spoke, piece.axis, piece.angle * part))
            stations.append(at + size * part)
        at += size
    points, stations = numpy.array(points), numpy.array(stations)
    away = numpy.linalg.norm(points[:, None] - points[None], axis=2)
    along = numpy.abs(stations[:, None] - stations[None])
    return bool(numpy.all(away[along > 6 * od] > 2 * od))


def random_spec(count=RUNS, seed=11, workshop=None):
    """Runs as people make them, flat ones and ones in space: 1 to 4 bends, legs of 25 to 150 mm."""
    source, runs = random.Random(seed), {}
    while len(runs) < count:
        od = round(source.uniform(8, 18), 1)
        flat = source.random() < 0.4
        turn = lambda: source.choice([0, 180]) if flat else round(source.uniform(-179, 180), 1)
        clr = round(od * source.uniform(2, 4), 1)
        bends = [
            {
                "length": round(source.uniform(25, 150), 1),
                "rotation": turn(),
                "angle": round(source.choice([45, 90, source.uniform(15, 120)]), 1),
                "clr": clr,
            }
            for _ in range(source.randint(1, 4))
        ]
        run = {
            "tube": {"od": od, "wall": 1, "material": "copper", "temper": "soft"},
            "bends": bends,
            "end_length": round(source.uniform(25, 150), 1),
        }
        name = f"{'flat' if flat else 'space'}-{len(runs):02}"
        pieces = centrelines({"runs": {name: run}, "bender": {"clr": clr}})[name]
        if clear_of_itself(pieces, od):
            runs[name] = run
    shop = {"workshop": workshop} if workshop else {}
    return {"format": 1, "bender": {"name": "any", "clr": 40}, **shop, "runs": runs}


@functools.cache
def _folder():
    """Where these specs are built; removed when the tests end."""
    return tempfile.TemporaryDirectory(prefix="jigs-")


@functools.cache
def seen(which):
    """The jigs of a demo, of the random runs, or of a few made of a thinner board with other fits."""
    folder = pathlib.Path(_folder().name)
    if which == "random":
        text = yaml.safe_dump(random_spec(), sort_keys=False)
    elif which == "other-shop":
        text = yaml.safe_dump(random_spec(8, 5, OTHER_SHOP), sort_keys=False)
    else:
        path = ROOT / "specs" / f"{which}.yaml"
        text = yaml.safe_dump(read_spec(path), sort_keys=False)
        return look_at(build(path, folder / which, "--only", "step,dxf,json"), text)
    path = folder / f"{which}.yaml"
    path.write_text(text, encoding="utf-8")
    return look_at(build(path, folder / which, "--only", "step,dxf,json"), text)


ALL = [*(demo.stem for demo in DEMOS), "random", "other-shop"]
CHECKS = ["poses", "fit", "held", "meeting", "tabs and slots", "dropping in", "sense", "step file"]


@pytest.mark.parametrize("which", ALL)
@pytest.mark.parametrize("check", CHECKS)
def test_jigs_pass(which, check):
    looked, _ = seen(which)
    assert looked
    assert {look.run: look.faults[check] for look in looked if look.faults[check]} == {}


def test_every_demo_has_jigs_that_show_every_error():
    for demo in DEMOS:
        looked, without = seen(demo.stem)
        assert without == set()
        assert {look.run: (look.blind_bends, look.blind_straights) for look in looked if look.warned} == {}


def test_random_runs_have_jigs_and_few_are_blind():
    looked, without = seen("random")
    assert len(looked) + len(without) == RUNS
    assert {look.bends for look in looked} == {1, 2, 3, 4}
    blind = [look.run for look in looked if look.warned]
    assert len(without) <= 1 and len(blind) <= 3, (without, blind)


def test_a_jig_made_by_hand_passes_and_shows_errors():
    jig = handmade_jig.jig()
    gaps = jig_checks.gaps(jig)
    assert jig_checks.poses(jig) == []
    assert jig_checks.fit(jig, gaps) == []
    assert jig_checks.held(jig) == []
    assert jig_checks.meeting(jig) == []
    assert jig_checks.tabs_and_slots(jig) == []
    assert jig_checks.dropping_in(jig) == []
    assert jig_checks.too_long_unfelt(jig) == []
    assert jig_checks.wrong_unfelt(jig) == []
    assert jig_checks.wrong_unfelt(jig, 0.2) == [1], "0.2 degrees are within the clearance"
    assert [round(gaps[name], 6) for name in ("stop", "c1", "c4", "gate", "base")] == [0.02, 0.5, 0.5, 1.0, 20.0]


@pytest.mark.parametrize(
    ("name", "by", "check"),
    [
        ("c3", (1, 0, 0), "fit"),
        ("c3", (0.6, 0, 0), "tabs and slots"),
        ("c1", (0, 0, 1), "poses"),
        ("c1", (0, 0, -0.2), "held"),
        ("stop", (-0.1, 0, 0), "fit"),
        ("gate", (0, 0.2, 0), "fit"),
        ("base", (0, 0, -1), "poses"),
        ("c2", (-38, 0, 0), "meeting"),
    ],
)
def test_a_part_out_of_place_is_seen(name, by, check):
    good = handmade_jig.jig()
    jig = handmade_jig.with_plate(good, name, good.plates[name].moved(numpy.array(by, dtype=float)))
    checks = {
        "poses": jig_checks.poses,
        "fit": lambda jig: jig_checks.fit(jig, jig_checks.gaps(jig)),
        "held": jig_checks.held,
        "meeting": jig_checks.meeting,
        "tabs and slots": jig_checks.tabs_and_slots,
    }
    assert checks[check](good) == []
    assert checks[check](jig) != []


def test_a_closed_saddle_and_a_missing_plate_are_seen():
    good = handmade_jig.jig()
    roof = dataclasses.replace(good.plates["c2"], cut=jig_model.cut_parts.CutPart(handmade_jig.plain(), [], []))
    roof = roof.moved(numpy.array([0, 0, 12.0]))
    assert jig_checks.dropping_in(handmade_jig.with_plate(good, "c2", roof)) != []
    few = {name: plate for name, plate in good.plates.items() if name not in ("c3", "c4", "gate")}
    alone = dataclasses.replace(good, plates=few)
    assert jig_checks.wrong_unfelt(alone) == [1]
    assert jig_checks.too_long_unfelt(alone) == [1, None]


def test_wrong_tubes_are_made_right():
    pieces = handmade_jig.pieces()
    longer = jig_model.lengthened(pieces, 0, 2.0)
    assert numpy.allclose(longer[2].start - pieces[2].start, [2, 0, 0])
    more = jig_model.rebent(pieces, 1, math.radians(2))
    end, along = more[1].end_and_direction()
    assert numpy.allclose(end, more[2].start) and numpy.allclose(along, more[2].along)
    assert math.degrees(math.acos(along @ pieces[2].along)) == pytest.approx(2)

"""OpenCascade puts the layers of every form's DXF file together as a shop would: the tube lies in the steps, within
the bound told, and the holes line up."""

import copy
import dataclasses
import functools
import random
import tempfile

import pytest
import stack_checks
from conftest import DEMOS, built, read_plan

SPECS = 5
RUNS = 4
DEPTH = 0.5
"""The program's default, as the README has it."""

CHECKS = [
    stack_checks.lies_one_on_the_other,
    stack_checks.tube_clears_the_stack,
    stack_checks.steps_keep_their_bounds,
    stack_checks.holes_line_up,
]


def random_spec(seed):
    """Runs each on a tube and bender of its own, cut from one sheet; the same every time."""
    source = random.Random(seed)
    workshop = {
        "sheet": {"thickness": round(source.choice([source.uniform(3, 5), 6, source.uniform(6, 13)]), 2), "size": [1200, 800]},
        "form": {
            "clearance": round(source.uniform(0.05, 0.4), 3),
            "depth": round(source.choice([0.5, source.uniform(0.35, 0.65)]), 3),
        },
    }
    runs = {}
    for index in range(RUNS):
        od = round(source.uniform(5, 42), 2)
        clr = round(od * source.uniform(2, 5), 2)
        rows = [
            {"length": round(3 * clr, 2), "rotation": 0, "angle": round(source.uniform(5, source.choice([90, 180])), 2)}
            for _ in range(source.randint(1, 2))
        ]
        runs[f"run-{index}"] = {
            "tube": {"od": od, "wall": round(od * source.uniform(0.05, 0.12), 2), "material": "copper",
                     "temper": source.choice(["soft", "half-hard"])},
            "bender": {"name": f"form {index}", "clr": clr},
            "bends": rows,
            "end_length": round(2 * clr + 60, 2),
        }
    return {"format": 1, "title": f"Random stacks {seed}", "units": "mm", "workshop": workshop, "runs": runs}


@functools.cache
def _folder():
    """Where the specs are built; removed when the tests end."""
    return tempfile.TemporaryDirectory(prefix="stacks-")


@functools.cache
def stacks(which):
    """All stacks of a demo, by name, or of a random spec, by number."""
    spec, out = built(which, _folder().name, random_spec, "dxf,json")
    depth = float(((spec.get("workshop") or {}).get("form") or {}).get("depth", DEPTH))
    return [stack_checks.read(out, data, depth) for data in read_plan(out)["forms"]]


ALL = [*(demo.stem for demo in DEMOS), *range(SPECS)]


@pytest.mark.parametrize("which", ALL)
@pytest.mark.parametrize("check", CHECKS)
def test_stacks_pass(which, check):
    assert stacks(which), "no form"
    assert [f"{stack.data['name']}: {wrong}" for stack in stacks(which) for wrong in check(stack)] == []


def test_random_stacks_span_what_they_should():
    every = [stack for which in range(SPECS) for stack in stacks(which)]
    assert len(every) >= 15
    counts = {len(stack.layers) for stack in every}
    assert {count % 2 for count in counts} == {0, 1} and max(counts) > 6
    arcs = [stack.data["arc_deg"] for stack in every]
    assert min(arcs) < 60 and max(arcs) > 150
    assert min(stack.depth for stack in every) < 0.5 < max(stack.depth for stack in every)
    assert any(layer.cut.openings for stack in every for layer in stack.layers.values())


def lamp():
    """The stack of a demo with a single form."""
    return stacks("lamp-arm")[0]


def changed(**data):
    """The lamp's stack with other numbers than it was made from."""
    return dataclasses.replace(lamp(), data={**lamp().data, **data})


def with_layer(name, **changes):
    """The lamp's stack with a layer changed."""
    layers = dict(lamp().layers)
    layers[name] = dataclasses.replace(copy.deepcopy(layers[name]), **changes)
    return dataclasses.replace(lamp(), layers=layers)


def test_a_tube_of_another_radius_or_size_is_seen():
    tight, loose = changed(clr_mm=lamp().data["clr_mm"] - 0.2), changed(clr_mm=lamp().data["clr_mm"] + 0.2)
    assert any("shares" in wrong for wrong in stack_checks.tube_clears_the_stack(tight))
    assert any("goes in" in wrong for wrong in stack_checks.tube_clears_the_stack(loose))
    thick = changed(od_mm=lamp().data["od_mm"] + 0.5)
    assert stack_checks.tube_clears_the_stack(thick) and stack_checks.steps_keep_their_bounds(thick)


def test_layers_out_of_order_or_out_of_place_are_seen():
    names = list(lamp().layers)
    middle, top = names[len(names) // 2], names[-1]
    own, other = lamp().layers[middle], lamp().layers[top]
    swapped = with_layer(middle, cut=other.cut, radius=other.radius)
    assert stack_checks.tube_clears_the_stack(swapped) and stack_checks.steps_keep_their_bounds(swapped)
    lifted = with_layer(middle, at=own.at + [0, 0, 0.01])
    assert stack_checks.lies_one_on_the_other(lifted)
    fewer = dataclasses.replace(lamp(), layers={name: lamp().layers[name] for name in names[:-1]})
    assert stack_checks.lies_one_on_the_other(fewer)


def test_holes_out_of_line_and_another_hollow_are_seen():
    name, layer = next(iter(lamp().layers.items()))
    assert layer.cut.openings
    moved = copy.deepcopy(layer.cut)
    moved.openings[0] = moved.openings[0] + [0.01, 0, 0]
    assert stack_checks.holes_line_up(with_layer(name, cut=moved))
    out = copy.deepcopy(layer.cut)
    out.openings[0] = out.openings[0] + [500.0, 0, 0]
    assert any("wood" in wrong for wrong in stack_checks.holes_line_up(with_layer(name, cut=out)))
    assert stack_checks.steps_keep_their_bounds(changed(hollow_mm=lamp().data["hollow_mm"] + 0.01))

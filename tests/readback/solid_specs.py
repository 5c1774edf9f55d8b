"""Specs that the checks of solids build once: random bend tables, and a worked U bend."""

import dataclasses
import functools
import pathlib
import random
import tempfile

import yaml
from closed_form import MM, closed_forms
from conftest import ROOT, build, read_spec

# Coarse, so that 300 meshes are read in seconds; mm.
CHORD = 0.5


@dataclasses.dataclass
class Bend:
    length: float
    rotation: float
    angle: float
    clr: float


@dataclasses.dataclass
class RandomRun:
    """A bend table as it stands in the spec: lengths in the run's own unit, angles in degrees."""

    name: str
    unit: str
    at: list
    facing: list
    od: float
    wall: float
    bends: list
    end_length: float

    def yaml(self):
        length = lambda value: f"{value:.9g} in" if self.unit == "in" else f"{value:.9f}"
        rows = "".join(
            f"      - {{length: {length(b.length)}, rotation: {b.rotation}, angle: {b.angle}, clr: {length(b.clr)}}}\n"
            for b in self.bends
        )
        return (
            f"  {self.name}:\n"
            f"    tube: {{od: {length(self.od)}, wall: {length(self.wall)}, material: copper, temper: soft}}\n"
            f"    from: {{at: {self.at}, facing: {self.facing}}}\n"
            f"    bends:\n{rows}"
            f"    end_length: {length(self.end_length)}\n"
        )


def random_runs(count=300, seed=20):
    """1 to 8 bends of 5 to 179 degrees, radii of 1.2 to 10 diameters, thin and thick walls; the same every time."""
    source = random.Random(seed)
    runs = []
    for index in range(count):
        unit = source.choice(["mm", "in"])
        digits = 2 if unit == "mm" else 4
        scale = MM[unit]
        od = round(source.uniform(4, 54) / scale, digits)
        # A wall of a fiftieth of the diameter is foil, one of two fifths nearly a rod.
        wall = round(od * source.choice([source.uniform(0.02, 0.06), source.uniform(0.06, 0.4)]), digits)
        # Some bends touch: no straight between them.
        straight = lambda: round(source.choice([0.0, source.uniform(0.5, 200)]) / scale, digits)
        bends = [
            Bend(
                length=straight(),
                rotation=round(source.uniform(-179.99, 180), 2),
                angle=round(source.uniform(5, 179), 2),
                clr=round(od * source.uniform(1.2, 10), digits),
            )
            for _ in range(source.randint(1, 8))
        ]
        facing = [round(source.uniform(-1, 1), 3) or 0.5 for _ in range(3)]
        at = [round(source.uniform(-1500, 1500), 2) for _ in range(3)]
        runs.append(RandomRun(f"run-{index:03}", unit, at, facing, od, wall, bends, straight()))
    return runs


def extreme_runs(count=60, seed=7):
    """Half turns and bends of the smallest angle, straights near nothing, bends that nearly touch their axis,
    foil and near rods, up to a metre off; the same every time."""
    source = random.Random(seed)
    runs = []
    for index in range(count):
        od = round(source.uniform(2, 60), 2)
        wall = round(max(0.01, od * source.choice([0.001, 0.05, 0.48])), 3)
        bends = [
            Bend(
                length=source.choice([0, 2e-6, 1e-4, 0.01, 50]),
                rotation=source.choice([0, 180, round(source.uniform(-179, 180), 3)]),
                angle=source.choice([0.05, 0.1, 1, 90, 180, round(source.uniform(1, 180), 3)]),
                clr=round(od / 2 + source.choice([0.02, 0.5, od]), 5),
            )
            for _ in range(source.randint(1, 6))
        ]
        at = [round(source.uniform(-1000, 1000), 3) for _ in range(3)]
        runs.append(RandomRun(f"extreme-{index:03}", "mm", at, [0.3, 0.4, 0.5], od, wall, bends, 20))
    return runs


def spec(runs):
    """The spec file's text."""
    return (
        "format: 1\n"
        "title: Random runs\n"
        "units: mm\n"
        "bender: {name: any, clr: 100, grip: 0, lead_out: 0, mark: start, datum: 0}\n"
        "runs:\n" + "".join(run.yaml() for run in runs)
    )


def source(demo):
    """A demo spec, with the corners of runs that are found."""
    return read_spec(ROOT / "specs" / f"{demo}.yaml")


U_BEND = """\
format: 1
title: "Builder's \\\\ Ø 水 U"
units: mm
tube: {od: 15.875, wall: 1.245, material: copper, temper: soft}
bender: {name: any, clr: 38.1, grip: 0, lead_out: 0, mark: start, datum: 0}
components:
  block: {box: {from: [10, 200, 0], to: [50, 230, 20]}}
  post: {cylinder: {from: [200, 200, 0], to: [200, 200, 70], diameter: 62}}
runs:
  u: {from: [0, 0, 0], to: [0, 120, 0], corners: [[100, 0, 0], [100, 120, 0]]}
"""


@functools.cache
def _folder():
    """Where these specs are built; removed when the tests end."""
    return tempfile.TemporaryDirectory(prefix="solids-")


def _build(name, text, *options):
    file = pathlib.Path(_folder().name) / f"{name}.yaml"
    file.write_text(text, encoding="utf-8")
    return build(file, file.parent / name, "--only", "step,stl", *options)


@functools.cache
def built():
    """The random runs by the closed form, by name in the spec's order, and the folder they were built into."""
    text = spec(random_runs())
    return closed_forms(yaml.safe_load(text)), _build("random", text, "--chord", str(CHORD))


def fine_runs():
    """Random runs few enough to be meshed at the default chord height."""
    return random_runs(12, seed=41)


@functools.cache
def built_fine():
    """The folder the fine runs were built into."""
    return _build("fine", spec(fine_runs()))


@functools.cache
def built_extremes():
    """The extreme runs like the random ones."""
    text = spec(extreme_runs())
    return closed_forms(yaml.safe_load(text)), _build("extreme", text, "--chord", str(CHORD))


@functools.cache
def u_bend():
    """The folder the U bend was built into."""
    return _build("u", U_BEND)

"""Bends as they are held, on templates: the angle and radius of the outline against the plan."""

import math
import re
import xml.etree.ElementTree as ElementTree

import pymupdf
import pytest
import yaml
from conftest import build, read_plan
from test_paper import POINT, SVG

HELD = {
    "format": 1,
    "title": "Held",
    "units": "mm",
    "tube": {"od": 10, "wall": 1.0, "material": "copper", "temper": "half-hard"},
    "bender": {
        "name": "bench",
        "clr": 40,
        "grip": 20,
        "lead_out": 10,
        "test_bends": [{"pulled": 45, "got": 42.6}, {"pulled": 90, "got": 86.1}, {"pulled": 135, "got": 130.2}],
    },
    "runs": {
        "zig": {
            "bends": [
                {"length": 90, "rotation": 0, "angle": 75},
                {"length": 70, "rotation": 180, "angle": 120},
                {"length": 80, "rotation": 65, "angle": 40},
            ],
            "end_length": 60,
        }
    },
}


@pytest.fixture(scope="module")
def held(tmp_path_factory):
    """A run in space on a bender with much springback."""
    folder = tmp_path_factory.mktemp("held")
    spec = folder / "held.yaml"
    spec.write_text(yaml.safe_dump(HELD, sort_keys=False))
    return build(spec, folder / "out", "--only", "svg,pdf,json")


def outlines(path):
    """Edges of held bends with a leg, as (angle turned in degrees, radius)."""
    found = []
    for group in ElementTree.parse(path).iter(f"{SVG}g"):
        if group.get("class") != "springback":
            continue
        for element in group:
            parts = [
                (command, [float(n) for n in numbers.split()])
                for command, numbers in re.findall(r"([MLA])([^MLAZ]*)", element.get("d", ""))
            ]
            if [command for command, _ in parts] != ["M", "A", "L"]:
                continue
            a, (b, radius), c = parts[0][1], (parts[1][1][5:], parts[1][1][0]), parts[2][1]
            # The chord of an arc has turned half as far as its end.
            chord = math.atan2(b[1] - a[1], b[0] - a[0])
            leg = math.atan2(c[1] - b[1], c[0] - b[0])
            half = (leg - chord + math.pi) % (2 * math.pi) - math.pi
            found.append((abs(math.degrees(2 * half)), radius))
    return found


def test_legs_lie_where_bends_are_pulled_to(demos, held):
    checked = 0
    for folder in [*demos.values(), held]:
        for run in read_plan(folder)["runs"]:
            found = outlines(folder / "runs" / run["name"] / "template.svg")
            half = run["tube"]["od_mm"] / 2
            wanted = [
                (bend["pull_to_deg"], bend["clr_under_load_mm"] + side)
                for bend in run["bends"]
                for side in (half, -half)
            ]
            for angle, radius in found:
                assert any(abs(angle - a) < 0.01 and abs(radius - r) < 0.01 for a, r in wanted), (run["name"], angle, radius)
            checked += len(found)
    assert checked > 20


def test_every_held_bend_is_drawn_and_named(demos, held):
    for folder in [*demos.values(), held]:
        with pymupdf.open(folder / "templates.pdf") as document:
            text = "\n".join(page.get_text() for page in document)
        named = sorted(float(a) for a in re.findall(r"^pull to here: ([\d.]+)°$", text, re.M))
        bends = [bend for run in read_plan(folder)["runs"] for bend in run["bends"]]
        wanted = sorted(b["pull_to_deg"] for b in bends if b["pull_to_deg"] - b["angle_deg"] > 0.05)
        assert named == pytest.approx(wanted, abs=0.051)
        assert len(named) > 0


def test_the_outline_has_a_style_of_its_own(held):
    """Dash, dot, dot: on the sheets that show a held bend, and named there."""
    shown = 0
    with pymupdf.open(held / "templates.pdf") as document:
        for page in document:
            numbers = lambda path: re.findall(r"[\d.]+", path["dashes"].split("]")[0])
            pens = [path for path in page.get_drawings() if len(numbers(path)) == 6]
            assert all(path["width"] * POINT < 0.12 for path in pens)
            assert bool(pens) == ("dash-dot-dot: pull to here" in page.get_text())
            # The legend's sample is one of them.
            shown += len(pens) > 1
    assert shown >= 2, "two planes"

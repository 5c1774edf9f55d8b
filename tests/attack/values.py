#!/usr/bin/env python3
"""Every number of the format and of the command line at its worst: none, less, tiny, huge and no number at all.

    cargo build --release && nice python3 tests/attack/values.py

Each number of three sound specs is set to some forty values, one at a time, then `--random` specs have several at
once, those of the workshop above all. `check` and `build` must agree. A build ends with all its files, with a finding
for each that is left out, or with errors. Then it wrote nothing. Faults are printed with the spec that has them.
Needs python3 only (Linux or macOS).
"""

import argparse
import array
import collections
import copy
import json
import math
import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
import zlib

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "fuzz"))

import plausible

MOST_BYTES = 500_000_000

# ---- specs ----


def loop():
    """Components, ports and fittings; a run by corners, one by a table, one straight, two copies."""
    tube = {"od": 12, "wall": 1, "material": "copper", "temper": "half-hard", "density": 8940, "modulus": 117}
    tube |= {"yield_strength": 250, "elongation": 20, "hardening": {"strength": 450, "exponent": 0.1}}
    fitting = {"tube_od": 12, "insert": 12, "deep": 14, "straight": 8, "max_angle": 1, "max_side": 0.5, "seal": {"section": 1.78, "squeeze": 20}, "body": {"diameter": 18, "length": 8}, "slide_back": 8}
    tank = {"box": {"from": [0, 0, 0], "to": [80, 60, 180]}, "ports": {"out": {"at": [40, 60, 20], "facing": [0, 1, 0], "fitting": "collar"}}}
    bar = {"from": [200, 250, 0], "to": [200, 250, 70], "diameter": 62}
    pump = {"cylinder": bar, "ports": {"in": {"at": [200, 219, 30], "facing": [0, -1, 0], "fitting": "collar"}}}
    turned = {"axis": [0, 0, 1], "degrees": 30, "about": [600, 0, 0]}
    parts = [{"box": {"from": [600, 0, 0], "to": [650, 40, 9]}, "rotate": {"axis": [1, 0, 0], "degrees": -20}}]
    board = {"parts": parts, "rotate": turned}
    rows = [{"length": 80, "rotation": 20, "angle": 90}, {"length": 60, "rotation": 90, "angle": 45, "clr": 50}]
    soft = {"od": 10, "wall": 1, "material": "copper", "temper": "soft"}
    return {
        "format": 1,
        "tube": tube,
        "clearance": 3,
        "uncertainty": {"port": 1, "mark": 0.5, "angle": 0.5, "turn": 1, "radius": 0.3, "length": 0.5},
        "bender": {"clr": 40, "grip": 20, "lead_out": 10, "mark": "start", "datum": 2, "max_angle": 180, "lever": 300},
        "stock": [{"length": 3000, "kerf": 1, "count": 3, "leftovers": [820, 1200]}, {"length": 2000, "od": 10, "wall": 1, "form": "coil", "straighten": 30}],
        "workshop": workshop(),
        "fittings": {"collar": fitting},
        "components": {"tank": tank, "pump": pump, "board": board},
        "runs": {
            "a": {
                "from": "tank.out",
                "to": "pump.in",
                "corners": [[40, 140, 20], {"at": [200, 140, 30], "clr": 45}],
                "allowance": {"start": 5, "end": 10},
                "clearance": 2,
            },
            "b": {"bends": rows, "end_length": 70, "tube": soft},
            "s": {"from": {"at": [400, 0, 0], "facing": [0, 0, 1]}, "to": [400, 0, 300], "corners": []},
            "m": {"mirror": {"run": "a", "plane": "x", "at": -60}},
            "c": {"from": "tank.out", "to": "pump.in", "corners": [{"out": 80, "z": 60}, {"in": 120, "x": -80, "y": 3, "clr": 30}, {"in": 70}]},
        },
    }


def workshop():
    return {
        "sheet": {"thickness": 6, "size": [600, 400], "spacing": 5, "kerf": 0.2, "slot_fit": 0.1},
        "printer": {"bed": [220, 220, 250], "hole_fit": 0.2},
        "dowel": 6,
        "bolt_hole": 6.6,
        "form": {"clearance": 0.1, "depth": 0.5, "over_bend": 3, "strap": {"width": 12, "thickness": 3}},
        "jig": {"clearance": 0.5, "lift": 20, "gate": 1},
    }


def bench():
    """Tube of a standard, hard, with a U bend; a workshop with a router and thick board."""
    tube = {"standard": "EN 1057", "size": "15 x 1.0", "temper": "hard", "modulus": 117, "yield_strength": 300, "elongation": 10}
    return {
        "format": 1,
        "tube": tube | {"hardening": {"strength": 450, "exponent": 0.1}},
        "bender": {"clr": 55, "datum": 0, "grip": 0},
        "workshop": {"sheet": {"kerf": 3, "slot_fit": 0.3, "thickness": 18, "spacing": 2}, "form": {"strap": "none", "depth": 0.7}},
        "runs": {"u": {"bends": [{"length": 60, "angle": 180}, {"length": 120, "rotation": 0, "angle": 90}], "end_length": 60}},
    }


def tested():
    """Small soft tube in inches, and a bender with test bends."""
    pieces = [{"pulled": 46, "got": 45}, {"pulled": 92, "got": 90, "cut": 12, "leg_a": 6.2, "leg_b": 6.14, "measured": "centre"}]
    return {
        "format": 1,
        "units": "in",
        "tube": {"od": 0.25, "wall": 0.035, "material": "copper", "temper": "soft"},
        "bender": {"clr": 0.75, "test_bends": [*pieces, {"pulled": 183, "got": 179.7, "across": 1.75}]},
        "runs": {"t": {"bends": [{"length": 2, "angle": 90}, {"length": 1.5, "rotation": 90, "angle": 45}], "end_length": 2}},
    }


def found():
    """Runs whose ways are found: among rooms, through a point, and one beside the other."""
    port = lambda x, y, way: {"at": [x, y, 0], "facing": [way, 0, 0]}
    left = {"box": {"from": [-60, -20, -20], "to": [0, 120, 20]}, "ports": {"a": port(0, 0, 1), "b": port(0, 60, 1)}}
    right = {"box": {"from": [400, 100, -20], "to": [460, 320, 20]}, "ports": {"a": port(400, 200, -1), "b": port(400, 260, -1)}}
    room = {"from": [150, -40, -40], "to": [200, 120, 40]}
    route = {"max_bends": 4, "angles": [45, 90], "clearance": 3, "through": [[60, 0, 0]], "avoid": [room]}
    return {
        "format": 1,
        "tube": {"od": 12, "wall": 1, "material": "copper", "temper": "soft"},
        "bender": {"clr": 38, "grip": 20},
        "components": {"left": left, "right": right},
        "runs": {
            "first": {"from": "left.a", "to": "right.a", "route": route},
            "second": {"from": "left.b", "to": "right.b", "route": {"like": "first", "spacing": 40}},
        },
    }


SPECS = {"loop": loop, "bench": bench, "tested": tested, "found": found}


def leaves(node, path=()):
    """The path of every number of a spec."""
    if isinstance(node, (dict, list)):
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            yield from leaves(value, (*path, key))
    elif isinstance(node, (int, float)):
        yield path


def put(spec, path, value):
    """The spec with this number there."""
    spec = copy.deepcopy(spec)
    node = spec
    for step in path[:-1]:
        node = node[step]
    node[path[-1]] = value
    return spec


def get(spec, path):
    for step in path:
        spec = spec[step]
    return spec


# YAML's own words for what is no number, and numbers beyond what a float holds.
NO_NUMBERS = [".nan", ".inf", "-.inf", "nan", "inf", "1e400", "-1e400", "null", "1e-400"]


def values(was, bounds):
    """What a number that was sound is set to; `bounds` are the schema's."""
    scaled = [was * factor for factor in (-1, 0.1, 0.5, 0.9, 0.99, 1.01, 1.1, 2, 5, 10, 100)]
    fixed = [0, -1e-9, -1, -100, 1e-300, 1e-9, 1e-3, 0.05, 0.1, 0.3, 0.5, 1, 2, 5, 10, 20, 25, 50, 90, 180, 200, 1e3, 5e3, 1e4, 1e5, 999_999, 1e6, 1e9, 1e20, 1e300]
    edges = [edge for bound in bounds for edge in (bound, bound * (1 - 1e-9), bound * (1 + 1e-9))]
    distinct = dict.fromkeys(float(f"{value:.12g}") for value in [*scaled, *fixed, *edges])
    return [int(value) if value.is_integer() and abs(value) < 1e15 else value for value in distinct] + NO_NUMBERS


def rules(schema):
    """Bounds of every numeric key of the schema, by table and key."""
    found = {}
    for table, rule in {"spec": schema, **schema["definitions"]}.items():
        for key, kind in rule.get("properties", {}).items():
            for each in ({**kind, "items": None}, *nested(kind)):
                types = each.get("type", ())
                types = {types} if isinstance(types, str) else set(types)
                # Lengths and angles are numbers or words; a title may look like a number.
                if types & {"number", "integer"} and not (types == {"string", "number"} and "pattern" not in each):
                    bounds = [each[name] for name in ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum") if name in each]
                    found.setdefault((table, key), []).extend(bounds)
    return found


def nested(kind):
    """Kinds below a key: the items of a list, and alternatives."""
    items = kind.get("items")
    below = kind.get("anyOf", []) + kind.get("oneOf", []) + (items if isinstance(items, list) else [items] if items else [])
    return below + [each for one in below for each in nested(one)]


def text(spec):
    """As YAML: JSON, but for words that JSON has not."""
    return re.sub(rf'"({"|".join(map(re.escape, NO_NUMBERS))})"', r"\1", json.dumps(spec, indent=1))


# ---- builds ----


class Ended:
    """How one command ended."""

    def __init__(self, program, arguments, folder):
        told = folder / "told"
        with told.open("wb") as log, (folder / "stdout").open("wb") as report:
            environment = os.environ | {"RAYON_NUM_THREADS": "1", "RUST_BACKTRACE": "0"}
            command = [program, *arguments, "--color", "never"]
            child = subprocess.Popen(command, stdout=report, stderr=log, env=environment, preexec_fn=plausible.limited)
            self.status, self.seconds, self.bytes_used = plausible.ended(child, time.monotonic())
        self.words = told.read_text(encoding="utf-8", errors="replace")
        self.report = (folder / "stdout").read_text(encoding="utf-8", errors="replace")

    def fault(self):
        """What is wrong with how it ended, whatever it was to do."""
        if self.status is None:
            return f"not done after {plausible.SECONDS} s of the processor"
        if self.status not in (0, 1, 2):
            return f"ended with status {self.status}: {self.words[-300:]}"
        if "fault of the program" in self.words + self.report or "panicked" in self.words:
            return (self.words + self.report)[-400:]
        if self.bytes_used > MOST_BYTES:
            return f"took {self.bytes_used / 1e6:.0f} MB"
        return None


def tried(program, spec, options, folder):
    """Checks and builds a spec; the builds' outcome in a word, what is wrong if anything, its seconds and bytes."""
    path, out = folder / "values.yaml", folder / "out"
    path.write_text(spec, encoding="utf-8")
    check = Ended(program, ["check", str(path)], folder)
    build = Ended(program, ["build", str(path), "--out", str(out), "--format", "json", *options], folder)
    fault = check.fault() or build.fault() or disagreement(check, build, out)
    shutil.rmtree(out, ignore_errors=True)
    outcome = "fault" if fault else {0: "built", 1: "refused", 2: "wrong usage"}[build.status]
    return outcome, fault, max(check.seconds, build.seconds), max(check.bytes_used, build.bytes_used)


def disagreement(check, build, out):
    """What is wrong between a check, its build and the files."""
    if build.status == 2:
        return f"wrong usage, but wrote {out}" if out.exists() else None
    if check.status != build.status:
        return f"check ends with {check.status}, build with {build.status}: {build.report[:600]}"
    if build.status:
        if not re.search(r"^error\[[a-z-]+\]", check.words, re.MULTILINE):
            return f"refused without an error: {check.words[-300:]}"
        if not re.search(r"^ *--> .*values\.yaml:\d+:\d+$", check.words, re.MULTILINE):
            return f"no error has a place: {check.words[:300]}"
        return f"refused, but wrote {out}" if out.exists() else None
    return missing(json.loads(build.report)["specs"][0], out) or none_in(out)


def missing(report, out):
    """A file that is not there though no finding says so."""
    codes = collections.defaultdict(set)
    for finding in report["findings"]:
        codes[finding["code"]].add(finding["run"])
    plan = json.loads((out / "plan.json").read_text())
    wanted = ["bends.csv", "assembly.step", "worksheet.pdf", "trials/comb.dxf"]
    wanted += [] if "overview-limit" in codes else ["overview.svg", "overview.pdf"]
    wanted += [] if "too-many-sheets" in codes else ["templates.pdf"]
    for run in plan["runs"]:
        name = run["name"]
        wanted += [f"runs/{name}/{file}" for file in ("tube.step", "template.svg")]
        wanted += [] if name in codes["stl-size"] else [f"runs/{name}/tube.stl"]
        wanted += [f"runs/{name}/strip.svg"] if run["bends"] else []
        if not codes["no-jig"] | codes["jig-limit"] & {name}:
            wanted += [f"jigs/{name}.{kind}" for kind in ("dxf", "pdf", "step")]
        if run["bends"] and not {"form-limit", "form-rim"} & set(codes) and not plan["forms"]:
            return "there is no form, and no finding says so"
    wanted += [f"forms/{form['name']}/{file}" for form in plan["forms"] for file in ("form.step", "form.dxf", "form.pdf", "follower.stl")]
    left = [name for name in wanted if not (out / name).is_file()]
    return f"{left[0]} is missing" if left else None


def none_in(out):
    """A file that is empty or has a number that is none."""
    for path in out.rglob("*"):
        if path.is_dir():
            continue
        data = path.read_bytes()
        name = path.relative_to(out)
        if not data:
            return f"{name} is empty"
        if path.suffix == ".stl":
            facets = [data[start : start + 48] for start in range(84, len(data), 50)]
            numbers = array.array("f", b"".join(facets))
            # A sum with such a number in it is none itself.
            if not facets or not math.isfinite(sum(numbers)):
                return f"{name} has {len(facets)} facets, or a number that is none"
            continue
        if path.suffix == ".pdf":
            streams = re.findall(rb"/FlateDecode.*?stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL)
            data = b"\n".join(zlib.decompressobj().decompress(stream) for stream in streams)
        lower = data.lower()
        # The search by pattern is slow, and nearly no file has these letters.
        found = (b"nan" in lower or b"inf" in lower) and plausible.NO_NUMBER.search(data)
        if found:
            return f"{name} has {found[0].decode()}"
    return None


# ---- attacks ----

PAPERS = ["a5", "a2", "100x150", "1x1", "0x0", "-100x100", "1e9x1e9", "nanxnan", "infx100", "100", "50x5000", "3000x3000", "99.999x200"]
CHORDS = ["0", "-1", "1e-9", "0.001", "0.0009", "0.1", "0.5", "1", "2.5", "5", "5.01", "1e20", "nan", "inf"]
OPTIONS = {
    "--chord": CHORDS,
    "--paper": PAPERS,
    "--paper-thickness": ["0", "-0", "-1", "1e-9", "0.2", "1", "1.01", "1e20", "nan", "inf"],
    "--printer-scale": ["90,110", "110,90", "89.9,100", "0,0", "-100,100", "1e20,100", "nan,nan", "inf,inf", "100", "99.6,100.2"],
}


def one_by_one(bounds):
    """Every number of every spec at every value, then every option."""
    for name, make in SPECS.items():
        sound = make()
        for path in leaves(sound):
            key = [step for step in path if isinstance(step, str)][-1]
            limits = [limit for (_, known), found in bounds.items() if known == key for limit in found]
            for value in values(get(sound, path), limits):
                yield f"{name} {'.'.join(map(str, path))} = {value}", text(put(sound, path, value)), []
        for option, words in OPTIONS.items():
            for word in words:
                yield f"{name} {option} {word}", text(sound), [f"{option}={word}"]


def shop(pick):
    """A workshop of any make."""
    strap = pick.choice(["none", {"width": 3, "thickness": 0.3}, {"width": 50, "thickness": 10}, {"width": 12, "thickness": 3}])
    made = {
        "sheet": {
            "thickness": pick.choice([0.5, 0.7, 1, 1.5, 3, 6, 12, 18, 50]),
            "slot_fit": pick.choice([-0.5, -0.49, -0.3, -0.1, 0, 0.1, 0.5, 1, 2]),
            "kerf": pick.choice([0, 0.1, 0.2, 1, 3, 6, 9.9, 10]),
            "spacing": pick.choice([0, 1, 5, 20]),
            "size": pick.choice([[50, 50], [600, 400], [10000, 10000], [50, 10000]]),
        },
        "printer": {
            "bed": pick.choice([[50, 50, 50], [220, 220, 250], [60, 400, 80], [5000, 5000, 5000]]),
            "hole_fit": pick.choice([0, 0.2, 2]),
        },
        "form": {
            "clearance": pick.choice([0, 0.01, 0.1, 1, 2]),
            "depth": pick.choice([0.3, 0.31, 0.5, 0.69, 0.7]),
            "over_bend": pick.choice([0, 3, 30]),
            "strap": strap,
        },
        "jig": {"clearance": pick.choice([0, 0.01, 0.5, 2]), "lift": pick.choice([5, 20, 200]), "gate": pick.choice([0, 1, 5])},
    }
    if pick.random() < 0.6:
        made["dowel"] = pick.choice([1, 2, 3, 6, 10, 20])
    if pick.random() < 0.6:
        made["bolt_hole"] = pick.choice([1, 3, 6.6, 12, 25])
    return made


def shops(number):
    """One tube and one workshop, both of any size."""
    pick = random.Random(number)
    od = pick.choice([0.3, 1, 2, 3, 4, 4.76, 6, 8, 10, 12, 15, 22, 28, 54, 108, 300])
    wall, clr = od * pick.choice([0.02, 0.1, 0.2, 0.45]), od * pick.choice([0.51, 0.6, 1, 1.5, 2, 3, 5, 20])
    rows = [
        {
            "length": round(od * pick.choice([0, 1, 2, 4, 10, 30]), 2),
            "rotation": pick.choice([0, 90, -90, 180, 17]),
            "angle": pick.choice([0.05, 1, 10, 45, 90, 135, 179, 180]),
        }
        for _ in range(pick.randint(1, 4))
    ]
    spec = {
        "format": 1,
        "units": "mm",
        "tube": {"od": od, "wall": round(wall, 4), "material": "copper", "temper": pick.choice(["soft", "half-hard", "hard"])},
        "bender": {"clr": round(clr, 3)},
        "workshop": shop(pick),
        "runs": {"a": {"bends": rows, "end_length": round(od * pick.choice([0, 1, 4, 20]), 2)}},
    }
    options = pick.choice([[], [], [f"--chord={pick.choice(['0.001', '0.5', '2.5', '5'])}"]])
    return f"shop {number}", text(spec), options


def several(number, bounds):
    """Two to four numbers of one of the specs at once, each at a value of its own."""
    pick = random.Random(number)
    name = pick.choice(list(SPECS))
    spec, told = SPECS[name](), []
    for path in pick.sample(list(leaves(spec)), pick.randint(2, 4)):
        key = [step for step in path if isinstance(step, str)][-1]
        limits = [limit for (_, known), found in bounds.items() if known == key for limit in found]
        value = pick.choice([value for value in values(get(spec, path), limits) if not isinstance(value, str)])
        told.append(f"{'.'.join(map(str, path))} = {value}")
        spec = put(spec, path, value)
    options = pick.choice([[], [f"--chord={pick.choice(CHORDS[3:10])}"], [f"--paper={pick.choice(PAPERS[:3])}"]])
    return f"several {number}: {name} {', '.join(told)} {' '.join(options)}", text(spec), options


def unmet(bounds):
    """Numeric keys of the schema that none of the specs has."""
    had = {step for make in SPECS.values() for path in leaves(make()) for step in path if isinstance(step, str)}
    return sorted({key for _, key in bounds} - had)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default=ROOT / "target" / "release" / "tubewright", type=pathlib.Path)
    parser.add_argument("--only", default="", help="only numbers whose name has this word")
    parser.add_argument("--no-singles", action="store_true", help="leave out the numbers one by one")
    parser.add_argument("--first", default=0, type=int, help="number of the first random spec")
    parser.add_argument("--random", default=3000, type=int, help="how many random specs, half of them of workshops")
    parser.add_argument("--keep", default=ROOT / "target" / "values", type=pathlib.Path, help="folder for specs that fail")
    given = parser.parse_args()
    schema = json.loads(subprocess.run([given.program, "schema"], capture_output=True, check=True).stdout)
    bounds = rules(schema)
    assert not unmet(bounds), f"no spec has {unmet(bounds)}"
    numbers = range(given.first, given.first + given.random)
    attacks = [] if given.no_singles else one_by_one(bounds)
    attacks = (attack for attack in attacks if given.only in attack[0])
    outcomes, worst, faults = collections.Counter(), [], 0
    with tempfile.TemporaryDirectory(dir=plausible.MEMORY) as home:
        home = pathlib.Path(home)
        mixed = (shops(number) if number % 2 else several(number, bounds) for number in numbers)
        for name, spec, options in (attack for group in (attacks, mixed) for attack in group):
            outcome, fault, seconds, used = tried(given.program, spec, options, home)
            outcomes[outcome] += 1
            worst.append((seconds, used, name))
            if fault:
                faults += 1
                given.keep.mkdir(parents=True, exist_ok=True)
                kept = given.keep / f"{faults}.yaml"
                kept.write_text(spec, encoding="utf-8")
                print(f"{name}\n  {kept} {' '.join(options)}\n  {fault}", flush=True)
            if len(worst) % 500 == 0:
                print(f"{len(worst)} done, {dict(outcomes)}", flush=True)
    print(f"{len(worst)} specs: {dict(outcomes)}")
    print("slowest: " + "; ".join(f"{seconds:.2f} s {name}" for seconds, _, name in sorted(worst)[:-6:-1]))
    print("largest: " + "; ".join(f"{used / 1e6:.0f} MB {name}" for used, name in sorted((used, name) for _, used, name in worst)[:-6:-1]))
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

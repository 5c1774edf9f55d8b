#!/usr/bin/env python3
"""Plausible specs, each built whole in a child process with a limit on its time and memory.

    cargo build --release
    python3 tests/fuzz/plausible.py --count 20000 --first 1000000

A spec is made from its number alone. The build must end with status 0, or with 1 and findings; its files must
be there, not empty, and free of numbers that are none. What fails is kept with its command below `--keep`.
Needs python3 only (Linux or macOS).
"""

import argparse
import collections
import json
import math
import os
import pathlib
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
# Of the processor, so that a busy machine fails nobody; a child that sleeps is ended by the clock.
SECONDS = 20
CLOCK = 10 * SECONDS
BYTES = 1_000_000_000
MEMORY = "/dev/shm" if os.path.isdir("/dev/shm") else None

PAPERS = ["a4", "a4", "a4", "a3", "a2", "letter", "legal", "tabloid", "148x210", "330x330", "610x2000"]
SIZES_EN_1057 = ["6 x 0.6", "8 x 1.0", "10 x 1.0", "12 x 1.0", "15 x 1.0", "16 x 1.0", "18 x 1.0", "22 x 1.0", "28 x 1.0", "28 x 1.5"]
ODS_EN_1057 = [6, 8, 10, 12, 15, 16, 18, 22, 28, 28]
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}


# ---- vectors ----

def added(a, b, by=1.0):
    return [x + y * by for x, y in zip(a, b)]


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def turned(vector, axis, angle):
    """The vector turned about a unit axis, right-handed (Rodrigues)."""
    sine, cosine = math.sin(angle), math.cos(angle)
    along = sum(a * v for a, v in zip(axis, vector)) * (1 - cosine)
    sideways = cross(axis, vector)
    return [v * cosine + s * sine + a * along for v, s, a in zip(vector, sideways, axis)]


def laid(at, rows, end_length, clr):
    """Corners, end and end's direction of a bend table that starts `at` a point along +x."""
    at, direction, normal = list(at), [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]
    corners = []
    for row in rows:
        angle = math.radians(row["angle"])
        normal = turned(normal, direction, math.radians(row.get("rotation", 0)))
        to_corner = row.get("clr", clr) * math.tan(angle / 2)
        corners.append(added(at, direction, row["length"] + to_corner))
        direction = turned(direction, normal, angle)
        at = added(corners[-1], direction, to_corner)
    return corners, added(at, direction, end_length), direction


# ---- specs ----

class Spec:
    """One spec: its text and the options to build it with."""

    def __init__(self, number):
        self.pick = random.Random(number)
        self.number = number
        pick = self.pick
        self.units = pick.choice(["mm", "mm", "mm", "mm", "in", "cm"])
        self.tube, self.od = self.any_tube()
        self.clr = self.od * pick.choice([1.5, 2, 2.5, 3, 3, 4, 6])
        self.size = pick.choice([1, 1, 1, 1, 1, 4, 4, 12])
        self.components, self.fittings = {}, {}
        self.data = {"format": 1, "title": pick.choice(["Loop", "A loop of tube", "Leitung für Öl & Wasser", "x" * 60])}
        if self.units != "mm" or pick.random() < 0.3:
            self.data["units"] = self.units
        self.data |= {"tube": self.tube, "bender": self.bender()}
        if pick.random() < 0.3:
            self.data["anneal"] = pick.choice(["auto", "always", "never"])
        if pick.random() < 0.4:
            self.data["stock"] = self.stock()
        if pick.random() < 0.4:
            self.data["workshop"] = self.workshop()
        if pick.random() < 0.7:
            self.fittings["collar"] = self.fitting()
        names = ["feed", "return-line", "a", "tank-to-pump", "Run_2", "line.3"]
        count = pick.choice([1, 1, 1, 2, 3, 6])
        runs = {name: self.run(index) for index, name in enumerate(names[:count])}
        if self.fittings:
            self.data["fittings"] = self.fittings
        if self.components:
            self.data["components"] = self.components
        self.data["runs"] = self.with_own_benders_and_copies(runs)

    def chance(self, share):
        return self.pick.random() < share

    def between(self, low, high):
        """A length, mm, rounded as people do."""
        value = self.pick.uniform(low, high)
        return round(value, self.pick.choice([0, 0, 1])) if value > 5 else round(value, 2)

    def length(self, mm):
        """A length of the spec: a number in its units, or words."""
        if self.chance(0.08):
            return self.pick.choice([f"{mm:g} mm", f"{round(mm / 10, 4):g} cm"])
        if self.units == "in" and self.chance(0.3):
            # As a rule shows it.
            whole, part = divmod(round(mm / 25.4 * 16), 16)
            if whole and part:
                return f"{whole}-{part}/16"
        return round(mm / MM[self.units], 5)

    def point(self, at):
        return [round(v / MM[self.units], 5) for v in at]

    def any_tube(self):
        pick = self.pick
        temper = pick.choice(["soft", "half-hard", "hard"])
        kind = pick.random()
        if kind < 0.35:
            index = pick.randrange(len(ODS_EN_1057))
            return {"standard": "EN 1057", "size": SIZES_EN_1057[index], "temper": temper}, ODS_EN_1057[index]
        if kind < 0.5:
            size, od = pick.choice([("1/4", 9.525), ("3/8", 12.7), ("1/2", 15.875), ("3/4", 22.225), ("1", 28.575)])
            tube = {"standard": "ASTM B88", "size": size, "type": pick.choice(["K", "L"]), "temper": pick.choice(["soft", "hard"])}
            return tube, od
        od = pick.choice([3, 3.175, 4, 4.76, 5, 6, 6.35, 7.94, 8, 9.525, 10, 12, 12.7, 14, 16, 19.05, 20, 25, 25.4, 30, 40, 54])
        wall = round(max(0.35, od * pick.choice([0.05, 0.08, 0.1, 0.15])), 2)
        tube = {"od": self.plain(od), "wall": self.plain(wall), "temper": temper, "material": "copper"}
        if self.chance(0.2):
            tube |= {"material": "steel", "density": 7850, "modulus": 205, "yield_strength": 240, "elongation": 30}
        return tube, od

    def plain(self, mm):
        return round(mm / MM[self.units], 6)

    def bender(self):
        pick = self.pick
        bender = {"clr": self.length(self.clr)}
        if self.chance(0.5):
            bender["grip"] = self.length(self.between(1, 3) * self.od)
        if self.chance(0.5):
            bender["lead_out"] = self.length(self.between(0.5, 2) * self.od)
        if self.chance(0.4):
            bender["mark"] = pick.choice(["start", "middle", "end"])
        if self.chance(0.3):
            bender["datum"] = self.length(self.between(-20, 40))
        if self.chance(0.15):
            bender["max_angle"] = pick.choice([200, 180, 135])
        if self.chance(0.25):
            opens = pick.uniform(0.004, 0.05)
            bender["test_bends"] = [
                {"pulled": pulled, "got": round(pulled * (1 - opens), 1)} for pulled in pick.sample([30, 45, 60, 90, 92, 120], pick.randint(1, 3))
            ]
        return bender

    def stock(self):
        pick = self.pick
        stock = {"length": pick.choice(["3 m", "6 m", "1 m", "25 m"]), "form": pick.choice(["stick", "coil"])}
        if self.chance(0.5):
            stock["kerf"] = self.length(pick.choice([0.5, 1, 1.6, 2, 3]))
        if self.chance(0.4):
            stock["count"] = pick.randint(1, 20)
        if self.chance(0.4):
            stock["leftovers"] = [self.length(self.between(100, 2500)) for _ in range(pick.randint(1, 6))]
        return [stock] if self.chance(0.2) else stock

    def workshop(self):
        pick = self.pick
        thickness = pick.choice([3, 4, 6, 6, 9, 12])
        shop = {"sheet": {"thickness": self.length(thickness)}}
        if self.chance(0.5):
            shop["sheet"]["size"] = [self.plain(v) for v in pick.choice([(600, 400), (300, 200), (1220, 610)])]
        if self.chance(0.4):
            shop["sheet"] |= {"kerf": self.length(pick.choice([0.1, 0.2, 0.3])), "slot_fit": self.length(pick.choice([0.05, 0.1, 0.2]))}
        if self.chance(0.4):
            shop["printer"] = {"bed": [self.plain(v) for v in pick.choice([(220, 220, 250), (120, 120, 120), (350, 350, 400)])]}
        if self.chance(0.3):
            shop["form"] = {"clearance": self.length(0.1), "over_bend": pick.choice([0, 3, 5])}
            if self.chance(0.5):
                shop["form"]["strap"] = pick.choice(["none", {"width": self.length(12), "thickness": self.length(3)}])
        if self.chance(0.3):
            shop["jig"] = {"clearance": self.length(pick.choice([0.3, 0.5, 1])), "lift": self.length(pick.choice([15, 20, 40]))}
        return shop

    def fitting(self):
        fitting = {"tube_od": self.plain(self.od), "insert": self.length(self.between(0.5, 1.2) * self.od), "straight": self.length(round(0.5 * self.od, 1))}
        if self.chance(0.5):
            fitting |= {"max_angle": 1, "max_side": self.length(0.5)}
        if self.chance(0.2):
            fitting["seal"] = {"section": self.length(1.78), "squeeze": 20}
        return fitting

    def rows(self, most_angle):
        pick = self.pick
        count = pick.choice([0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 6, 8, 12, 20])
        rows = []
        for index in range(count):
            shortest = pick.choice([0.5, 2, 3]) * self.od
            row = {"length": self.between(shortest, shortest + self.size * 80)}
            if index == 0 or self.chance(0.6):
                row["rotation"] = pick.choice([0, 0, 90, 90, -90, 180, 45, -30, round(pick.uniform(-180, 180), 1)])
            row["angle"] = pick.choice([90, 90, 90, 45, 30, 60, 15, round(pick.uniform(2, min(most_angle, 120)), 1), most_angle])
            if self.chance(0.1):
                row["clr"] = round(self.clr * pick.choice([1.2, 1.5, 2]), 2)
            rows.append(row)
        return rows

    def written(self, rows):
        lengths = ("length", "clr")
        return [{key: self.length(value) if key in lengths else value for key, value in row.items()} for row in rows]

    def run(self, index):
        pick = self.pick
        kind = pick.choice(["bench", "bench", "placed", "corners", "corners", "ports", "ports"])
        rows = self.rows(180 if kind in ("bench", "placed") and self.chance(0.3) else 135)
        end_length = self.between(self.od, self.od + self.size * 100)
        start = [0.0, 600.0 * index * self.size, pick.choice([0.0, 120.0])]
        corners, end, direction = laid(start, rows, end_length, self.clr)
        ends = {"from": {"at": self.point(start), "facing": [1, 0, 0]}}
        if kind == "ports":
            ends = {
                "from": self.port(f"source-{index}", start, [1.0, 0.0, 0.0]),
                "to": self.port(f"sink-{index}", end, [-v for v in direction]),
            }
        elif kind == "corners":
            facing = {"at": self.point(end), "facing": [round(-v, 9) for v in direction]}
            ends |= {"to": self.point(end) if self.chance(0.3) else facing}
        if kind == "bench":
            run = {"bends": self.written(rows), "end_length": self.length(end_length)}
        elif kind == "placed" or (kind == "ports" and self.chance(0.3)):
            run = ends | {"bends": self.written(rows), "end_length": self.length(end_length)}
        else:
            run = ends | {"corners": [self.corner(at, row) for at, row in zip(corners, rows)]}
        if self.chance(0.25):
            run["allowance"] = {"start": self.length(self.between(0, 30)), "end": self.length(self.between(0, 60))}
        if self.chance(0.1):
            run["anneal"] = pick.choice(["auto", "always", "never"])
        return run

    def with_own_benders_and_copies(self, runs):
        """The runs, some with a bender of their own and some copied, by chances that leave all else as it is."""
        pick = random.Random(f"copies of {self.number}")
        for name, run in runs.items():
            if pick.random() < 0.15:
                own = {"name": f"bender of {name}", "mark": pick.choice(["start", "middle", "end"]), "grip": self.plain(2 * self.od)}
                # A path with a place to reach is laid for the radius that it has.
                if "bends" in run and "to" not in run:
                    own["clr"] = self.plain(round(self.clr * pick.choice([0.8, 1.25, 1.5]), 1))
                run["bender"] = own
        for name in list(runs):
            kind = pick.random()
            at = self.plain(pick.choice([-700, -150, 900])) * self.size
            if kind < 0.1:
                runs[f"{name}-mirrored"] = {"mirror": {"run": name, "plane": pick.choice("xyz"), "at": at}}
            elif kind < 0.15:
                runs[f"{name}-again"] = {"same_as": name}
            elif kind < 0.2:
                facing = pick.choice([[1, 0, 0], [0, 0, -1], [0.6, 0.8, 0]])
                runs[f"{name}-again"] = {"same_as": name, "from": {"at": [0, at, at], "facing": facing}}
        return runs

    def corner(self, at, row):
        return {"at": self.point(at), "clr": self.length(row["clr"])} if "clr" in row else self.point(at)

    def port(self, component, tip, facing):
        """A port whose tube ends at `tip`; its component lies behind the face."""
        fitting = self.fittings.get("collar")
        insert = self.mm(fitting["insert"]) if fitting else 0.0
        face = added(tip, facing, insert)
        reach = max(2.0 * self.od, insert + 5.0)
        body = {"from": self.point(face), "to": self.point(added(face, facing, -reach)), "diameter": self.plain(2.5 * self.od)}
        port = {"at": self.point(face), "facing": [round(v, 9) for v in facing]}
        if fitting:
            port["fitting"] = "collar"
        self.components[component] = {"cylinder": body, "ports": {"out": port}}
        return f"{component}.out"

    def mm(self, written):
        """A length of the spec as mm again."""
        if not isinstance(written, str):
            return written * MM[self.units]
        number, _, unit = written.partition(" ")
        whole, _, part = number.rpartition("-")
        value = float(whole or 0) + float(part.split("/")[0]) / 16 if "/" in part else float(number)
        return value * MM[unit or self.units]

    def text(self):
        """The spec as YAML: top-level keys and runs on lines of their own."""
        lines = []
        for key, value in self.data.items():
            if key in ("runs", "components"):
                lines.append(f"{key}:")
                lines += [f"  {name}: {json.dumps(each, ensure_ascii=False)}" for name, each in value.items()]
            else:
                lines.append(f"{key}: {json.dumps(value, ensure_ascii=False)}")
        return "\n".join(lines) + "\n"

    def options(self):
        """Options of `build`."""
        pick = random.Random(-1 - self.number)
        options = ["--paper", pick.choice(PAPERS)]
        if pick.random() < 0.2:
            options += ["--printer-scale", pick.choice(["99.6,100.2", "100.5,99.5", "98,102"])]
        if pick.random() < 0.2:
            options += ["--chord", pick.choice(["0.02", "0.1", "0.2"])]
        if pick.random() < 0.1:
            options += ["--paper-thickness", pick.choice(["0.05", "0.2"])]
        return options


# ---- builds ----

class Result:
    """How one build ended."""

    def __init__(self, number, outcome, fault, seconds, bytes_used, command):
        self.number, self.outcome, self.fault = number, outcome, fault
        self.seconds, self.bytes_used, self.command = seconds, bytes_used, command


def limited():
    """Limits of the child; where a system does not keep them, only the time counts."""
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def build(program, number, folder):
    """Makes spec `number`, builds it whole below `folder`, and judges what came of it."""
    spec = Spec(number)
    path, out, told = folder / f"plausible-{number}.yaml", folder / "out", folder / "told"
    path.write_text(spec.text(), encoding="utf-8")
    command = ["build", str(path), "--out", str(out), "--color", "never", *spec.options()]
    # One thread a child: many children keep the machine busy.
    environment = os.environ | {"RAYON_NUM_THREADS": "1", "RUST_BACKTRACE": "0"}
    started = time.monotonic()
    with told.open("wb") as log:
        child = subprocess.Popen([program, *command], stdout=log, stderr=log, env=environment, preexec_fn=limited)
        status, seconds, used = ended(child, started)
    words = told.read_text(encoding="utf-8", errors="replace")
    outcome, fault = judged(status, words, out, spec)
    shutil.rmtree(out, ignore_errors=True)
    told.unlink()
    if not fault:
        path.unlink()
    return Result(number, outcome, fault, seconds, used, command)


def ended(child, started):
    """The child's status (`None` when its time was up), its seconds of the processor and its peak memory."""
    wait, unit = 0.002, 1 if sys.platform == "darwin" else 1024
    while True:
        pid, status, usage = os.wait4(child.pid, os.WNOHANG)
        if pid:
            child.returncode = os.waitstatus_to_exitcode(status)
            late = child.returncode in (-signal.SIGXCPU, -signal.SIGKILL)
            return None if late else child.returncode, usage.ru_utime + usage.ru_stime, usage.ru_maxrss * unit
        if time.monotonic() - started > CLOCK:
            child.kill()
            _, _, usage = os.wait4(child.pid, 0)
            child.returncode = -signal.SIGKILL
            return None, usage.ru_utime + usage.ru_stime, usage.ru_maxrss * unit
        time.sleep(wait)
        wait = min(0.05, wait * 1.5)


def judged(status, words, out, spec):
    """What became of a build (in a word, to be counted) and what is wrong with it, if anything."""
    if status is None:
        return "timeout", f"not done after {SECONDS} s of the processor"
    if status not in (0, 1):
        return f"status {status}", f"ended with status {status}: {words[-400:]}"
    if "fault of the program" in words or "panicked" in words:
        return "fault", words[-600:]
    if status == 1:
        code = re.search(r"^error\[([a-z0-9-]+)\]", words, re.MULTILINE)
        if not code:
            return "refused", f"refused without an error: {words[-400:]}"
        left = list(out.rglob("*")) if out.exists() else []
        return f"refused: {code[1]}", f"refused, but wrote {left[0]}" if left else None
    return "built", wrong_files(out, spec)


# As a whole word: what a number that is none prints as.
NO_NUMBER = re.compile(rb"(?<![A-Za-z_])-?(nan|inf|infinity)(?![A-Za-z_])", re.IGNORECASE)
TEXTS = {".svg", ".csv", ".json", ".step", ".dxf"}


def wrong_files(out, spec):
    """What is wrong with the files of a build, if anything."""
    wanted = ["plan.json", "bends.csv", "assembly.step", "overview.svg", "overview.pdf", "worksheet.pdf"]
    wanted += [f"runs/{name}/{file}" for name in spec.data["runs"] for file in ("tube.step", "tube.stl", "template.svg")]
    for name in wanted:
        if not (out / name).is_file():
            return f"{name} is missing"
    for path in out.rglob("*"):
        if not path.is_file():
            continue
        if path.stat().st_size == 0:
            return f"{path.relative_to(out)} is empty"
        if path.suffix in TEXTS:
            found = NO_NUMBER.search(path.read_bytes())
            if found:
                return f"{path.relative_to(out)} has {found[0].decode()} at byte {found.start()}"
    return None


def main():
    """Builds many and prints what came of them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", default=ROOT / "target" / "release" / "tubewright", type=pathlib.Path)
    parser.add_argument("--first", default=0, type=int, help="number of the first spec")
    parser.add_argument("--count", default=1000, type=int)
    parser.add_argument("--keep", default=ROOT / "target" / "plausible", type=pathlib.Path, help="folder for specs that fail")
    parser.add_argument("--show", type=int, metavar="NUMBER", help="print one spec and its options, build nothing")
    arguments = parser.parse_args()
    if arguments.show is not None:
        spec = Spec(arguments.show)
        print(f"# options: {' '.join(spec.options())}\n{spec.text()}", end="")
        return 0
    results, faults = [], 0
    with tempfile.TemporaryDirectory(dir=MEMORY) as home:
        home = pathlib.Path(home)
        for number in range(arguments.first, arguments.first + arguments.count):
            result = build(arguments.program, number, home)
            results.append(result)
            if result.fault:
                faults += 1
                arguments.keep.mkdir(parents=True, exist_ok=True)
                shutil.move(home / f"plausible-{number}.yaml", arguments.keep / f"plausible-{number}.yaml")
                print(f"{number}: {result.fault}\n  build {arguments.keep}/plausible-{number}.yaml {' '.join(Spec(number).options())}", flush=True)
            if len(results) % 1000 == 0:
                print(f"{len(results)} done, {faults} faults", flush=True)
    for outcome, count in collections.Counter(result.outcome for result in results).most_common():
        print(f"{count:6}  {outcome}")
    for what, key, unit in (("slowest", lambda r: r.seconds, "s"), ("largest", lambda r: r.bytes_used / 1e6, "MB")):
        worst = sorted(results, key=key, reverse=True)[:5]
        print(f"{what}: " + ", ".join(f"{key(result):.2f} {unit} ({result.number})" for result in worst))
    print(f"{faults} faults in {len(results)} builds")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""Time and memory of specs that are large, crowded or mistyped, held to limits.

    cargo build --release && python3 tests/bench/cliffs.py [--program PATH] [--keep FOLDER] [NAME...]

Every spec is checked, built with `--only csv`, and built whole, each in a process of its own that may use 4 GB
and two minutes. Prints a table; ends with status 1 when a limit is broken. Names pick some of the specs; `--keep`
writes the specs there and leaves them. Needs python3 only (Linux or macOS).
"""

import argparse
import math
import os
import pathlib
import random
import resource
import signal
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = ROOT / "target" / "release" / "tubewright"
MEMORY = "/dev/shm" if os.path.isdir("/dev/shm") else None

# Whatever goes wrong, the machine stays usable.
MOST_SECONDS = 120
MOST_BYTES = 4 << 30

# Held for what a person would build.
CHECK_SECONDS = 1
BUILD_SECONDS = 10
# Held for any spec.
PEAK_MB = 500

HEAD = "format: 1\ntube: {{od: {od}, wall: 1, material: copper, temper: soft}}\nbender: {{clr: {clr}}}\nruns:\n"


def run(name, bends, end, more=""):
    """A run as a bend table; `bends` are (length, rotation, angle)."""
    rows = "".join(f"      - {{length: {a:g}, rotation: {b:g}, angle: {c:g}}}\n" for a, b, c in bends)
    return f"  {name}:\n{more}    bends:\n{rows}    end_length: {end:g}\n"


def start(x, y, z, facing=(0, 0, 1)):
    """The line of a run that says where it starts."""
    return f"    from: {{at: [{x:g}, {y:g}, {z:g}], facing: [{', '.join(f'{v:g}' for v in facing)}]}}\n"


def rows(count, length, apart, od):
    """A run that goes to and fro: `count` rows joined by U bends."""
    bends = [(length, 180 if n > 0 else 0, 180) for n in range(count - 1)]
    return HEAD.format(od=od, clr=apart / 2) + run("rows", bends, length)


def mistyped():
    """The starter with 40 become 40000."""
    text = (ROOT / "src" / "spec" / "starter" / "mm.yaml").read_text()
    old = "{at: [40, 300, 170], clr: 60}"
    assert old in text
    return text.replace(old, old.replace("40", "40000"))


def winding(pick, count, longest):
    """`count` bends whose straights are up to `longest` mm."""
    pairs = [(pick.uniform(40, longest), pick.randint(-179, 180), pick.randint(15, 120)) for _ in range(count)]
    return [(round(a, 1), b, c) for a, b, c in pairs]


def many_bends(count):
    """One run of `count` bends."""
    return HEAD.format(od=15, clr=55) + run("long", winding(random.Random(1), count, 300), 100)


def overlapping(count):
    """`count` runs that all lie across the same place."""
    pick = random.Random(2)
    text = HEAD.format(od=15, clr=55)
    for n in range(count):
        x, y, z = (round(pick.uniform(0, 300), 1) for _ in range(3))
        text += run(f"run-{n}", winding(pick, 3, 200), 100, start(x, y, z))
    return text


def alike(count):
    """`count` runs that are the same run."""
    bends = winding(random.Random(3), 4, 200)
    return HEAD.format(od=15, clr=55) + "".join(run(f"run-{n}", bends, 100, start(0, 0, 0)) for n in range(count))


def a_persons_most(count, bends, metres):
    """`count` runs of `bends` bends and up to `metres` m, side by side along walls."""
    pick = random.Random(4)
    text = HEAD.format(od=15, clr=55)
    for n in range(count):
        # Straights and turns as of pipes along walls: up, along, round a corner.
        arcs = bends * 55 * math.pi / 2
        straight = (1000 * metres - arcs) / (bends + 1)
        table = [
            (round(pick.uniform(0.5, 1.0) * straight, 1), pick.choice([90, -90, 180, 0]) if k else 0, 90)
            for k in range(bends)
        ]
        text += run(f"run-{n}", table, 100, start(2000 * (n % 20), 2000 * (n // 20), 0))
    return text


def wordy(letters):
    """A title as long as that, and names as long as may be."""
    word = "abcdefghi "
    title = (word * (letters // len(word) + 1))[:letters]
    name = "n" * 60
    text = f"format: 1\ntitle: {title}\n" + HEAD.format(od=15, clr=55).split("\n", 1)[1]
    bends = [(80, 0, 90), (60, 90, 45)]
    component = f"components:\n  c-{name}: {{box: {{from: [500, 500, 0], to: [550, 550, 50]}}}}\n"
    return text.replace("runs:\n", component + "runs:\n") + run(f"r-{name}", bends, 70)


def filled(kind, size=16_000_000 - 4096):
    """Specs of 16 MB, just below what is read."""
    if kind == "words":
        text = HEAD.format(od=15, clr=55) + run("one", [(80, 0, 90)], 70)
        line = "# " + "words " * 15 + "\n"
        return text + line * ((size - len(text)) // len(line))
    if kind == "runs":
        one = "  r{:06}: {{bends: [{{length: 80, angle: 90}}], end_length: 70}}\n"
        head = HEAD.format(od=15, clr=55)
        return head + "".join(one.format(n) for n in range((size - len(head)) // len(one.format(0))))
    if kind == "bends":
        head = HEAD.format(od=15, clr=55) + "  long:\n    end_length: 70\n    bends:\n"
        one = "    - {length: 80, angle: 90}\n"
        return head + one * ((size - len(head)) // len(one))
    if kind == "components":
        one = "  c{:06}: {{box: {{from: [0, 0, 0], to: [9, 9, 9]}}}}\n"
        head = "format: 1\ncomponents:\n"
        return head + "".join(one.format(n) for n in range((size - len(head)) // len(one.format(0))))
    if kind == "title":
        head = HEAD.format(od=15, clr=55) + run("one", [(80, 0, 90)], 70) + "title: "
        return head + "t" * (size - len(head)) + "\n"
    raise ValueError(kind)


def many_radii(count):
    """Bends of as many radii: each has a form of its own."""
    text = HEAD.format(od=15, clr=55)
    for n in range(count):
        text += f"  run-{n}:\n    bends: [{{length: 80, angle: 90, clr: {40 + n / 8:g}}}]\n    end_length: 70\n"
    return text


def just_read(runs, bends):
    """About as much as the reader takes: runs on a grid."""
    pick = random.Random(5)
    text = HEAD.format(od=15, clr=55)
    for n in range(runs):
        text += run(f"run-{n}", winding(pick, bends, 200), 100, start(3000 * (n % 100), 3000 * (n // 100), 0))
    return text


def many_components(count):
    """As many boxes, and a run."""
    text = HEAD.format(od=15, clr=55) + run("one", [(80, 0, 90)], 70, start(0, 0, 0)) + "components:\n"
    for n in range(count):
        x, y = 100 + 20 * (n % 200), 20 * (n // 200)
        text += f"  c{n}: {{box: {{from: [{x}, {y}, 0], to: [{x + 9}, {y + 9}, 9]}}}}\n"
    return text


# Name, spec, whether a person would build it.
CASES = [
    ("five rows of 5 m, 20 mm apart", lambda: rows(5, 5000, 20, 6), True),
    ("twelve rows of 600 mm, 10 mm tube", lambda: rows(12, 600, 40, 10), True),
    ("starter with 40 -> 40000", mistyped, True),
    ("60 bends in a run", lambda: many_bends(60), True),
    ("100 bends in a run", lambda: many_bends(100), False),
    ("2,000 bends in a run", lambda: many_bends(2000), False),
    ("200 runs of 60 bends, 20 m", lambda: a_persons_most(200, 60, 20), True),
    ("200 runs that overlap", lambda: overlapping(200), True),
    ("200 runs that are the same", lambda: alike(200), True),
    ("1,000 runs that overlap", lambda: overlapping(1000), False),
    ("10,000 runs that overlap", lambda: overlapping(10000), False),
    ("title of 100,000 letters, long names", lambda: wordy(100_000), False),
    ("1,000 radii", lambda: many_radii(1000), False),
    ("1,000 runs of 100 bends", lambda: just_read(1000, 100), False),
    ("10,000 runs of 4 bends", lambda: just_read(10000, 4), False),
    ("10,000 components", lambda: many_components(10000), False),
    ("16 MB of comments", lambda: filled("words"), False),
    ("16 MB of runs", lambda: filled("runs"), False),
    ("16 MB of bends", lambda: filled("bends"), False),
    ("16 MB of components", lambda: filled("components"), False),
    ("16 MB of title", lambda: filled("title"), False),
]


def limited():
    """In the child: no more memory than this."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (2 * MOST_SECONDS, 2 * MOST_SECONDS))


def measure(program, arguments):
    """Wall and processor seconds, peak memory in MB and how it ended."""
    started = time.perf_counter()
    child = os.fork()
    if child == 0:
        limited()
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        os.execv(program, ["tubewright", *map(str, arguments)])
    signal.signal(signal.SIGALRM, lambda *_: os.kill(child, signal.SIGKILL))
    signal.alarm(MOST_SECONDS)
    _, status, usage = os.wait4(child, 0)
    signal.alarm(0)
    wall = time.perf_counter() - started
    unit = 1024 if sys.platform != "darwin" else 1
    ended = f"signal {os.WTERMSIG(status)}" if os.WIFSIGNALED(status) else str(os.WEXITSTATUS(status))
    return wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss * unit / 1e6, ended


def held(case, program, folder):
    """Prints a spec's row; true where every limit holds."""
    name, make, ordinary = case
    spec = folder / (name.replace(" ", "-").replace(",", "").replace(">", "") + ".yaml")
    spec.write_text(make())
    row, good, endings = [], True, []
    for what, limit in (("check", CHECK_SECONDS), ("csv", BUILD_SECONDS), ("build", BUILD_SECONDS)):
        with tempfile.TemporaryDirectory(dir=MEMORY) as out:
            build = ["build", spec, "--out", pathlib.Path(out) / "out", "--quiet"]
            arguments = {"check": ["check", spec], "csv": [*build, "--only", "csv"], "build": build}[what]
            wall, busy, peak, ended = measure(program, arguments)
        broken = peak > PEAK_MB or (ordinary and wall > limit) or not ended.isdigit() or int(ended) > 1
        good = good and not broken
        endings.append(ended)
        row.append(f"{wall:6.2f} s {busy:6.2f} s {peak:4.0f} MB{'!' if broken else ' '}")
    ends = endings[0] if len(set(endings)) == 1 else "/".join(endings)
    print(f"{name:36} | {' | '.join(row)} | {'person' if ordinary else 'beyond'} | exit {ends}", flush=True)
    return good


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    arguments.add_argument("--program", type=pathlib.Path, default=PROGRAM)
    arguments.add_argument("--keep", type=pathlib.Path)
    arguments.add_argument("names", nargs="*", help="words of the specs' names")
    asked = arguments.parse_args()
    if not asked.program.exists():
        sys.exit("run `cargo build --release` first")
    cases = [case for case in CASES if not asked.names or any(word in case[0] for word in asked.names)]
    print(f"{'wall, processor, peak':36} | {'check':25} | {'build --only csv':25} | {'build':25} | (! a limit is broken)")
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        if asked.keep:
            asked.keep.mkdir(parents=True, exist_ok=True)
        results = [held(case, asked.program, asked.keep or pathlib.Path(folder)) for case in cases]
    if not all(results):
        sys.exit("a limit is broken")


if __name__ == "__main__":
    main()

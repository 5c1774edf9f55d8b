#!/usr/bin/env python3
"""Wall time and peak memory of whole builds: the demo with every output, and 100 and 1,000 generated runs.

    cargo build --release && python3 tests/bench/whole_builds.py

Prints medians of several runs beside their limits; ends with status 1 when a limit is broken. Needs python3
only (Linux or macOS).
"""

import os
import pathlib
import random
import statistics
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = ROOT / "target" / "release" / "tubewright"
# 1,000 runs are some 650 MB of files. They go to memory where the system has such a folder, so that the
# program is measured and not a disk still busy with the last build.
MEMORY = "/dev/shm" if os.path.isdir("/dev/shm") else None


def many_runs(count, seed=1):
    """A spec of `count` bent runs laid out on a grid, so that none touches another."""
    pick = random.Random(seed)
    lines = [
        "format: 1",
        "tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}",
        "bender: {clr: 55}",
        "runs:",
    ]
    for index in range(count):
        x, y = 1000 * (index % 40), 1000 * (index // 40)
        lines += [f"  run-{index}:", f"    from: {{at: [{x}, {y}, 0], facing: [0, 0, 1]}}", "    bends:"]
        for _ in range(pick.randint(2, 5)):
            length, rotation, angle = pick.randint(40, 120), pick.randint(-179, 180), pick.randint(15, 120)
            lines.append(f"      - {{length: {length}, rotation: {rotation}, angle: {angle}}}")
        lines.append("    end_length: 60")
    return "\n".join(lines) + "\n"


def measure(arguments, repeats):
    """Median wall seconds and largest peak memory in MB of the program."""
    walls, peaks = [], []
    for _ in range(repeats):
        started = time.perf_counter()
        process = os.spawnv(os.P_NOWAIT, PROGRAM, ["tubewright", *map(str, arguments)])
        _, status, usage = os.wait4(process, 0)
        walls.append(time.perf_counter() - started)
        if status != 0:
            sys.exit(f"the build ended with status {status}: {arguments}")
        unit = 1024 if sys.platform != "darwin" else 1
        peaks.append(usage.ru_maxrss * unit / 1e6)
    return statistics.median(walls), max(peaks)


def held(what, found, limit, unit, digits):
    """Prints a figure beside its limit; true where it holds."""
    verdict = "ok" if found <= limit else "BROKEN"
    print(f"{what}: {found:.{digits}f} {unit} (limit {limit:g} {unit}) {verdict}")
    return found <= limit


def main():
    if not PROGRAM.exists():
        sys.exit("run `cargo build --release` first")
    results = []
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        folder = pathlib.Path(folder)
        wall, peak = measure(["build", ROOT / "specs" / "reading-room.yaml", "--out", folder / "demo", "--quiet"], 7)
        results.append(held("reading-room, every output", wall, 0.4, "s", 3))
        results.append(held("reading-room, every output", peak, 100, "MB", 0))
        times = {}
        for count in (100, 1000):
            spec = folder / f"many-{count}.yaml"
            spec.write_text(many_runs(count))
            options = ["--only", "step,stl,csv,json", "--out", folder / str(count), "--quiet"]
            times[count], peak = measure(["build", spec, *options], 3)
            print(f"{count} runs, step, stl, csv, json: {times[count]:.2f} s, {peak:.0f} MB")
        results.append(held("1,000 runs", times[1000], 8, "s", 2))
        results.append(held("1,000 runs", peak, 300, "MB", 0))
        # Linear would be 10.
        results.append(held("1,000 runs to 100 runs", times[1000] / times[100], 13, "times", 1))
    if not all(results):
        sys.exit("a limit is broken")


if __name__ == "__main__":
    main()

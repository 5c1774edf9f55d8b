"""Kills builds, lets two build into one folder, fills disks, and counts what is left. By hand, for it takes minutes:

    cargo build --release && nice python3 tests/attack/kills.py

Every count of "broken" must be 0. Full disks are made with tmpfs, which only root may mount.
"""

import argparse
import collections
import pathlib
import random
import signal
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
STATE = ".tubewright-build"


def spec(names, clr):
    """Runs of these names. The radius makes every file of one spec differ from that of another."""
    runs = "".join(
        f"  {name}: {{bends: [{{length: 120, angle: 90}}, {{length: 100, angle: 45, rotation: 90}}], end_length: 90}}\n"
        for name in names
    )
    return f"format: 1\ntube: {{od: 12, wall: 1, material: copper, temper: soft}}\nbender: {{clr: {clr}}}\nruns:\n{runs}"


OLD = spec(["kept", "gone", *(f"r{n}" for n in range(6))], 40)
NEW = spec(["kept", "new", *(f"r{n}" for n in range(6))], 45)

BUILD = ("build", "--only", "step,stl,svg,csv,json")
"""Kinds of file that are quick to make: what is attacked comes after."""


def tree(folder):
    """Every file below a folder with its contents, and every folder."""
    found = {}
    for path in sorted(pathlib.Path(folder).rglob("*")):
        found[str(path.relative_to(folder))] = path.read_bytes() if path.is_file() else None
    return found


class Shop:
    """A working folder with specs, whose builds are known."""

    def __init__(self, program, names=("loop",), where=None):
        self.program, self.names = program, names
        self.home = tempfile.TemporaryDirectory(dir=where)
        self.folder = pathlib.Path(self.home.name)
        self.specs = [f"{name}.yaml" for name in names]
        self.out = self.folder / "out"
        self.write(OLD)
        self.build()
        (self.out / names[0] / "mine.txt").write_text("keep")
        self.old = tree(self.out)
        self.write(NEW)
        self.build()
        self.new = tree(self.out)
        assert self.old != self.new

    def write(self, text):
        for name in self.specs:
            (self.folder / name).write_text(text)

    def start(self, *arguments):
        return subprocess.Popen([self.program, *arguments], cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def run(self, *arguments):
        process = self.start(*arguments)
        return process.wait()

    def build(self):
        assert self.run(*BUILD, *self.specs) == 0

    def reset(self):
        """The old build in place, the new spec written."""
        subprocess.run(["rm", "-rf", self.out], check=True)
        restore(self.out, self.old)
        self.write(NEW)

    def verdict(self):
        """What the output folder is now."""
        now = tree(self.out)
        if now in (self.old, self.new):
            return "old" if now == self.old else "new"
        return "litter" if any(STATE in name for name in now) else "mixed"


def restore(out, files):
    out.mkdir(parents=True)
    for name, content in files.items():
        path = out / name
        if content is None:
            path.mkdir(exist_ok=True)
        else:
            path.write_bytes(content)


def phase(out):
    """How far a killed build had come."""
    states = [folder / STATE for folder in out.iterdir() if (folder / STATE).is_dir()]
    if any((state / "go.json").exists() for state in states):
        return "placing"
    if any((state / "ready.json").exists() for state in states):
        return "journal"
    return "staging or cleaning" if states else "ended"


def broken(verdict):
    return verdict not in ("old", "new")


def mended_by(shop, number):
    """Any command may be the next one; a build is only now and then, for it makes all new."""
    command = ("check", "calibrate", "check", "build")[number % 4]
    code = shop.run(*(BUILD if command == "build" else [command]), *shop.specs)
    assert code in (0, 1), f"{command} ended with {code}"
    return command


def kills(shop, count, aimed):
    """Kills builds: aimed at the time when files are put in place, or at any time."""
    seen = collections.Counter()
    wrong = 0
    lead = shop.out / shop.names[0] / STATE / "go.json"
    for number in range(count):
        shop.reset()
        process = shop.start(*BUILD, *shop.specs)
        if aimed:
            while process.poll() is None and not lead.exists():
                pass
            time.sleep(random.uniform(0, 0.004) if number % 2 else 0)
        else:
            time.sleep(random.uniform(0, shop.usual * 1.1))
        process.kill()
        process.wait()
        at = phase(shop.out)
        before = shop.verdict()
        command = mended_by(shop, number)
        after = shop.verdict()
        wrong += broken(after) or (command == "build" and after != "new")
        seen[at] += 1
        seen[f"{before} before mending"] += 1
        seen[f"{after} after"] += 1
    return wrong, seen


def timed(shop):
    """How long a build takes."""
    shop.reset()
    start = time.monotonic()
    shop.build()
    shop.usual = time.monotonic() - start


def signals(shop, count):
    """Ctrl-C and TERM at any time: nothing is left, without another command."""
    seen = collections.Counter()
    wrong = 0
    for number in range(count):
        shop.reset()
        process = shop.start(*BUILD, *shop.specs)
        time.sleep(random.uniform(0, shop.usual))
        process.send_signal((signal.SIGINT, signal.SIGTERM)[number % 2])
        code = process.wait()
        after = shop.verdict()
        # Before the program listens, a signal ends it as any other.
        wrong += broken(after) or code not in (0, 130, 143, -signal.SIGINT, -signal.SIGTERM)
        seen[f"code {code}"] += 1
        seen[f"{after} after"] += 1
    return wrong, seen


def pairs(program, count):
    """Two builds of different specs into one folder at once."""
    seen = collections.Counter()
    wrong = 0
    with tempfile.TemporaryDirectory() as home:
        home = pathlib.Path(home)
        for name, text in (("a", OLD), ("b", NEW)):
            (home / f"{name}.yaml").write_text(text)

        def build(name, out):
            return subprocess.Popen([program, *BUILD, f"{name}.yaml", "--out", out], cwd=home, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

        wanted = {}
        for order in ("a", "b", "ab", "ba"):
            for name in order:
                assert build(name, f"wanted-{order}").wait() == 0
            wanted[order] = tree(home / f"wanted-{order}")
        for _ in range(count):
            subprocess.run(["rm", "-rf", home / "out"], check=True)
            both = [build("a", "out"), build("b", "out")]
            codes = [process.wait() for process in both]
            now = tree(home / "out")
            right = {(0, 0): ("ab", "ba"), (0, 3): ("a",), (3, 0): ("b",)}.get(tuple(codes), ())
            order = next((order for order in right if wanted[order] == now), None)
            wrong += order is None
            seen[f"codes {codes}"] += 1
            seen[f"order {order}"] += 1
    return wrong, seen


def full_disks(program, count):
    """Builds onto disks of every size, from one that holds the old files to one that holds all."""
    seen = collections.Counter()
    wrong = 0
    with tempfile.TemporaryDirectory() as mount:
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=256m", "tmpfs", mount], check=True)
        try:
            shop = Shop(program, where=mount)
            room = sum(4096 + -(-len(content) // 4096) * 4096 for content in shop.old.values() if content is not None)
            for number in range(count):
                shop.reset()
                used = int(subprocess.run(["df", "-B1", "--output=used", mount], capture_output=True, text=True, check=True).stdout.split()[1])
                if number % 4 == 3:
                    # A disk can also run out of files.
                    inodes = int(subprocess.run(["df", "--output=iused", mount], capture_output=True, text=True, check=True).stdout.split()[1])
                    limit = f"size=256m,nr_inodes={inodes + 1 + number % (2 * len(shop.new) + 10)}"
                else:
                    limit = f"size={used + 4096 + number * 2 * room // count}"
                subprocess.run(["mount", "-o", f"remount,{limit}", mount], check=True)
                code = shop.run(*BUILD, *shop.specs)
                after = shop.verdict()
                wrong += after != {0: "new", 3: "old"}.get(code)
                seen[f"code {code}, {after}"] += 1
                subprocess.run(["mount", "-o", "remount,size=256m,nr_inodes=100000", mount], check=True)
            del shop
        finally:
            subprocess.run(["umount", "--lazy", mount], check=True)
    return wrong, seen


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--program", default=ROOT / "target" / "release" / "tubewright", type=pathlib.Path)
    for name, count in (("placing", 500), ("random", 150), ("several", 150), ("signals", 150), ("pairs", 200), ("full", 800)):
        parser.add_argument(f"--{name}", default=count, type=int)
    given = parser.parse_args()
    program = given.program.resolve()
    one, three = Shop(program), Shop(program, ("one", "two", "three"))
    timed(one)
    timed(three)
    attacks = [
        (given.placing, "kills while files are placed", lambda n: kills(one, n, aimed=True)),
        (given.random, "kills at random", lambda n: kills(one, n, aimed=False)),
        (given.several, "kills while files of three specs are placed", lambda n: kills(three, n, aimed=True)),
        (given.signals, "Ctrl-C and TERM", lambda n: signals(one, n)),
        (given.pairs, "pairs of builds", lambda n: pairs(program, n)),
        (given.full, "full disks", lambda n: full_disks(program, n)),
    ]
    total = 0
    for count, name, attack in attacks:
        if count:
            wrong, seen = attack(count)
            total += wrong
            told = ", ".join(f"{what}: {times}" for what, times in sorted(seen.items()))
            print(f"{count} {name}: {wrong} broken ({told})", flush=True)
    sys.exit(total > 0)


if __name__ == "__main__":
    main()

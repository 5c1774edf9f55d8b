#!/usr/bin/env python3
"""Whether two programs write the same files, byte for byte, and find the same in faulty specs.

    cargo build --release && cp target/release/tubewright target/before      # before a change that is to change nothing
    python3 tests/bench/same_files.py target/before target/release/tubewright

Builds the demos, a generated spec of 50 runs and generated plausible specs with both, and checks every file of
tests/bad_specs. Names each file that differs; ends with status 1 when any does. Needs python3 only.
"""

import argparse
import importlib.util
import pathlib
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]


def module(path):
    """A script of the project, as a module."""
    found = importlib.util.spec_from_file_location(path.stem, path)
    made = importlib.util.module_from_spec(found)
    sys.modules[path.stem] = made
    found.loader.exec_module(made)
    return made


def specs(home, count):
    """Pairs of a spec's path and the options of its build."""
    whole, plausible = module(ROOT / "tests/bench/whole_builds.py"), module(ROOT / "tests/fuzz/plausible.py")
    for path in sorted((ROOT / "specs").glob("*.yaml")):
        yield path, []
    path = home / "fifty.yaml"
    path.write_text(whole.many_runs(50))
    yield path, []
    for number in range(count):
        spec = plausible.Spec(number)
        path = home / f"plausible-{number}.yaml"
        path.write_text(spec.text())
        yield path, spec.options()


def built(program, path, options, out):
    """Every file of a build with its bytes, and what the program said."""
    told = subprocess.run(
        [program, "build", path, *options, "--out", out], capture_output=True, cwd=path.parent, check=False)
    files = {str(file.relative_to(out)): file.read_bytes() for file in sorted(out.rglob("*")) if file.is_file()}
    said = told.stderr.replace(str(out).encode(), b"out") + told.stdout.replace(str(out).encode(), b"out")
    return files | {"(messages)": said, "(status)": str(told.returncode).encode()}


def checked(program, path):
    """What the program finds in a spec."""
    told = subprocess.run([program, "check", path.name, "--format", "json"], capture_output=True, cwd=path.parent, check=False)
    return {"(findings)": told.stdout + told.stderr}


def differing(name, before, after):
    """Names what differs between two builds."""
    names = [file for file in sorted(before.keys() | after.keys()) if before.get(file) != after.get(file)]
    for file in names:
        sizes = [len(side[file]) if file in side else "none" for side in (before, after)]
        print(f"{name}: {file}: {sizes[0]} -> {sizes[1]} bytes", flush=True)
    return len(names)


def main():
    """Compares two programs."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("before", type=lambda text: pathlib.Path(text).resolve(strict=True))
    parser.add_argument("after", type=lambda text: pathlib.Path(text).resolve(strict=True))
    parser.add_argument("--plausible", default=40, type=int, help="how many plausible specs")
    arguments = parser.parse_args()
    differ = compared = 0
    with tempfile.TemporaryDirectory() as home:
        home = pathlib.Path(home)
        for index, (path, options) in enumerate(specs(home, arguments.plausible)):
            before = built(arguments.before, path, options, home / f"{index}" / "before")
            after = built(arguments.after, path, options, home / f"{index}" / "after")
            differ += differing(path.stem, before, after)
            compared += len(before)
        for path in sorted((ROOT / "tests/bad_specs").glob("*.yaml")):
            differ += differing(path.stem, checked(arguments.before, path), checked(arguments.after, path))
            compared += 1
    print(f"{differ} of {compared} differ")
    return 1 if differ else 0


if __name__ == "__main__":
    sys.exit(main())

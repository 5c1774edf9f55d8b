"""Shared by the read-back checks: builds specs with the program under test and hands over the folder."""

import json
import os
import pathlib
import subprocess

import pytest
import yaml

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = pathlib.Path(os.environ.get("TUBEWRIGHT", ROOT / "target" / "debug" / "tubewright"))
DEMOS = sorted((ROOT / "specs").glob("*.yaml"))


def run_program(*arguments, cwd=None):
    """Runs the program; its exit code must be 0."""
    result = subprocess.run([PROGRAM, *map(str, arguments)], cwd=cwd, capture_output=True, text=True, check=False)
    assert result.returncode == 0, f"{arguments}\n{result.stdout}\n{result.stderr}"
    return result


def build(spec, out, *options):
    """Builds one spec file into `out` and returns `out`."""
    run_program("build", spec, "--out", out, "--quiet", *options)
    return pathlib.Path(out)


def read_spec(path):
    """A spec as written, with the corners of the ways that the program finds in the runs that have only ends."""
    spec = yaml.safe_load(path.read_text(encoding="utf-8"))
    ways = {"corners", "bends", "mirror", "same_as"}
    if all(ways & set(run) for run in spec["runs"].values()):
        return spec
    report = json.loads(run_program("route", path, "--ways", 1, "--format", "json").stdout)
    for run in report["runs"]:
        spec["runs"][run["name"]]["corners"] = run["ways"][0]["corners_mm"]
    return spec


def built(which, home, random_spec, only):
    """The spec and the output folder of a demo, by name, or of a random spec, by number, built below `home`."""
    home = pathlib.Path(home)
    if isinstance(which, int):
        spec, path = random_spec(which), home / f"random-{which}.yaml"
        path.write_text(yaml.safe_dump(spec, sort_keys=False), encoding="utf-8")
    else:
        path = ROOT / "specs" / f"{which}.yaml"
        spec = read_spec(path)
    return spec, build(path, home / f"out-{which}", "--only", only)


def read_plan(folder):
    """The plan of an output folder."""
    return json.loads((folder / "plan.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def demos(tmp_path_factory):
    """Output folders of all demo specs by name, built once with default options."""
    folder = tmp_path_factory.mktemp("demos")
    assert DEMOS, "no demo specs found"
    return {spec.stem: build(spec, folder / spec.stem) for spec in DEMOS}

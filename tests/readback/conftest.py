"""Shared by the read-back checks: builds specs with the program under test and hands over the folder."""

import json
import os
import pathlib
import subprocess

import pytest

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


def read_plan(folder):
    """The plan of an output folder."""
    return json.loads((folder / "plan.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def demos(tmp_path_factory):
    """Output folders of all demo specs by name, built once with default options."""
    folder = tmp_path_factory.mktemp("demos")
    assert DEMOS, "no demo specs found"
    return {spec.stem: build(spec, folder / spec.stem) for spec in DEMOS}

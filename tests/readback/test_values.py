"""Numbers at their worst: some of what tests/attack/values.py tries, and whether it sees what goes wrong."""

import array
import json
import struct
import sys

import pytest

from conftest import PROGRAM, ROOT, run_program

sys.path.insert(0, str(ROOT / "tests" / "attack"))

import values

# Workshops of any make, and several numbers at once, by turns.
MIXED = range(1, 21)


@pytest.fixture(scope="module")
def bounds():
    """The numeric keys of the schema with their bounds."""
    return values.rules(json.loads(run_program("schema").stdout))


def test_every_number_of_the_format_is_tried(bounds):
    assert len(bounds) > 60
    assert values.unmet(bounds) == []


@pytest.mark.parametrize("name", values.SPECS)
def test_the_specs_are_sound_before_a_number_is_changed(tmp_path, name):
    assert values.tried(PROGRAM, values.text(values.SPECS[name]()), [], tmp_path)[:2] == ("built", None)


@pytest.mark.parametrize("number", MIXED)
def test_a_build_has_all_its_files_or_check_refuses_it(bounds, tmp_path, number):
    name, spec, options = values.shops(number) if number % 2 else values.several(number, bounds)
    outcome, fault, *_ = values.tried(PROGRAM, spec, options, tmp_path)
    assert not fault, f"{name}\n{fault}\n{spec}"
    assert outcome in ("built", "refused", "wrong usage")


@pytest.mark.parametrize("option", values.OPTIONS)
def test_an_option_that_is_no_number_is_wrong_usage(tmp_path, option):
    outcome, fault, *_ = values.tried(PROGRAM, values.text(values.tested()), [f"{option}=nan"], tmp_path)
    assert (outcome, fault) == ("wrong usage", None)


def test_no_number_is_refused_where_a_number_belongs(tmp_path):
    for word in values.NO_NUMBERS[:7]:
        spec = values.text(values.put(values.tested(), ("bender", "clr"), word))
        assert f'"clr": {word}' in spec
        assert values.tried(PROGRAM, spec, [], tmp_path)[:2] == ("refused", None), word


def stl(*numbers):
    """A mesh of one facet with these numbers first."""
    facet = array.array("f", [*numbers, *[1.0] * (12 - len(numbers))])
    return bytes(80) + struct.pack("<I", 1) + facet.tobytes() + bytes(2)


def test_files_with_numbers_that_are_none_are_seen(tmp_path):
    (tmp_path / "a.stl").write_bytes(stl(0.5))
    assert values.none_in(tmp_path) is None
    for name, data, told in (
        ("b.stl", stl(float("nan")), "a number that is none"),
        ("c.stl", stl(0.0, float("-inf")), "a number that is none"),
        ("d.csv", b"a,NaN", "has NaN"),
        ("e.svg", b"", "is empty"),
    ):
        (tmp_path / name).write_bytes(data)
        assert told in values.none_in(tmp_path), name
        (tmp_path / name).unlink()


class Told:
    """A command that ended so."""

    def __init__(self, status, words="", report=""):
        self.status, self.words, self.report, self.seconds, self.bytes_used = status, words, report, 0.1, 1

    fault = values.Ended.fault


def test_commands_that_end_wrongly_are_seen(tmp_path):
    refused = Told(1, "error[x]: y\n --> values.yaml:1:2\n")
    assert values.disagreement(refused, refused, tmp_path / "none") is None
    assert "check ends with 0" in values.disagreement(Told(0), Told(1), tmp_path)
    assert "but wrote" in values.disagreement(refused, refused, tmp_path)
    assert "has a place" in values.disagreement(Told(1, "error[x]: y"), Told(1), tmp_path)
    assert "without an error" in values.disagreement(Told(1), Told(1), tmp_path)
    assert "not done" in Told(None).fault()
    assert "status 101" in Told(101).fault()
    assert "fault of the program" in Told(1, report="this is a fault of the program").fault()
    large = Told(0)
    large.bytes_used = values.MOST_BYTES + 1
    assert "took 500 MB" in large.fault()

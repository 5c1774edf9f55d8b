"""Some hundred plausible specs, each built whole within its limits of time and memory. See tests/README.md."""

import collections
import concurrent.futures
import os
import sys

import pytest

from conftest import PROGRAM, ROOT

sys.path.insert(0, str(ROOT / "tests" / "fuzz"))

import plausible

COUNT = 150
# Specs in one test: a red one names them.
EACH = 30


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    """How each spec ended, by its number; as many at once as there are processors."""

    def one(number):
        return plausible.build(PROGRAM, number, tmp_path_factory.mktemp("plausible"))

    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        return list(pool.map(one, range(COUNT)))


@pytest.mark.parametrize("first", range(0, COUNT, EACH))
def test_every_build_ends_whole_or_with_findings(results, first):
    faults = [f"{r.number}: {r.fault}\n  {' '.join(r.command)}" for r in results[first : first + EACH] if r.fault]
    assert not faults, "\n".join(faults)


def test_most_of_the_specs_are_built(results):
    outcomes = collections.Counter(result.outcome for result in results)
    assert outcomes["built"] >= 0.75 * COUNT, outcomes


def test_a_spec_depends_on_its_number_alone():
    assert plausible.Spec(7).text() == plausible.Spec(7).text() != plausible.Spec(8).text()


@pytest.mark.parametrize(
    ("status", "words", "fault"),
    [
        (None, "", "not done"),
        (101, "thread panicked at", "status 101"),
        (-9, "", "status -9"),
        (1, "error[output]: x\n = help: this is a fault of the program", "fault of the program"),
        (1, "nothing said", "without an error"),
        (0, "", "plan.json is missing"),
    ],
)
def test_what_goes_wrong_is_seen(tmp_path, status, words, fault):
    assert fault in plausible.judged(status, words, tmp_path, plausible.Spec(0))[1]


def test_numbers_that_are_none_are_seen():
    for text in (b'{"a_mm": NaN}', b"x,inf,", b'cx="-inf"', b"CARTESIAN_POINT('',(NAN,0.))", b" infinity"):
        assert plausible.NO_NUMBER.search(text), text
    for text in (b"information", b"Dinan", b"info", b'"reinf"'):
        assert not plausible.NO_NUMBER.search(text), text

"""The JSON Schema, judged by an independent validator: sound specs pass, slips do not."""

import copy
import json
import re

import jsonschema
import pytest
import yaml

from conftest import DEMOS, ROOT, run_program

# Faults a schema can see: the shape of the document. Others need arithmetic or a look at another key.
SHAPE = {"unknown-key", "wrong-type", "bad-choice", "bad-name", "bad-format", "bad-point", "bad-size", "too-many-keys"}


def codes(path):
    """Codes of the faults a bad spec says it has."""
    return {line.split()[3] for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("# expect:")}


MISSHAPEN = [path for path in sorted((ROOT / "tests" / "bad_specs").glob("*.yaml")) if codes(path) & SHAPE]


@pytest.fixture(scope="session")
def schema():
    """The schema, itself checked against draft 7, which it names."""
    schema = json.loads(run_program("schema").stdout)
    assert schema["$schema"] == "http://json-schema.org/draft-07/schema#"
    jsonschema.Draft7Validator.check_schema(schema)
    return schema


@pytest.fixture(scope="session")
def validator(schema):
    """A validator of the schema."""
    return jsonschema.Draft7Validator(schema)


def complaints(validator, spec):
    """Where and why a spec does not follow the schema."""
    return [f"{list(e.absolute_path)}: {e.message}" for e in validator.iter_errors(spec)]


@pytest.mark.parametrize("path", [*DEMOS, *sorted((ROOT / "src/spec/starter").glob("*.yaml"))], ids=lambda p: p.stem)
def test_sound_specs_follow_the_schema(validator, path):
    assert complaints(validator, yaml.safe_load(path.read_text(encoding="utf-8"))) == []


def test_the_schema_keeps_to_draft_7(schema):
    """Draft 7 ignores what stands beside `$ref` and knows no `$defs`; an editor would drop it silently."""
    def walk(node):
        if isinstance(node, dict):
            assert "$ref" not in node or set(node) == {"$ref"}, node
            assert "$defs" not in node
            return 1 + sum(walk(value) for value in node.values())
        return sum(walk(value) for value in node) if isinstance(node, list) else 0

    assert walk(schema) > 100


def mappings(node, path=()):
    """Every mapping of a document with its path."""
    if isinstance(node, dict):
        yield path
        for key, value in node.items():
            yield from mappings(value, (*path, key))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from mappings(value, (*path, index))


def at(node, path):
    """The node at a path."""
    for step in path:
        node = node[step]
    return node


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
def test_a_misspelt_key_is_refused_wherever_keys_are_fixed(validator, path):
    sound = yaml.safe_load(path.read_text(encoding="utf-8"))
    tried = 0
    for place in mappings(sound):
        for key in list(at(sound, place)):
            named = place and place[-1] in {"fittings", "components", "ports", "runs"}
            if named or str(key).startswith("x-"):
                continue
            spec = copy.deepcopy(sound)
            mapping = at(spec, place)
            mapping[f"{key}q"] = mapping.pop(key)
            assert complaints(validator, spec), f"{key}q at {place}"
            tried += 1
    assert tried > 20


def everything(**changed):
    """A sound spec with every key about metal, stock and seals; `changed` replaces keys."""
    return {
        "format": 1,
        "anneal": "auto",
        "tube": {
            "standard": "EN 1057",
            "size": "15 x 1.0",
            "temper": "soft",
            "modulus": 117,
            "yield_strength": 60,
            "elongation": 40,
            "hardening": {"strength": 450, "exponent": 0.4},
        },
        "bender": {"clr": 55},
        "stock": {"length": "3 m", "kerf": 1, "count": 2, "form": "stick", "leftovers": [820, "1.2 m"]},
        "fittings": {"a": {"tube_od": 15, "insert": 12, "seal": {"section": 1.78, "squeeze": 20}}},
        "runs": {"a": {"bends": [], "end_length": 100, "anneal": "never"}},
        **changed,
    }


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({}, None),
        ({"stock": [{"length": 3000}, {"length": 3000, "count": 0, "od": 15, "wall": "1 mm", "leftovers": [120]}]}, None),
        ({"stock": {"length": 3000, "count": -1}}, "bad-number"),
        ({"stock": {"length": 3000, "form": "roll"}}, "bad-choice"),
        ({"stock": [{"length": 3000, "leftovers": 820}]}, "wrong-type"),
        ({"stock": [{"length": 3000, "leftovers": [0]}]}, "out-of-range"),
        ({"anneal": "sometimes"}, "bad-choice"),
        ({"workshop": {"sheet": {"thickness": "1/4 in", "size": [600, "1.2 m"], "slot_fit": -0.1}, "form": {"strap": "none"}}}, None),
        ({"workshop": {"form": {"strap": {"width": 10, "thickness": 2}, "over_bend": 0}, "printer": {"bed": [180, 180, 180]}}}, None),
        ({"workshop": {"sheet": {"size": [600]}}}, "bad-size"),
        ({"workshop": {"sheet": {"kerf": -0.2}}}, "out-of-range"),
        ({"workshop": {"form": {"strap": "no"}}}, "wrong-type"),
        ({"workshop": {"form": {"strap": {"width": 10}}}}, "missing-key"),
        ({"workshop": {"form": {"over_bend": 45}}}, "out-of-range"),
        ({"workshop": {"form": {"depth": 3}}}, "out-of-range"),
        ({"workshop": {"jig": {"gates": 1}}}, "unknown-key"),
        ({"tube": {**everything()["tube"], "modulus": 117000}}, "out-of-range"),
        ({"tube": {**everything()["tube"], "elongation": 0}}, "out-of-range"),
        ({"tube": {**everything()["tube"], "hardening": {"strength": 450, "exponent": 1}}}, "out-of-range"),
        ({"tube": {**everything()["tube"], "hardening": {"strength": 450}}}, "missing-key"),
        ({"fittings": {"a": {"tube_od": 15, "insert": 12, "seal": {"section": 1.78, "squeeze": 80}}}}, "out-of-range"),
    ],
)
def test_schema_and_reader_agree_on_metal_stock_seals_and_workshop(validator, tmp_path, changed, code):
    spec = everything(**changed)
    assert (complaints(validator, spec) == []) == (code is None)
    path = tmp_path / "a.yaml"
    path.write_text(json.dumps(spec), encoding="utf-8")
    if code is None:
        run_program("check", "--strict", path)
    else:
        with pytest.raises(AssertionError, match=re.compile(code)):
            run_program("check", path)


def test_there_are_faults_of_shape():
    assert len(MISSHAPEN) >= 20


@pytest.mark.parametrize("path", MISSHAPEN, ids=lambda p: p.stem)
def test_the_schema_sees_the_faults_of_shape(validator, path):
    assert complaints(validator, yaml.safe_load(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    ("text", "sound"),
    [
        ("5/8 in", True),
        ("1-1/2 in", True),
        ("1 1/2 in", True),
        ('2.5"', True),
        ("12.5 mm", True),
        ("3.2cm", True),
        ("3 m", True),
        ("-1-1/2 in", True),
        (".5", True),
        ("1e2", True),
        ("2 ft", False),
        ("12,5", False),
        ("1/2/3", False),
        ("wide", False),
        ("", False),
    ],
)
def test_the_pattern_of_lengths_agrees_with_the_reader(validator, tmp_path, text, sound):
    spec = {
        "format": 1,
        "tube": {"standard": "EN 1057", "size": "15 x 1.0", "temper": "soft"},
        "bender": {"clr": 55, "datum": text},
        "runs": {"a": {"bends": [], "end_length": 100}},
    }
    assert (complaints(validator, spec) == []) == sound
    path = tmp_path / "a.yaml"
    path.write_text(json.dumps(spec), encoding="utf-8")
    if sound:
        run_program("check", path)
    else:
        with pytest.raises(AssertionError, match=re.compile("bad-length")):
            run_program("check", path)

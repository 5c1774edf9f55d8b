#!/usr/bin/env python3
"""What attacks with random bytes begin with: a dictionary of the spec's words, the README's specs, and numbers.

    python3 tests/fuzz/seeds.py

Writes `target/fuzz/spec.dict`, made from `tubewright schema` with and without `--readings`, and `target/fuzz/seeds/`. Needs a release build.
"""

import json
import pathlib
import random
import re
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]
OUT = ROOT / "target" / "fuzz"
# What YAML, lengths and names are written with.
SIGNS = [": ", "- ", "\n  ", "{", "}", "[", "]", ", ", "#", "&a ", "*a", "<<: *a", "|\n", ">\n", '"', "'", "---\n", "!!str "]
LENGTHS = ["mm", "cm", " in", "5/8", "1-1/2 in", '2.5"', "-1", "1e-9", "1e9", ".nan", ".inf", "0.1", "180", "°", " deg"]
# Files of numbers, and the bytes of each: as many as two runs need.
NUMBERS, BYTES = 64, 200


def words(schema):
    """Every key and every word that a key takes."""
    if isinstance(schema, list):
        return set().union(*map(words, schema))
    if not isinstance(schema, dict):
        return set()
    found = {f"{key}: " for key in schema.get("properties", {})}
    found |= {word for word in schema.get("enum", []) + schema.get("examples", []) if isinstance(word, str)}
    return found.union(*map(words, schema.values()))


def entry(word):
    """A line of a libFuzzer dictionary: bytes beyond ASCII and those that would end it are escaped."""
    plain = [chr(byte) if 32 <= byte < 127 and chr(byte) not in '"\\' else f"\\x{byte:02x}" for byte in word.encode()]
    return f'"{"".join(plain)}"'


def main():
    """Writes them."""
    program = ROOT / "target" / "release" / "tubewright"
    schemas = [
        json.loads(subprocess.run([program, "schema", *of], check=True, capture_output=True).stdout)
        for of in ([], ["--readings"])
    ]
    specs_home, numbers_home = OUT / "seeds" / "specs", OUT / "seeds" / "numbers"
    for home in (specs_home, numbers_home):
        home.mkdir(parents=True, exist_ok=True)
    entries = sorted(map(entry, words(schemas) | set(SIGNS) | set(LENGTHS)))
    (OUT / "spec.dict").write_text("\n".join(entries) + "\n", encoding="ascii")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    specs = re.findall(r"^```yaml\n(.*?)^```$", readme, re.MULTILINE | re.DOTALL)
    for number, spec in enumerate(specs):
        (specs_home / f"readme-{number}.yaml").write_text(spec, encoding="utf-8")
    for number in range(NUMBERS):
        (numbers_home / f"{number}").write_bytes(random.Random(number).randbytes(BYTES))
    print(f"{len(entries)} words, {len(specs)} specs and {NUMBERS} files of numbers in {OUT.relative_to(ROOT)}")


if __name__ == "__main__":
    main()

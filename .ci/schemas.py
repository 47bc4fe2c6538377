"""Both schemas by a validator that shares nothing with the tests' own: draft-07, shipped files, broken files."""

import datetime
import glob
import json
import os
import sys
import tomllib

from jsonschema import Draft7Validator


def plain(value):
    """A TOML value as the JSON that an editor's checker sees."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    if isinstance(value, (datetime.date, datetime.datetime, datetime.time)):
        return value.isoformat()
    if isinstance(value, float) and (value != value or value in (float("inf"), float("-inf"))):
        return None
    return value


def read(path):
    try:
        with open(path, encoding="utf-8-sig") as file:
            return plain(tomllib.loads(file.read()))
    except tomllib.TOMLDecodeError:
        return None


validators = {}
for name in ("car", "rules"):
    with open(os.path.join(sys.argv[1], name + ".json"), encoding="utf-8") as file:
        schema = json.load(file)
    Draft7Validator.check_schema(schema)
    validators[name] = Draft7Validator(schema)

wrong = 0
for name, pattern in (("car", "sample-cars/*.toml"), ("rules", "rulesets/*.toml")):
    for path in sorted(glob.glob(pattern)):
        if path.endswith("-answers.toml"):
            continue
        for error in validators[name].iter_errors(read(path)):
            print(path, list(error.path), error.message[:200])
            wrong += 1

with open("tests/bad/not-by-shape.txt", encoding="utf-8") as file:
    exempt = [line.split(":")[0] for line in file if line.strip() and not line.startswith("#")]
refused = 0
for name, folder in (("car", "cars"), ("rules", "rules")):
    for path in sorted(glob.glob(f"tests/bad/{folder}/*.toml")):
        known = f"{folder}/{os.path.basename(path)[:-5]}"
        document = read(path)
        bad = document is None or not validators[name].is_valid(document)
        refused += bad
        said = path[:-5] + ".txt"
        has_error = os.path.exists(said) and " error: " in open(said, encoding="utf-8").read()
        if bad != (has_error and known not in exempt):
            print(path, "refused" if bad else "not refused")
            wrong += 1
print(f"schemas: {refused} broken files refused, {wrong} wrong")
sys.exit(1 if wrong else 0)
